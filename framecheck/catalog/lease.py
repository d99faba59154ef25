"""Who works on a measurement, and whether that process is still alive."""

from __future__ import annotations

import contextlib
import os
import socket
import uuid
from dataclasses import dataclass
from pathlib import Path

LEASE_S = 120.0
"""After so long without a sign of life, work on another machine counts as given up."""

BEAT_S = 20.0
"""How often a sign of life is written at most."""

_CLOCK_S = 2.0  # the start of a process is told to about a hundredth, and clocks are set


@dataclass(frozen=True, slots=True, kw_only=True)
class Owner:
    """An open catalog in a process.

    Attributes:
        token: of this opening; two openings in one process differ.
        host: machine, and what numbers its processes.
        pid: of the process. start_s: when it began, as a number is given to another one later.
    """

    token: str
    host: str
    pid: int
    start_s: float


def this_owner() -> Owner:
    """A new owner in this process."""
    import psutil

    return Owner(
        token=uuid.uuid4().hex,
        host=_host(),
        pid=os.getpid(),
        start_s=psutil.Process().create_time(),
    )


def is_live(owner: Owner, silent_s: float, here: Owner) -> bool:
    """Whether that owner may still be at work.

    Args:
        owner: the one who holds the lease.
        silent_s: how long ago it gave its last sign of life.
        here: the one who asks.

    Note:
        A process of the same machine is asked itself: dead ones lose their lease at once, live
        ones keep it though they are silent. Of other machines only the signs of life are known;
        one from the future (clocks differ) counts as one of the past.
    """
    recent = abs(silent_s) < LEASE_S
    if owner.host != here.host:
        return recent
    # Another opening in this very process may have been forgotten: it has to show itself as well.
    return _runs(owner) and (owner.pid != here.pid or recent)


def _runs(owner: Owner) -> bool:
    import psutil

    try:
        process = psutil.Process(owner.pid)
        same = abs(process.create_time() - owner.start_s) < _CLOCK_S
        return same and process.status() != psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return False
    except psutil.Error:  # it is there, and another user's
        return True


def _host() -> str:
    """The machine, its start, and the space of its process numbers (containers have their own)."""
    parts = [socket.gethostname()]
    with contextlib.suppress(OSError):
        parts.append(Path("/proc/sys/kernel/random/boot_id").read_text("utf-8").strip())
    with contextlib.suppress(OSError):
        parts.append(str(Path("/proc/self/ns/pid").readlink()))
    return " ".join(parts)
