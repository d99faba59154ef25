"""The bench of shot boundaries: F1 by kind, beside the detectors of a general library.

`python -m tests.bench.boundaries --seed 9202 --clips 3` makes clips with known boundaries (see
`boundary_clips`), encodes and decodes them really, and finds boundaries with framecheck and with
the detectors of PySceneDetect at their defaults, on the same frames in the same run
(`pip install --no-deps scenedetect`). Seeds 200 to 299 are for tuning, 9201 and above for reports.
Making the clips takes far longer than searching them: `--kept FOLDER` keeps what does not depend on
framecheck, and `--prepare` makes that alone, so that a broken-off run goes on where it was.
A cut counts when it is found within one frame; a gradual change when the frame found lies in its
span, two frames more on either side. A boundary told twice counts as false the second time.
"""

from __future__ import annotations

import argparse
import json
import pickle
import time
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, cast

import numpy as np
import numpy.typing as npt

from framecheck.shots.finder import BoundaryFinder
from tests.bench.boundary_clips import KINDS, TrueBoundary, decode, encode, make_clip, shrink

CUT_SLACK = 1
SPAN_SLACK = 2


def tally(truth: Sequence[TrueBoundary], found: Sequence[int]) -> tuple[int, int, int]:
    """True boundaries found, true ones missed, and frames that are none."""
    left = sorted(found)
    hits = misses = 0
    for boundary in truth:
        slack = CUT_SLACK if boundary.from_frame == boundary.to_frame else SPAN_SLACK
        low, high = boundary.from_frame - slack, boundary.to_frame + slack
        own = [frame for frame in left if low <= frame <= high]
        if own:
            left.remove(own[0])
        hits += bool(own) and not boundary.optional
        misses += not own and not boundary.optional
    return hits, misses, len(left)


def find_ours(smalls: Iterable[npt.NDArray[np.uint8]], rate: Fraction) -> list[int]:
    finder = BoundaryFinder(rate)
    found = [b for index, small in enumerate(smalls) for b in finder.push(index, small)]
    return [b.frame for b in (*found, *finder.finish())]


def find_theirs(frames: Sequence[np.ndarray[Any, Any]], rate: Fraction, detector: Any) -> list[int]:
    from scenedetect import FrameTimecode

    found = []
    for index, frame in enumerate(frames):
        found += detector.process_frame(FrameTimecode(index, float(rate)), frame)
    found += detector.post_process(FrameTimecode(len(frames) - 1, float(rate)))
    return [cut.frame_num for cut in found]


def their_detectors() -> dict[str, Any]:
    from scenedetect import detectors

    names = (
        "ContentDetector", "AdaptiveDetector", "ThresholdDetector", "HistogramDetector",
        "HashDetector",
    )  # fmt: skip
    return {name: getattr(detectors, name) for name in names}


def f1_of(counts: Sequence[int]) -> float:
    hits, misses, false = counts
    return 2 * hits / max(1, 2 * hits + misses + false)


@dataclass(frozen=True, kw_only=True)
class Prepared:
    """A clip as decoded and shrunk, its truth, and what the other detectors say of it."""

    rate: Fraction
    smalls: npt.NDArray[np.uint8]
    truth: tuple[TrueBoundary, ...]
    theirs: dict[str, list[int]]


def prepare(kind: str, seed: int, number: int) -> Prepared:
    """Make a clip, encode and decode it, and let the other detectors search it."""
    clip = make_clip(kind, seed, number)
    coded = list(decode(encode(clip)))
    frames = [frame.to_ndarray(format="bgr24") for frame in coded]
    found = {
        name: find_theirs(frames, clip.rate, make()) for name, make in their_detectors().items()
    }
    smalls = np.stack([shrink(frame) for frame in coded])
    return Prepared(rate=clip.rate, smalls=smalls, truth=clip.truth, theirs=found)


def prepare_once(kind: str, seed: int, number: int, kept: Path | None) -> Prepared:
    """Read what was kept of a clip, or make and keep it."""
    if kept is None:
        return prepare(kind, seed, number)
    path = kept / f"{kind}-{seed}-{number}.pickle"
    if path.exists():
        return cast(Prepared, pickle.loads(path.read_bytes()))
    made = prepare(kind, seed, number)
    kept.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_bytes(pickle.dumps(made))
    part.replace(path)
    return made


Counts = dict[str, dict[str, list[int]]]


def search_all(options: argparse.Namespace) -> Counts:
    """Search the clips of every kind and print the scores; hits, misses, false by kind and name."""
    counts: Counts = defaultdict(lambda: defaultdict(lambda: [0, 0, 0]))
    seconds, looked_at = 0.0, 0
    for kind in KINDS:
        for number in range(options.clips):
            clip = prepare_once(kind, options.seed, number, options.kept)
            start = time.process_time()
            answers = {"framecheck": find_ours(clip.smalls, clip.rate), **clip.theirs}
            seconds, looked_at = seconds + time.process_time() - start, looked_at + len(clip.smalls)
            for name, found in answers.items():
                for place, value in enumerate(tally(clip.truth, found)):
                    counts[kind][name][place] += value
        scores = {name: round(f1_of(c), 3) for name, c in counts[kind].items()}
        print(kind, counts[kind]["framecheck"], scores, flush=True)
    print(
        f"framecheck: {1e3 * seconds / looked_at:.2f} ms of processor a frame, {looked_at} frames"
    )
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=200)
    parser.add_argument("--clips", type=int, default=3)
    parser.add_argument("--json", type=Path, default=None)
    parser.add_argument("--kept", type=Path, default=None, help="only read files of your own here")
    parser.add_argument("--prepare", action="store_true", help="make and keep clips, no search")
    options = parser.parse_args()
    if options.prepare:
        if options.kept is None:
            parser.error("--prepare needs --kept FOLDER")
        for number in range(options.clips):
            for kind in KINDS:
                prepare_once(kind, options.seed, number, options.kept)
        return
    counts = search_all(options)
    if options.json is not None:
        plain = {kind: dict(found) for kind, found in counts.items()}
        options.json.write_text(json.dumps(plain, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
