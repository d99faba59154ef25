"""Results of earlier runs, from their tables or from a catalog, as one shape."""

from __future__ import annotations

import contextlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.rows import MeasuredRows
from framecheck.errors import ConfigError
from framecheck.export.from_rows import measurement_of_rows
from framecheck.export.read_tables import TABLES, find_tables, read_table
from framecheck.export.rows import Row, writable_text
from framecheck.media.numbering import is_pattern, pattern_files
from framecheck.records.framing import FrameMeasurement


@dataclass(frozen=True, slots=True, kw_only=True)
class FileResult:
    """All that is known of one input.

    Attributes:
        file: as the tables call it.
        path: where it lies now; None when it is not to be found.
        row: from files.
        shots, frames, people: its rows, in order. A still has no shots.
    """

    file: str
    path: Path | None
    row: Row
    shots: tuple[Row, ...]
    frames: tuple[Row, ...]
    people: tuple[Row, ...]

    @property
    def is_still(self) -> bool:
        """Whether it is one picture."""
        return not self.shots

    def pictures(self) -> Iterator[tuple[Row, list[Row]]]:
        """Each of its pictures with the people in it."""
        people: dict[tuple[object, object], list[Row]] = defaultdict(list)
        for row in self.people:
            people[_frame_key(row)].append(row)
        for frame in self.frames:
            yield frame, people[_frame_key(frame)]

    def measurement_of(self, frame: Row) -> FrameMeasurement:
        """The measurement of one of its pictures.

        Raises:
            ExportError: the rows tell none.
        """
        key = _frame_key(frame)
        return measurement_of_rows(frame, [row for row in self.people if _frame_key(row) == key])


@dataclass(frozen=True, slots=True, kw_only=True)
class Results:
    """Inputs that were measured, in the order of the tables or by place.

    Attributes:
        source: the folder or catalog.
        files: those that have any row of a picture.
        missing: the rows of inputs that were skipped or failed without a result.
    """

    source: Path
    files: tuple[FileResult, ...]
    missing: tuple[Row, ...] = ()


def load_results(source: Path, media: Path | None = None) -> Results:
    """The results in a folder of tables, or in a catalog.

    Args:
        source: the folder that `framecheck measure` wrote to, or a catalog file.
        media: where the inputs lie, when they have moved since.

    Raises:
        ConfigError: there is neither.
        ExportError: a table cannot be read.
        CatalogError: the catalog cannot be read.
    """
    if not source.exists():
        raise ConfigError(
            f"there is nothing at {source}; name the folder that framecheck measure wrote to, "
            "or a catalog",
            where=str(source),
        )
    if source.is_file():
        return _from_catalog(source)
    try:
        paths = find_tables(source)
    except ConfigError:
        if (source / CATALOG_NAME).is_file():
            return _from_catalog(source / CATALOG_NAME)
        raise
    tables = {name: read_table(paths[name], name) for name in TABLES}
    return _gather(source, tables, media)


def _from_catalog(source: Path) -> Results:
    found = []
    with Catalog.open_to_read(source) as catalog:
        for place, number in catalog.shown_places():
            name = writable_text(str(place))
            rows = catalog.rows(number, file=name)
            if rows.frames:
                found.append(
                    FileResult(
                        file=name,
                        path=place if _is_there(place) else None,
                        row=rows.file or {"file": name, "status": "measured"},
                        shots=rows.shots,
                        frames=rows.frames,
                        people=rows.people,
                    )
                )
    return Results(source=source, files=tuple(found))


def _gather(source: Path, tables: dict[str, list[Row]], media: Path | None) -> Results:
    groups = {name: _by_file(tables[name]) for name in ("shots", "frames", "people")}
    found, missing = [], []
    with _beside(source / CATALOG_NAME) as catalog:
        places = _places(catalog)
        for row in tables["files"]:
            file = str(row["file"])
            if file not in groups["frames"]:
                missing.append(row)
                continue
            known = _known_place(file, places)
            rows = {name: group.get(file, []) for name, group in groups.items()}
            if catalog is not None and known is not None:
                rows = _with_corrections(rows, catalog.rows(known[1], file=file))
            found.append(
                FileResult(
                    file=file,
                    path=_place_of(file, source, (known, media)),
                    row=row,
                    shots=tuple(rows["shots"]),
                    frames=tuple(rows["frames"]),
                    people=tuple(rows["people"]),
                )
            )
    return Results(source=source, files=tuple(found), missing=tuple(missing))


_Known: TypeAlias = tuple[Path, MeasurementId]


@contextlib.contextmanager
def _beside(path: Path) -> Iterator[Catalog | None]:
    """The catalog beside the tables, when there is one that can be read."""
    if not path.is_file():
        yield None
        return
    with Catalog.open_to_read(path) as catalog:
        yield catalog


def _places(catalog: Catalog | None) -> dict[str, list[_Known]]:
    """Where the catalog has seen its inputs, and their measurements, by their last names."""
    places: dict[str, list[_Known]] = defaultdict(list)
    for place, number in catalog.shown_places() if catalog is not None else ():
        places[writable_text(place.name)].append((place, number))
    return places


def _known_place(file: str, places: Mapping[str, Sequence[_Known]]) -> _Known | None:
    """The one place whose path ends as the input was named, None for none or several."""
    wanted = [part for part in Path(file).parts if part not in {".", "..", "/"}]
    fitting = [
        known
        for known in places.get(wanted[-1] if wanted else "", ())
        if [writable_text(part) for part in known[0].parts[-len(wanted) :]] == wanted
    ]
    return fitting[0] if len(fitting) == 1 else None


def _place_of(file: str, source: Path, hints: tuple[_Known | None, Path | None]) -> Path | None:
    """Where a file lies: where the user says, else where it was measured, else as it was named."""
    known, media = hints
    said = find_media(file, source, media) if media is not None else None
    if said is not None:
        return said
    if known is not None and _is_there(known[0]):
        return known[0]  # a file of the same name in the current folder may be another one
    return find_media(file, source)


def _with_corrections(rows: dict[str, list[Row]], now: MeasuredRows) -> dict[str, list[Row]]:
    """The rows of the tables, those that a person has corrected since as the catalog has them."""
    kept = {"shots": now.shots, "frames": now.frames, "people": now.people}
    corrected = {
        name: {_row_key(row): row for row in kept[name] if row.get("confirmed")} for name in kept
    }
    touched = {(row.get("shot"), row.get("frame")) for row in corrected["frames"].values()}
    corrected["people"] |= {
        _row_key(row): row for row in now.people if (row.get("shot"), row.get("frame")) in touched
    }
    return {name: [corrected[name].get(_row_key(row), row) for row in rows[name]] for name in rows}


def _row_key(row: Row) -> tuple[object, ...]:
    box = row.get("box_x_px")  # of a person: its number changes when another is made the subject
    place = round(box, 1) if isinstance(box, float) else None
    return (row.get("shot"), row.get("start_frame"), row.get("frame"), place)


def find_media(file: str, source: Path, media: Path | None = None) -> Path | None:
    """Where an input lies now: as it was named, beside the results, or under `media`."""
    path = Path(file)
    tries: Iterable[Path] = (path, source / path, source.parent / path)
    if media is not None:
        # the longest end of the name that is there, so that two folders with the same names inside
        # stay apart
        parts: Sequence[str] = path.parts[1:] if path.is_absolute() else path.parts
        tries = (media.joinpath(*parts[start:]) for start in range(len(parts)))
    return next((candidate for candidate in tries if _is_there(candidate)), None)


def _is_there(path: Path) -> bool:
    try:
        return path.exists() or (is_pattern(path) and bool(pattern_files(path)))
    except (OSError, ValueError):
        return False


def _by_file(rows: Iterable[Row]) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        groups[str(row["file"])].append(row)
    return dict(groups)


def _frame_key(row: Row) -> tuple[object, object]:
    return (row.get("shot"), row.get("frame"))
