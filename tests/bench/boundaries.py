"""The bench of shot boundaries: F1 by kind, beside the detectors of a general library.

`python -m tests.bench.boundaries --seed 9201 --clips 3` makes clips with known boundaries (see
`boundary_clips`), encodes and decodes them really, and finds boundaries with framecheck and with
the detectors of PySceneDetect at their defaults, on the same frames in the same run
(`pip install --no-deps scenedetect`). Seeds 200 to 299 are for tuning, 9201 and above for reports.
A cut counts when it is found within one frame; a gradual change when the frame found lies in its
span, two frames more on either side. A boundary told twice counts as false the second time.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

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


def find_ours(smalls: Sequence[np.ndarray[Any, Any]], rate: Fraction) -> list[int]:
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


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=200)
    parser.add_argument("--clips", type=int, default=3)
    parser.add_argument("--json", type=Path, default=None)
    options = parser.parse_args()
    theirs = their_detectors()
    counts: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0, 0]))
    seconds, looked_at = 0.0, 0
    for kind in KINDS:
        for number in range(options.clips):
            clip = make_clip(kind, options.seed, number)
            coded = list(decode(encode(clip)))
            smalls = [shrink(frame) for frame in coded]
            start = time.perf_counter()
            answers = {"framecheck": find_ours(smalls, clip.rate)}
            seconds, looked_at = seconds + time.perf_counter() - start, looked_at + len(smalls)
            frames = [frame.to_ndarray(format="bgr24") for frame in coded]
            for name, make in theirs.items():
                answers[name] = find_theirs(frames, clip.rate, make())
            for name, found in answers.items():
                for place, value in enumerate(tally(clip.truth, found)):
                    counts[kind][name][place] += value
        scores = {name: round(f1_of(c), 3) for name, c in counts[kind].items()}
        print(kind, dict(counts[kind])["framecheck"], scores, flush=True)
    print(f"framecheck: {1e3 * seconds / looked_at:.2f} ms a frame, {looked_at} frames")
    if options.json is not None:
        plain = {kind: dict(found) for kind, found in counts.items()}
        options.json.write_text(json.dumps(plain, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
