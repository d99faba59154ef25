"""What the time of a still is made of: decoding, each network, geometry, opinions.

It is processor time: with all cores at work that is what a run is short of, and it hardly depends
on what else the machine does.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from framecheck.bench.naive import whole_view
from framecheck.bench.setup import Bench
from framecheck.measure.frame import measure_frame
from framecheck.pose.correction import load_corrector
from framecheck.pose.estimator import MediaPipeEstimator
from framecheck.pose.lookout import OwnNetworks, open_own_networks
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.pose.one_core import keep_to_one_core

if TYPE_CHECKING:
    from framecheck.pose.marks import MarksNetwork
    from framecheck.pose.scout import Scout

NETWORK = "network: "
CALLS = {
    "find_bodies": f"{NETWORK}bodies",
    "find_bodies_mirrored": f"{NETWORK}bodies",
    "find_faces": f"{NETWORK}faces",
    "find_meshes": f"{NETWORK}face meshes",
    "find_anybody": f"{NETWORK}people masks",
    "look": f"{NETWORK}marks and scout",
    "put": f"{NETWORK}marks and scout",
}
"""Calls that hand a picture to a network, and how their time is called."""
AROUND = "cut-outs, merging, screening"


class Clock:
    """Adds up how long each part takes, a part inside another one not counted twice.

    Args:
        now_s: tells the time.
    """

    def __init__(self, now_s: Callable[[], float] = time.process_time) -> None:
        self._now_s = now_s
        self.spent_s: dict[str, float] = defaultdict(float)
        self._inside_s = [0.0]

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """Time what is done in the block."""
        self._inside_s.append(0.0)
        started_s = self._now_s()
        try:
            yield
        finally:
            took_s = self._now_s() - started_s
            self.spent_s[name] += took_s - self._inside_s.pop()
            self._inside_s[-1] += took_s


class Clocked:
    """Stands before an object and has the calls timed that `CALLS` names."""

    def __init__(self, inner: object, clock: Clock) -> None:
        self._inner, self._clock = inner, clock

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401  # whatever the object has
        found = getattr(self._inner, name)
        return self._timed(found, CALLS[name]) if name in CALLS else found

    def _timed(self, call: Callable[..., object], part: str) -> Callable[..., object]:
        def timed(*args: object, **named: object) -> object:
            with self._clock.part(part):
                return call(*args, **named)

        return timed


def split_time(bench: Bench, stills: Sequence[Path]) -> tuple[dict[str, float], float]:
    """Milliseconds of one still in the mean by part, and of one bare landmark pass over it.

    One process, networks loaded and warm.
    """
    clock = Clock()
    keep_to_one_core()  # as each worker of a run does
    with open_networks(provide_models(bench.models)) as networks:
        measure = _open_split(bench, networks, clock)
        measure(stills[0])
        clock.spent_s.clear()
        for still in stills:
            measure(still)
        bare_s = _time_one_pass(bench, networks, stills)
    return {name: 1e3 * spent / len(stills) for name, spent in clock.spent_s.items()}, 1e3 * bare_s


def _open_split(bench: Bench, networks: Networks, clock: Clock) -> Callable[[Path], None]:
    own, corrector = open_own_networks(), load_corrector()
    clocked = OwnNetworks(
        marks=cast("MarksNetwork", Clocked(own.marks, clock)),
        scout=cast("Scout", Clocked(own.scout, clock)),
    )
    estimator = MediaPipeEstimator(cast("Networks", Clocked(networks, clock)), own=clocked)

    def measure(still: Path) -> None:
        with clock.part("decoding, black bars"):
            picture = bench.tools.read_picture(still)
        with clock.part(AROUND):
            seen = estimator.see(picture)
        size_wh = (picture.rgb.shape[1], picture.rgb.shape[0])
        with clock.part("geometry and looks"):
            measured = measure_frame(size_wh, picture.active, seen, corrector, rgb=picture.rgb)
        with clock.part("names, flags, advice"):
            bench.judging.judge(measured)

    return measure


def _time_one_pass(bench: Bench, networks: Networks, stills: Sequence[Path]) -> float:
    views = [whole_view(bench.tools.read_picture(still)) for still in stills]
    networks.find_bodies(views[0], "warm")
    started_s = time.process_time()
    for view in views:
        networks.find_bodies(view, "bare")
    return (time.process_time() - started_s) / len(views)
