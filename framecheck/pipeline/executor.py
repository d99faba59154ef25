"""Who carries out a run: the processes of this machine, or a cluster. One small protocol for both.

The one who gives the orders stays the same: it alone takes inputs on, hears what became of them,
and writes to the catalog.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from framecheck.errors import ConfigError
from framecheck.pipeline.clip import ClipTask
from framecheck.pipeline.identify import Identity
from framecheck.pipeline.pool import Event, Lost
from framecheck.pipeline.shot import ShotOutcome, ShotTask
from framecheck.pipeline.still import StillOutcome, StillTask

if TYPE_CHECKING:
    from framecheck.pipeline.order import Order

LOCAL = "local"
_CLUSTER = re.compile(
    r"dask://(?P<place>(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9_.-]+):(?P<port>[0-9]{1,5}))"
)


class Executor(Protocol):
    """Hands out work, and calls back with what comes of it, from within `turn` alone."""

    @property
    def idle(self) -> bool:
        """True when nothing is in hand."""
        ...

    def has_room(self) -> bool:
        """True when there may soon be somebody without work."""
        ...

    def expect_clip(self) -> None:
        """A clip is likely to be read soon."""
        ...

    def identify(self, files: tuple[Path, ...], then: Callable[[Identity | Lost], None]) -> None:
        """Tell the content of an input."""
        ...

    def read(self, task: ClipTask, hear: Callable[[Event], None]) -> None:
        """Read a clip; `hear` gets its shots, each to be given to `measure_shot`, and its end."""
        ...

    def measure_still(self, task: StillTask, then: Callable[[StillOutcome | Lost], None]) -> None:
        """Measure a still."""
        ...

    def measure_shot(self, task: ShotTask, then: Callable[[ShotOutcome | Lost], None]) -> None:
        """Measure a shot that `read` has handed out."""
        ...

    def turn(self, most_s: float) -> None:
        """Wait for something to happen, and tell those who wait for it.

        Raises:
            ModelError: the networks would not load.
            WorkerError: there is nobody who can work.
        """
        ...

    def close(self) -> None:
        """End all work, whatever is in hand."""
        ...


def check_place(place: str, workers: int | None = None) -> None:
    """Whether work can be carried out there: `local`, or `dask://` with host and port.

    Args:
        place: what the user said.
        workers: how many processes are wanted on this machine; None for as many as it feeds.

    Raises:
        ConfigError: it names neither; or processes here are wanted for work that is done elsewhere.
    """
    if place != LOCAL and workers is not None:
        raise ConfigError("--workers goes with --on local; a cluster has its own", where="--on")
    if place != LOCAL and scheduler_of(place) is None:
        raise ConfigError(f"--on takes local or dask://HOST:PORT, got {place!r}", where="--on")


def scheduler_of(place: str) -> str | None:
    """Host and port of the cluster's scheduler; None for another place."""
    match = _CLUSTER.fullmatch(place)
    return match["place"] if match and 0 < int(match["port"]) < 65536 else None


def open_executor(
    order: Order,
    told: Callable[[str], None],
    together: Callable[[], AbstractContextManager[None]] = nullcontext,
) -> Executor:
    """Who carries out that order.

    Args:
        order: what is to be done, and where.
        told: hears what the user should know.
        together: around results that came at the same time and may be entered as one.

    Raises:
        ConfigError: a library is missing.
        WorkerError: the cluster cannot be reached.
    """
    scheduler = scheduler_of(order.place)
    if scheduler is None:
        from framecheck.pipeline.workshop import Workshop

        return Workshop(order)
    from framecheck.pipeline.dask_executor import DaskExecutor

    return DaskExecutor(order, scheduler, told, together)
