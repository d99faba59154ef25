"""The results database as one object."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType

from framecheck.catalog import measurements, places, sequences
from framecheck.catalog.corrections import Corrections
from framecheck.catalog.layout import Layout, Row
from framecheck.catalog.lease import BEAT_S, this_owner
from framecheck.catalog.measurements import Beginning, Measurement, MeasurementId, State
from framecheck.catalog.rows import MeasuredRows, ShotRows, enter_shot, insert_rows, read_rows
from framecheck.catalog.schema import VERSION, bring_up_to_date, check_version, columns_of
from framecheck.catalog.search import (
    FindQuery,
    count_rows,
    find_rows,
    found_columns,
    known_flags,
    known_sizes,
)
from framecheck.catalog.sequences import SequenceRows, ShotParts
from framecheck.catalog.shown import shown_places
from framecheck.catalog.shown_rows import ShownClip, read_shown_clip
from framecheck.catalog.sources import Source, shown_sources
from framecheck.catalog.store import (
    Store,
    choose_journal,
    closed_on_error,
    open_store,
    open_store_to_read,
)
from framecheck.catalog.tally import Tally, tally_entries
from framecheck.errors import CatalogError

CATALOG_NAME = "framecheck.sqlite"
"""What the file is called when nobody says."""


class Catalog:
    """The results database: a context manager, for one process and one thread.

    Several runs may have the same file open at once; each opens its own. Everything that is
    entered is in the file, flushed to the disk, when the call returns. Example of a run:

        with Catalog.open(out / CATALOG_NAME, layout=layout) as catalog:
            content = catalog.known_content(path, size, mtime_ns) or content_id(path)
            catalog.remember_place(content, path, size, mtime_ns)
            number = catalog.begin(content, fingerprint, "clip", header_json)
            if number is None:  # done, or in another run's hands
                there = catalog.lookup(content, fingerprint)
                if there.state is State.MEASURED:
                    catalog.show(there.id)
            else:
                done = catalog.shots_done(number)
                catalog.add_shot(number, shot_row, frame_rows, people_rows)  # not those in done
                catalog.heartbeat()  # as often as you like
                catalog.finish(number, file_row)
            rows = catalog.rows(number, file=name_in_this_run)

    Leaving the `with` gives up what was begun and not ended, so that the next run goes on with it
    at once; after kill -9 the next run sees that the process is gone, and goes on as well.

    Every method raises `CatalogError` when the file cannot be read or written (disk full, drive
    gone, damaged). Whatever was entered before is then still there, and the catalog stays usable:
    the same call can be made again.
    """

    def __init__(self, store: Store, layout: Layout) -> None:
        """Use `Catalog.open`."""
        self._store = store
        self._owner = this_owner()
        self._beaten_s = 0.0
        self._layout = layout

    @classmethod
    def open(cls, path: Path, *, layout: Layout | None = None, vfs: str | None = None) -> Catalog:
        """The catalog at `path` for reading and writing, made or brought up to date as needed.

        Args:
            path: the file; its folder is made when it is not there.
            layout: the columns of the rows to enter and to read; without one, those that are
                there.
            vfs: name of SQLite's file layer, for tests; None for the usual one.

        Raises:
            CatalogError: it cannot be written, is no catalog, or of a newer version.
        """
        store = open_store(path, vfs=vfs)
        with closed_on_error(store):
            check_version(store)  # before anything is written: it may be another program's
            choose_journal(store)
            bring_up_to_date(store, layout or Layout())
            return cls(store, layout or Layout())

    @classmethod
    def open_to_read(cls, path: Path) -> Catalog:
        """The catalog at `path`, which must be there, for `find` and `rows`; never made anew.

        Works in a folder that may only be read. Where it may be written to, one of an earlier
        version is brought up to date.

        Raises:
            CatalogError: it is not there, no catalog, or of another version that cannot be used.
        """
        store = open_store_to_read(path)
        with closed_on_error(store):
            _check_usable(store)
            if not store.read_only:
                bring_up_to_date(store, Layout())
            return cls(store, Layout())

    def __enter__(self) -> Catalog:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give up what was begun and not ended, and let go of the file. Safe to call twice."""
        if not self._store.read_only:
            with contextlib.suppress(CatalogError):  # the disk may be full, or gone
                measurements.let_go(self._store, self._owner)
        self._store.close()

    @property
    def path(self) -> Path:
        """Where the file is."""
        return self._store.path

    @property
    def notes(self) -> tuple[str, ...]:
        """What the user should know of how it is kept (no write-ahead log on this drive)."""
        return self._store.notes

    def known_content(self, path: Path, size_bytes: int, mtime_ns: int) -> str | None:
        """The content id last seen at `path`, None when size or date differ or none was seen."""
        return places.known_content(self._store, path, size_bytes, mtime_ns)

    def remember_place(self, content: str, path: Path, size_bytes: int, mtime_ns: int) -> None:
        """Note that the content lies at `path`.

        Other places of the same content that are no longer there (a drive under another mount
        point, a renamed folder) are no longer listed; copies that are there stay. What lay at
        `path` before, if it was something else, has lost that place.
        """
        if self.known_content(path, size_bytes, mtime_ns) != content:
            places.remember_place(self._store, content, path, size_bytes, mtime_ns)

    def describe_settings(self, fingerprint: str, described: str) -> None:
        """Keep in words or JSON what settings, models and version a fingerprint stands for."""
        with self._store.writing():
            self._store.run(
                "INSERT OR REPLACE INTO settings (fingerprint, described) VALUES (?, ?)",
                (fingerprint, described),
            )

    def lookup(self, content: str, fingerprint: str) -> Measurement | None:
        """The measurement of a content with those settings; None when it was never begun."""
        return measurements.find_measurement(self._store, content, fingerprint, self._owner)

    def begin(
        self,
        content: str,
        fingerprint: str,
        kind: str,
        header_json: str,
        *,
        afresh: bool = False,
    ) -> MeasurementId | None:
        """Take a measurement in hand.

        Args:
            content: as `content_id` says.
            fingerprint: of settings, models and version.
            kind: still, clip or frames.
            header_json: what is known of it before decoding; "" for nothing.
            afresh: forget what an earlier run has entered, even when it is measured. The same
                content under two names in one run is to be begun once.

        Returns:
            Its number; what an earlier run that died, was interrupted or failed has entered of it
            is kept, see `shots_done`. None when it is not to be measured: it is measured already,
            or in the hands of a live run (this catalog's own included); `lookup` says which.
        """
        wanted = Beginning(
            content=content,
            fingerprint=fingerprint,
            kind=kind,
            header_json=header_json,
            afresh=afresh,
        )
        return measurements.begin_measurement(self._store, wanted, self._owner)

    def shots_done(self, measurement: MeasurementId) -> set[int]:
        """The numbers of the shots that are entered; {0} for a still that is."""
        rows = self._store.all("SELECT shot FROM entries WHERE measurement = ?", (measurement,))
        return {int(row[0]) for row in rows}

    def add_shot(
        self,
        measurement: MeasurementId,
        shot_row: Row | None,
        frame_rows: Sequence[Row],
        people_rows: Sequence[Row],
    ) -> None:
        """Enter one shot with its measured frames and their people, all or nothing.

        Args:
            measurement: from `begin`.
            shot_row: its number in column `shot`; None for a still, whose one frame row is then
                what is found. Searches read the columns `size`, `size_abbr`, `people`,
                `shot_type`, `flags` and `duration_s` as far as they are there, and `facing` where
                it is there, else the main subject's (person 0) most usual one. `frame` names the
                frame that shows the shot best, by the same column of its frame rows.
            frame_rows: in the order in which `rows` shall give them back.
            people_rows: likewise.

        A shot that is entered already is replaced.

        Raises:
            LeaseLost: another run has taken the measurement over; nothing is entered.
            ValueError: a row has a column that the layout lacks, or a NaN in it.
        """
        rows = ShotRows(shot=shot_row, frames=frame_rows, people=people_rows)
        with self._store.writing():
            measurements.check_lease(self._store, measurement, self._owner)
            enter_shot(self._store, measurement, rows)
            measurements.show_best(self._store, measurement)
            self._beat_now()

    def together(self) -> AbstractContextManager[None]:
        """What is entered inside reaches the disk at once, at the end; each entry whole or not.

        Others that write to the same catalog wait meanwhile, so that it should not take long.
        """
        return self._store.together()

    def show(self, measurement: MeasurementId) -> None:
        """Let searches show this measurement of its content, as a run has asked for it again.

        Call it for one that is taken over from an earlier run; `finish` does it by itself.
        """
        measurements.ask_for(self._store, measurement)

    def forget_shots(self, measurement: MeasurementId, from_shot: int) -> None:
        """Delete the shots from that number on, for instance one cut short by a broken file.

        Raises:
            LeaseLost: another run has taken the measurement over.
        """
        with self._store.writing():
            measurements.check_lease(self._store, measurement, self._owner)
            measurements.drop_shots(self._store, measurement, from_shot)

    def heartbeat(self) -> None:
        """A sign of life for all that was begun; writes one every 20 s, however often called."""
        if time.monotonic() - self._beaten_s >= BEAT_S:
            with self._store.writing():
                self._beat_now()

    def finish(self, measurement: MeasurementId, file_row: Row) -> None:
        """It is measured: from now on it is skipped, and found in place of earlier ones.

        Raises:
            LeaseLost: another run has taken the measurement over.
        """
        self._end(measurement, State.MEASURED, ("", ""), file_row)

    def fail(
        self, measurement: MeasurementId, why: str, where: str, file_row: Row | None = None
    ) -> None:
        """It failed; the shots that are entered are kept, and the next run tries again.

        Raises:
            LeaseLost: another run has taken the measurement over.
        """
        self._end(measurement, State.FAILED, (why, where), file_row)

    def skip(
        self, measurement: MeasurementId, why: str, where: str, file_row: Row | None = None
    ) -> None:
        """It was left out on purpose.

        Raises:
            LeaseLost: another run has taken the measurement over.
        """
        self._end(measurement, State.SKIPPED, (why, where), file_row)

    def rows(self, measurement: MeasurementId, *, file: str | None = None) -> MeasuredRows:
        """All rows of a measurement, with the layout's columns and numbers in full precision.

        Args:
            measurement: from `begin` or `lookup`.
            file: put in place of column `file`, as another run may have called the file
                otherwise, or found it elsewhere.
        """
        groups = {name: self._read(name, measurement, file)
                  for name in ("files", "shots", "frames", "people")}  # fmt: skip
        files = groups.pop("files")
        return MeasuredRows(
            file=files[0] if files else None,
            place=places.last_place(self._store, measurement),
            **groups,
        )

    def shown_clip(self, measurement: MeasurementId) -> ShownClip:
        """Of each shot of a clip its row, and those of the frame that shows it best."""
        return read_shown_clip(self._store, measurement)

    def read_shots(
        self, measurements: Sequence[MeasurementId], wanted: Mapping[str, Sequence[str]]
    ) -> Mapping[int, Mapping[int, ShotParts]]:
        """Some columns of shots, frames and people, by measurement and by shot (0 for a still)."""
        return sequences.read_shots(self._store, measurements, wanted)

    def file_row(self, measurement: MeasurementId) -> Row | None:
        """The row for files of a measurement; None while it has none."""
        rows = self._read("files", measurement, None)
        return rows[0] if rows else None

    def enter_sequence(self, rows: SequenceRows) -> None:
        """Keep the study of a sequence in place of an earlier one of the same source."""
        sequences.enter_sequence(self._store, rows)

    def sequences(self) -> tuple[SequenceRows, ...]:
        """The studies that are kept, the last one first."""
        return sequences.read_sequences(self._store)

    def find(self, query: FindQuery) -> list[Row]:
        """The shots and stills that answer the query, one row for each place of each.

        In front stand `place` (the path; stray bytes as Python has them in file names), `kind` and
        `shot` (None for a still), then the columns of shots, of which a still fills those that its
        frame has as well, then the further columns of the frame that shows it best. Of each
        content that whole measurement counts which a run asked for last, else what there is of
        one. Rows come by place, then by shot.
        """
        return find_rows(self._store, query)

    def tally(self, query: FindQuery) -> tuple[Tally, ...]:
        """How much of what answers the query there is of each size, count of people and so on."""
        return tally_entries(self._store, query)

    def shown_places(self) -> list[tuple[Path, MeasurementId]]:
        """Every place of a content, with the measurement of it that `find` shows, by place."""
        return shown_places(self._store)

    def sources(self, folder: Path | None = None) -> tuple[Source, ...]:
        """What `find` shows, one for each content, by place; of a folder and below, or all."""
        return shown_sources(self._store, folder)

    @property
    def corrections(self) -> Corrections:
        """What people have said about results."""
        return Corrections(self._store)

    def sizes(self) -> list[tuple[str, str]]:
        """The names and abbreviations of sizes that `find` could find."""
        return sorted(known_sizes(self._store))

    def found_columns(self) -> tuple[str, ...]:
        """The columns of the rows that `find` gives, in order."""
        return found_columns(self._store)

    def count(self, query: FindQuery) -> int:
        """How many rows `find` would have without a limit."""
        return count_rows(self._store, query)

    def flagged_parts(self) -> list[str]:
        """The parts that `find` could find flags of."""
        return sorted(known_flags(self._store))

    def holds_place(self, path: Path) -> bool:
        """Whether a measured input is known to lie there."""
        return places.is_place(self._store, path)

    def counts(self) -> dict[State, int]:
        """How many measurements there are in each state."""
        return dict(measurements.count_states(self._store))

    def check(self) -> tuple[str, ...]:
        """What is wrong with the file, in SQLite's words; empty when all is well."""
        problems = [str(row[0]) for row in self._store.all("PRAGMA integrity_check")]
        broken = self._store.all("PRAGMA foreign_key_check")
        problems += [f"a row of {row[0]} belongs to nothing in {row[2]}" for row in broken]
        return tuple(problem for problem in problems if problem != "ok")

    def _end(
        self,
        measurement: MeasurementId,
        state: State,
        words: tuple[str, str],
        file_row: Row | None,
    ) -> None:
        with self._store.writing():
            measurements.check_lease(self._store, measurement, self._owner)
            self._store.run("DELETE FROM files WHERE _measurement = ?", (measurement,))
            if file_row is not None:
                insert_rows(self._store, "files", [((measurement,), file_row)])
            measurements.end_measurement(self._store, measurement, state, words)

    def _beat_now(self) -> None:
        measurements.beat(self._store, self._owner)
        self._beaten_s = time.monotonic()

    def _read(self, table: str, measurement: MeasurementId, file: str | None) -> tuple[Row, ...]:
        wanted = [name for name, _ in getattr(self._layout, table)]
        rows = read_rows(self._store, table, measurement, wanted or columns_of(self._store, table))
        if file is None:
            return rows
        return tuple({**row, "file": file} if "file" in row else row for row in rows)


def _check_usable(store: Store) -> None:
    version = check_version(store)
    if version == 0:
        raise CatalogError(f"{store.path} is empty, not a catalog", where=str(store.path))
    if version != VERSION and store.read_only:
        raise CatalogError(
            f"the catalog {store.path} is of version {version} and must be brought to {VERSION}, "
            "but may only be read; copy it to a folder that can be written to",
            where=str(store.path),
        )
