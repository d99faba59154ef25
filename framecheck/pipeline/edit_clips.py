"""Measured files as clips of an edit."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from urllib.parse import quote

from framecheck.classify.flag_cells import flagged_parts
from framecheck.errors import ExportError
from framecheck.export.columns import Column, frame_columns, shot_columns
from framecheck.export.rows import Cell, Row, rounded_cell
from framecheck.media.numbering import is_pattern, pattern_files
from framecheck.pipeline.results import FileResult
from framecheck.records.edit import EditClip, EditShot, NumberedFrames, Value
from framecheck.units import parse_timecode, snap_rate

STILL_SECONDS = 2
"""How long a still is held in a sequence."""
STILL_RATE = Fraction(24)
MOST_RATE_FPS = 100_000
_FROM_BEST_FRAME = (
    "crop_level", "top_level", "headroom_frac", "look_room_frac", "eye_line_frac", "crop_error",
    "advice",
)  # fmt: skip
_SIGNS = re.compile(r"(?P<before>.*?)(?P<signs>#+)(?P<after>[^#]*)", re.DOTALL)
_COLUMNS: Mapping[str, Column] = {
    column.name: column for column in (*frame_columns(20), *shot_columns())
}


def edit_clip_of(file: FileResult, folder: Path) -> EditClip:
    """A measured clip, or a still that is held, as an edit sees it.

    Args:
        file: with its rows.
        folder: where the edit is written; media references count from there.

    Raises:
        ExportError: its rows state no rate, or a timecode that is none.
    """
    if file.is_still:
        return _held(file, folder)
    rate_fps = file.row.get("rate_fps")
    if not isinstance(rate_fps, int | float) or not 0 < rate_fps <= MOST_RATE_FPS:
        raise ExportError(
            f"{file.file} has no frame rate in its row of files; measure it again", where=file.file
        )
    rate = snap_rate(rate_fps)
    first_frame, drop = _first_frame(file, rate)
    frames = {(row.get("shot"), row.get("frame")): row for row in file.frames}
    numbered = _numbered(file)
    return EditClip(
        file=file.file,
        url=media_url(file, folder, of_folder=numbered is not None),
        numbered=numbered,
        rate=rate,
        drop=drop,
        first_frame=first_frame,
        shots=tuple(
            _shot(row, frames.get((row.get("shot"), row.get("frame")), {})) for row in file.shots
        ),
        notes=tuple(note for note in str(file.row.get("notes") or "").split("; ") if note),
    )


def media_url(file: FileResult, folder: Path, *, of_folder: bool = False) -> str:
    """The media as seen from the folder of the edit, quoted; absolute only from another drive.

    Args:
        file: whose media are meant.
        folder: of the edit.
        of_folder: of numbered frames, the folder that they lie in.
    """
    path = file.path
    if path is None:
        return quote(file.file.replace("\\", "/"), safe="/:.~")
    path = path.parent if of_folder else path
    try:
        near = os.path.relpath(path.absolute(), folder.absolute())
    except ValueError:  # another drive
        return path.absolute().as_uri()
    url = quote(Path(near).as_posix().encode("utf-8", "surrogateescape"), safe="/.~")
    return f"{url}/" if of_folder else url


def _numbered(file: FileResult) -> NumberedFrames | None:
    """How the frames are named, of a clip of numbered frames that is there."""
    if file.path is None or not is_pattern(file.path):
        return None
    match = _SIGNS.fullmatch(file.path.name)
    files = pattern_files(file.path)
    if match is None or not files:
        return None
    return NumberedFrames(
        prefix=match["before"], digits=len(match["signs"]), suffix=match["after"], first=files[0][0]
    )


def _first_frame(file: FileResult, rate: Fraction) -> tuple[int, bool]:
    text = str(file.row.get("start_timecode") or "")
    if not text:
        return 0, False
    try:
        return parse_timecode(text, rate)
    except ValueError as error:
        raise ExportError(
            f"{file.file} begins at {text}, which is no timecode at {float(rate):.3f}: {error}",
            where=file.file,
        ) from error


def _shot(row: Row, best: Row) -> EditShot:
    start, stop = int(row["start_frame"] or 0), int(row["end_frame"] or 0)
    return EditShot(
        number=int(row["shot"] or 0),
        start_frame=start,
        end_frame=max(stop, start + 1),
        size=str(row.get("size") or ""),
        size_abbr=str(row.get("size_abbr") or ""),
        flags=flagged_parts(str(row.get("flags") or "")),
        best_frame=int(row.get("frame") or start),
        values=_values({**{name: best.get(name) for name in _FROM_BEST_FRAME}, **row}),
    )


def _held(file: FileResult, folder: Path) -> EditClip:
    row = file.frames[0]
    frames = int(STILL_SECONDS * STILL_RATE)
    shot = EditShot(
        number=0,
        start_frame=0,
        end_frame=frames,
        size=str(row.get("size") or ""),
        size_abbr=str(row.get("size_abbr") or ""),
        flags=flagged_parts(str(row.get("flags") or "")),
        best_frame=0,
        values=_values(row),
    )
    return EditClip(
        file=file.file,
        url=media_url(file, folder),
        rate=STILL_RATE,
        drop=False,
        first_frame=0,
        shots=(shot,),
        is_still=True,
    )


def _values(row: Mapping[str, Cell]) -> dict[str, Value]:
    """What is not empty, rounded as in the tables."""
    values: dict[str, Value] = {}
    for name, cell in row.items():
        column = _COLUMNS.get(name)
        value = rounded_cell(column, cell) if column else cell
        if value is not None and value != "":
            values[name] = value
    return values
