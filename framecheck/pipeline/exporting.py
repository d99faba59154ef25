"""Exports: results to the formats of others."""

from __future__ import annotations

import fnmatch
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from framecheck.errors import ConfigError, FramecheckError
from framecheck.export.atomic import open_atomically, write_atomically
from framecheck.export.columns import (
    Column,
    file_columns,
    frame_columns,
    people_columns,
    shot_columns,
)
from framecheck.export.rows import Row
from framecheck.export.writers import open_tables, table_path
from framecheck.pipeline.edit_clips import edit_clip_of
from framecheck.pipeline.export_order import Exported, ExportOrder
from framecheck.pipeline.results import FileResult, Results
from framecheck.pipeline.xmp_export import export_xmp
from framecheck.records.edit import EditClip

STILLS_TOO = "stills go on a timeline with --as otio --sequence NAME"


def export(results: Results, names: Sequence[str], order: ExportOrder) -> Exported:
    """Write the results in each of the named formats.

    Raises:
        ConfigError: an unknown format, a missing extra, or nothing to export.
        ExportError: something cannot be written.
    """
    unknown = [name for name in names if name not in EXPORTS]
    if unknown or not names:
        asked = repr(unknown[0]) if unknown else "none"
        raise ConfigError(f"unknown format {asked}; choose with --as from {', '.join(EXPORTS)}")
    if order.embed and "xmp" not in names:
        raise ConfigError("--embed is about XMP; add --as xmp")
    if not results.files:
        raise ConfigError(f"{results.source} holds nothing that was measured")
    done = [EXPORTS[name](results, order) for name in dict.fromkeys(names)]
    return Exported(
        written=tuple(path for part in done for path in part.written),
        problems=tuple(line for part in done for line in part.problems),
    )


def narrow(results: Results, pattern: str, folder: Path | None) -> Results:
    """The results of files whose name matches, and that lie in a folder.

    Args:
        results: to choose from.
        pattern: `*`, `?` and `[...]` over the name, in any case; "" for all.
        folder: everything below it; None for everywhere.

    Raises:
        ConfigError: none of them does.
    """
    inside = None if folder is None else Path(os.path.abspath(folder))  # noqa: PTH100  # no links
    kept = tuple(
        file
        for file in results.files
        if (not pattern or _matches(file.file, pattern))
        and (inside is None or _absolute(file).is_relative_to(inside))
    )
    if results.files and not kept:
        asked = [f"--file {pattern!r}"] * bool(pattern) + [f"--folder {folder}"] * bool(folder)
        raise ConfigError(
            f"nothing of what was measured in {results.source} fits {' and '.join(asked)}"
        )
    return Results(source=results.source, files=kept, missing=results.missing)


def _absolute(file: FileResult) -> Path:
    return Path(os.path.abspath(file.path or file.file))  # noqa: PTH100  # no links


def _matches(file: str, pattern: str) -> bool:
    return fnmatch.fnmatchcase(Path(file).name.casefold(), pattern.casefold())


def tables_of(results: Results) -> dict[str, tuple[Sequence[Column], list[Row]]]:
    """All tables with their columns, in the order of the files."""
    frames = [row for file in results.files for row in file.frames]
    further = 0
    while frames and f"size_{further + 2}" in frames[0] and _is_used(frames, further + 2):
        further += 1
    return {
        "frames": (frame_columns(further), frames),
        "people": (people_columns(), [row for file in results.files for row in file.people]),
        "shots": (shot_columns(), [row for file in results.files for row in file.shots]),
        "files": (file_columns(), [*(file.row for file in results.files), *results.missing]),
    }


def _is_used(frames: Sequence[Row], number: int) -> bool:
    return any(row.get(f"vocabulary_{number}") for row in frames)


def _export_tables(format_name: str) -> Callable[[Results, ExportOrder], Exported]:
    def write(results: Results, order: ExportOrder) -> Exported:
        tables = tables_of(results)
        columns = {name: columns for name, (columns, _) in tables.items()}
        with open_tables(order.out, columns, format_name) as sinks:
            for name, (_, rows) in tables.items():
                sinks[name].add(rows)
        return Exported(written=tuple(table_path(order.out, name, format_name) for name in tables))

    return write


def _export_jsonl(results: Results, order: ExportOrder) -> Exported:
    """The tables, each with its JSON Schema."""
    from framecheck.export.json_schema import encode_schema

    written = list(_export_tables("jsonl")(results, order).written)
    for name, (columns, _) in tables_of(results).items():
        path = order.out / f"{name}.schema.json"
        written.append(write_atomically(path, encode_schema(name, columns)))
    return Exported(written=tuple(written))


def _export_workbook(results: Results, order: ExportOrder) -> Exported:
    from framecheck.export.workbook import encode_workbook

    path = order.out / "framecheck.xlsx"
    return Exported(written=(write_atomically(path, encode_workbook(tables_of(results))),))


def _export_summary(results: Results, order: ExportOrder) -> Exported:
    from framecheck.export.summary_page import encode_summary

    tables = {name: rows for name, (_, rows) in tables_of(results).items()}
    path = order.out / "summary.md"
    title = f"Framing of {results.source.name or results.source.resolve().name}"
    return Exported(written=(write_atomically(path, encode_summary(title, tables)),))


def _export_timelines(results: Results, order: ExportOrder) -> Exported:
    from framecheck.export.otio_timeline import encode_otio

    clips, problems = _edit_clips(results, order.out, stills=bool(order.sequence))
    contents = {
        order.out / f"{_file_name(name)}.otio": encode_otio(name, group)
        for name, group in _groups(clips, order.sequence)
    }
    return Exported(written=_write_all(contents), problems=problems)


def _export_lists(results: Results, order: ExportOrder) -> Exported:
    from framecheck.export.edl import encode_edl

    clips, problems = _edit_clips(results, order.out, stills=False)
    contents = {}
    for name, group in _groups(clips, order.sequence):
        parts = encode_edl(name, group)
        for number, content in enumerate(parts, start=1):
            tail = f" {number}" if len(parts) > 1 else ""
            contents[order.out / f"{_file_name(name)}{tail}.edl"] = content
    return Exported(written=_write_all(contents), problems=problems)


def _export_chapters(results: Results, order: ExportOrder) -> Exported:
    from framecheck.export.webvtt import encode_webvtt

    clips, problems = _edit_clips(results, order.out, stills=False)
    contents = {
        order.out / f"{_file_name(name)}.vtt": encode_webvtt(group[0])
        for name, group in _groups(clips, "")
    }
    return Exported(written=_write_all(contents), problems=problems)


def _edit_clips(
    results: Results, folder: Path, *, stills: bool
) -> tuple[list[EditClip], tuple[str, ...]]:
    clips, problems = [], []
    for file in results.files:
        if file.is_still and not stills:
            continue
        try:
            clips.append(edit_clip_of(file, folder))
        except FramecheckError as error:
            problems.append(str(error))
    if not clips and not problems:
        problems.append(f"no timeline, list or chapters, as there is no clip; {STILLS_TOO}")
    return clips, tuple(problems)


def _groups(clips: Sequence[EditClip], sequence: str) -> Iterator[tuple[str, list[EditClip]]]:
    """Title and clips of each timeline; no two titles alike."""
    if sequence:
        if clips:
            yield sequence, list(clips)
        return
    taken: set[str] = set()
    for clip in clips:
        stem = _file_name(Path(clip.file.replace("\\", "/")).stem)
        name, number = stem, 2
        while name.casefold() in taken:
            name, number = f"{stem} {number}", number + 1
        taken.add(name.casefold())
        yield name, [clip]


def _file_name(text: str) -> str:
    legal = "".join(
        "_" if char in '<>:"/\\|?*' or not char.isprintable() else char for char in text
    )
    return legal.strip(" .")[:120] or "clip"


def _write_all(contents: Mapping[Path, bytes]) -> tuple[Path, ...]:
    """All files together, or none."""
    if contents:
        with open_atomically([*contents]) as files:
            for path, content in contents.items():
                files[path].write(content)
    return tuple(contents)


EXPORTS: Mapping[str, Callable[[Results, ExportOrder], Exported]] = {
    "otio": _export_timelines,
    "edl": _export_lists,
    "xmp": export_xmp,
    "vtt": _export_chapters,
    "csv": _export_tables("csv"),
    "jsonl": _export_jsonl,
    "parquet": _export_tables("parquet"),
    "xlsx": _export_workbook,
    "md": _export_summary,
}
"""What each format is written by."""
