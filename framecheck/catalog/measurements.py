"""Measurements: who works on them, what is done of them, and how they end."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import NewType

from framecheck.catalog.entries import SHOW_BEST
from framecheck.catalog.lease import Owner, is_live
from framecheck.catalog.places import content_number
from framecheck.catalog.store import Store
from framecheck.errors import LeaseLost

MeasurementId = NewType("MeasurementId", int)


class State(str, Enum):
    """How far a measurement is."""

    RUNNING = "running"
    MEASURED = "measured"
    FAILED = "failed"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One content measured with one group of settings.

    Attributes:
        id: its number in this catalog.
        state: how far it is. A running one whose run has died still says running until somebody
            begins it again.
        kind: still, clip or frames. header_json: as it was begun with.
        why, where: what happened, unless it was measured.
        attempts: how often it was begun.
        busy: True when a live run is at it, this one included.
    """

    id: MeasurementId
    state: State
    kind: str
    header_json: str
    why: str
    where: str
    attempts: int
    busy: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Beginning:
    """What is to be measured."""

    content: str
    fingerprint: str
    kind: str
    header_json: str
    afresh: bool


_FIND = """
    SELECT m.id, m.state, m.kind, m.header, m.why, m.at, m.attempts,
        m.owner_token, m.owner_host, m.owner_pid, m.owner_start_s, m.beat_s
    FROM measurements m JOIN contents c ON c.id = m.content
    WHERE c.content = ? AND m.fingerprint = ?
"""
_TAKE = """
    UPDATE measurements SET state = 'running', kind = ?, header = ?, why = '', at = '',
        attempts = attempts + 1, begun_s = ?, ended_s = NULL, owner_token = ?, owner_host = ?,
        owner_pid = ?, owner_start_s = ?, beat_s = ?
    WHERE id = ?
"""
_ADD = """
    INSERT INTO measurements (kind, header, begun_s, owner_token, owner_host, owner_pid,
        owner_start_s, beat_s, content, fingerprint, state)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'running')
"""


def find_measurement(
    store: Store, content: str, fingerprint: str, here: Owner
) -> Measurement | None:
    """The measurement of that content with those settings, None when it was never begun."""
    row = store.first(_FIND, (content, fingerprint))
    if row is None:
        return None
    number, state, kind, header, why, at, attempts, *lease = row
    return Measurement(
        id=MeasurementId(number),
        state=State(state),
        kind=kind,
        header_json=header,
        why=why,
        where=at,
        attempts=attempts,
        busy=_is_busy(lease, here),
    )


def begin_measurement(store: Store, wanted: Beginning, here: Owner) -> MeasurementId | None:
    """Take the measurement in hand; None when a live run has it or it is measured already."""
    with store.writing():
        there = find_measurement(store, wanted.content, wanted.fingerprint, here)
        now_s = time.time()
        lease = (now_s, here.token, here.host, here.pid, here.start_s, now_s)
        if there is None:
            content = content_number(store, wanted.content)
            values = (wanted.kind, wanted.header_json, *lease, content, wanted.fingerprint)
            return MeasurementId(int(store.run(_ADD, values).lastrowid or 0))
        if there.busy or (there.state is State.MEASURED and not wanted.afresh):
            return None
        store.run(_TAKE, (wanted.kind, wanted.header_json, *lease, there.id))
        if wanted.afresh:
            drop_shots(store, there.id, 0)
            store.run("DELETE FROM files WHERE _measurement = ?", (there.id,))
        return there.id


def drop_shots(store: Store, measurement: MeasurementId, from_shot: int) -> None:
    """Delete the shots from that number on, with all that belongs to them, in a transaction."""
    for table in ("shots", "frames", "people"):
        store.run(
            f"DELETE FROM {table} WHERE _measurement = ? AND _shot >= ?", (measurement, from_shot)
        )
    for table in ("entries", "originals"):
        store.run(
            f"DELETE FROM {table} WHERE measurement = ? AND shot >= ?", (measurement, from_shot)
        )


def end_measurement(
    store: Store, measurement: MeasurementId, state: State, words: tuple[str, str]
) -> None:
    """Write how it ended and let it go, inside a transaction.

    Args:
        store: inside a transaction.
        measurement: which one.
        state: how it ended.
        words: why and where.
    """
    now_s = time.time()
    store.run(
        "UPDATE measurements SET state = ?, why = ?, at = ?, ended_s = ?, asked_s = ?, "
        "owner_token = NULL WHERE id = ?",
        (state.value, *words, now_s, now_s, measurement),
    )
    show_best(store, measurement)


def ask_for(store: Store, measurement: MeasurementId) -> None:
    """Note that a run has asked for it, so that searches show it and not one that is older."""
    shown = "SELECT 1 FROM contents WHERE shown = ?"
    if store.first(shown, (measurement,)) is None:
        with store.writing():
            store.run(
                "UPDATE measurements SET asked_s = ? WHERE id = ?", (time.time(), measurement)
            )
            show_best(store, measurement)


def show_best(store: Store, measurement: MeasurementId) -> None:
    """Choose anew what a search shows of the content of this measurement."""
    store.run(
        f"{SHOW_BEST} WHERE id = (SELECT content FROM measurements WHERE id = ?)", (measurement,)
    )


def check_lease(store: Store, measurement: MeasurementId, here: Owner) -> None:
    """Make sure that the measurement is still this run's, inside a transaction.

    Raises:
        LeaseLost: it is another's, or nobody's.
    """
    row = store.first("SELECT owner_token FROM measurements WHERE id = ?", (measurement,))
    if row is None or row[0] != here.token:
        raise LeaseLost(
            f"another run has taken over measurement {measurement} of the catalog {store.path}, "
            "as this one gave no sign of life; its results are left to the other",
            where=str(store.path),
        )


def beat(store: Store, here: Owner) -> None:
    """A sign of life for all that this owner has in hand, inside a transaction."""
    store.run("UPDATE measurements SET beat_s = ? WHERE owner_token = ?", (time.time(), here.token))


def let_go(store: Store, here: Owner) -> None:
    """Give up all that this owner has in hand, so that the next run takes it at once."""
    with store.writing():
        store.run("UPDATE measurements SET owner_token = NULL WHERE owner_token = ?", (here.token,))


def count_states(store: Store) -> Mapping[State, int]:
    """How many measurements are in each state."""
    rows = store.all("SELECT state, count(*) FROM measurements GROUP BY state")
    return {State(state): count for state, count in rows}


def _is_busy(lease: list[object], here: Owner) -> bool:
    token, host, pid, start_s, beat_s = lease
    if token is None:
        return False
    if token == here.token:
        return True
    owner = Owner(token=str(token), host=str(host), pid=int(str(pid)), start_s=float(str(start_s)))
    return is_live(owner, time.time() - float(str(beat_s)), here)
