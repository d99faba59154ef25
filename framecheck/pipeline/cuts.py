"""Studies sequences: finds their measured shots, studies them, writes tables and catalog."""

from __future__ import annotations

import fnmatch
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.catalog.layout import Layout
from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.sequences import SequenceRows
from framecheck.coverage.study import study_sequence
from framecheck.errors import ConfigError
from framecheck.export.atomic import write_atomically
from framecheck.export.cut_columns import CUT_TABLES
from framecheck.export.cut_rows import rows_of_study, scene_document
from framecheck.export.rows import Row
from framecheck.export.writers import open_tables, table_path
from framecheck.pipeline.cut_list import (
    MeasuredFile,
    number_shots,
    place_of,
    resolve_entries,
    whole_file,
)
from framecheck.pipeline.sequence_rows import WANTED
from framecheck.pipeline.settings import own_version
from framecheck.records.coverage import CutThresholds, SequenceStudy
from framecheck.records.cut_order import CutOrder
from framecheck.records.sequence import SequenceShot

SCENE_NAME = "scene.json"
_NAMED = 6  # files that a message lists


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotSequence:
    """Measured shots in the order of a cut.

    Attributes:
        name: for people. source: what it was made from, told the same every time.
    """

    name: str
    source: str
    shots: tuple[SequenceShot, ...]


def catalog_at(source: Path) -> Path | None:
    """The catalog that a path means: itself, or the one in the folder; None when it means none."""
    inside = source / CATALOG_NAME
    if source.is_dir():
        return inside if inside.is_file() else None
    return source if source.suffix == Path(CATALOG_NAME).suffix and source.is_file() else None


def study_layout() -> Layout:
    """The columns of studies as the catalog wants to know them."""
    return Layout(
        **{
            table: [(column.name, column.kind.value) for column in columns]
            for table, columns in CUT_TABLES.items()
        }
    )


def sequence_of_catalog(catalog: Catalog, pattern: str = "") -> ShotSequence:
    """The shots of the one clip that a catalog holds, or its stills in order.

    Args:
        catalog: of measured files.
        pattern: `*`, `?`, `[...]` over file names, to choose among several.

    Raises:
        ConfigError: there is nothing, or more than one sequence to choose from.
    """
    from framecheck.media.inputs import natural_order

    measured = {
        path: number
        for path, number in catalog.shown_places()
        if not pattern or fnmatch.fnmatch(path.name.casefold(), pattern.casefold())
    }
    files = _read_files(catalog, measured)
    order = sorted(files, key=natural_order)
    clips = [path for path in order if not files[path].still]
    stills = [path for path in order if files[path].still]
    if not order:
        said = f"no measured file is called {pattern!r}" if pattern else "nothing is measured"
        raise ConfigError(f"{said} in {catalog.path}", where=str(catalog.path))
    if clips and (len(clips) > 1 or stills):
        raise _several(catalog, order)
    chosen = clips or stills
    shots = [shot for path in chosen for shot in whole_file(files[path], str(path))]
    name = chosen[0].name if clips else catalog.path.parent.name
    return _sequence(name, f"{place_of(catalog.path.parent)} {pattern}".strip(), shots)


def sequence_of_files(catalog: Catalog, named: Sequence[tuple[Path, str]]) -> ShotSequence:
    """The shots of measured files, one file after the other.

    Args:
        catalog: that they were entered in.
        named: each file with its name for the tables.

    Raises:
        ConfigError: none of them was measured.
    """
    places = {place_of(path) for path, _ in named}
    measured = {p: n for p, n in catalog.shown_places() if place_of(p) in places}
    files = {place_of(path): file for path, file in _read_files(catalog, measured).items()}
    shots = [
        shot
        for path, name in named
        if place_of(path) in files
        for shot in whole_file(files[place_of(path)], name)
    ]
    if not shots:
        raise ConfigError("none of the files could be measured; files.csv says why")
    first = named[0][0]
    name = first.name if len(named) == 1 else first.parent.name
    return _sequence(name, "; ".join(sorted(places))[:2000], shots)


def sequence_of_order(catalog: Catalog, order: CutOrder, source: Path) -> ShotSequence:
    """The shots of a cut order, as its entries state them.

    Raises:
        ConfigError: an entry cannot be found among what was measured.
    """
    places = {place_of(entry.path) for entry in order.entries}
    measured = {p: n for p, n in catalog.shown_places() if place_of(p) in places}
    files = {place_of(path): file for path, file in _read_files(catalog, measured).items()}
    shots = resolve_entries(order, files)
    return ShotSequence(name=order.name, source=place_of(source), shots=shots)


def study(
    sequence: ShotSequence,
    thresholds: CutThresholds,
    named_pairs: Sequence[tuple[int, int]] = (),
) -> SequenceStudy:
    """Everything that is said about a sequence.

    Raises:
        ConfigError: a named shot is not there.
    """
    try:
        return study_sequence(
            sequence.shots, thresholds, name=sequence.name, named_pairs=named_pairs
        )
    except ValueError as error:
        raise ConfigError(str(error)) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyRows:
    """A study as rows and as the document of scene.json."""

    sequence: ShotSequence
    rows: Mapping[str, tuple[Row, ...]]
    scene: Mapping[str, object]


def rows_of(sequence: ShotSequence, told: SequenceStudy) -> StudyRows:
    """What is written of a study, and kept."""
    return StudyRows(
        sequence=sequence,
        rows=rows_of_study(told, sequence.shots),
        scene=scene_document(told, own_version()),
    )


def write_study(out: Path, study_rows: StudyRows, format_name: str = "csv") -> tuple[Path, ...]:
    """Write cuts, pairs and scene as tables, and scene.json; returns their paths.

    Raises:
        ConfigError: the format is not known.
        ExportError: they cannot be written.
    """
    with open_tables(out, CUT_TABLES, format_name) as sinks:
        for table, sink in sinks.items():
            sink.add(study_rows.rows[table])
    text = json.dumps(study_rows.scene, indent=2, ensure_ascii=False) + "\n"
    write_atomically(out / SCENE_NAME, text.encode("utf-8", "backslashreplace"))
    return (*(table_path(out, table, format_name) for table in CUT_TABLES), out / SCENE_NAME)


def keep_study(catalog: Catalog, study_rows: StudyRows) -> None:
    """Enter the study in the catalog, in place of an earlier one of the same source.

    Raises:
        CatalogError: it cannot be written.
    """
    catalog.enter_sequence(
        SequenceRows(
            source=study_rows.sequence.source,
            name=study_rows.sequence.name,
            scene_json=json.dumps(study_rows.scene, ensure_ascii=True),
            cuts=study_rows.rows["cuts"],
            pairs=study_rows.rows["pairs"],
            scene=study_rows.rows["scene"],
        )
    )


def _read_files(
    catalog: Catalog, measured: Mapping[Path, MeasurementId]
) -> dict[Path, MeasuredFile]:
    rows = catalog.read_shots([*measured.values()], WANTED)
    files = {}
    for path, number in measured.items():
        shots = rows[number]
        if not shots:
            continue
        still = 0 in shots and shots[0].shot is None
        if still:
            files[path] = MeasuredFile(shots=shots, still=True)
            continue
        row = catalog.file_row(number) or {}
        files[path] = MeasuredFile(
            shots=shots,
            still=False,
            rate_fps=_number(row.get("rate_fps")),
            start_timecode=str(row.get("start_timecode") or ""),
            duration_s=_number(row.get("duration_s")),
        )
    return files


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _sequence(name: str, source: str, shots: Sequence[SequenceShot]) -> ShotSequence:
    return ShotSequence(name=name, source=source, shots=number_shots(shots))


def _several(catalog: Catalog, paths: Sequence[Path]) -> ConfigError:
    names = ", ".join(path.name for path in paths[:_NAMED])
    more = f" and {len(paths) - _NAMED} more" if len(paths) > _NAMED else ""
    return ConfigError(
        f"{catalog.path} holds several sequences: {names}{more}; choose with --file, or give a "
        "list of shots in their order",
        where=str(catalog.path),
    )
