"""How exact crop levels are when they are read again in a delivery frame.

`python -m tests.bench.deliveries --scenes DIR` measures the scenes in DIR, reads each main subject
in several delivery frames, and prints the error of the crop level beside that in the whole picture.
"""

from __future__ import annotations

import argparse
import json
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from framecheck.bench.truth import Frame, read_frames, truth_ruler
from framecheck.classify.delivery import measure_in
from framecheck.geometry.extraction import extract
from framecheck.geometry.ruler import read_bottom_edge
from framecheck.records.delivery import Delivery
from framecheck.records.judged import FrameResult
from framecheck.records.values import Box
from tests.bench.distance import match_person

SHAPES = {
    "whole": None, "2.39": Fraction(239, 100), "16:9": Fraction(16, 9), "1:1": Fraction(1),
    "9:16": Fraction(9, 16),
}  # fmt: skip


def level_error(frame: Frame, result: FrameResult, box: Box) -> float | None:
    """Error of the main subject's crop level in a frame, None where either side has none."""
    found = match_person(frame.people[0], result) if frame.people else None
    ruler = truth_ruler(frame.people[0]) if frame.people else None
    if found is None or ruler is None:
        return None
    inside = measure_in(result.measurement, box).people
    person = next((p for p in inside if p.nose_px == found.nose_px), None)
    if person is None or person.ruler is None or not isinstance(person.crop_level, float):
        return None
    true = read_bottom_edge(ruler, box.bottom_px)
    return None if max(true, person.crop_level) >= 1 else abs(person.crop_level - true)


def report(frames: list[Frame], results: dict[str, FrameResult]) -> dict[str, Any]:
    """Median and 90th percentile of the error in each frame."""
    answer = {}
    for name, aspect in SHAPES.items():
        errors = []
        for frame in frames:
            box = frame.picture
            if aspect is not None:
                box = extract(box, Delivery(name=name, aspect=aspect)).frame
            errors.append(level_error(frame, results[frame.path.name], box))
        known = [error for error in errors if error is not None]
        answer[name] = {
            "read": len(known),
            "median": round(float(np.median(known)), 4),
            "p90": round(float(np.quantile(known, 0.9)), 4),
        }
    return answer


def main(arguments: list[str] | None = None) -> int:
    """Command line entry."""
    import framecheck

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=Path, required=True)
    frames = read_frames(parser.parse_args(arguments).scenes)
    results = {frame.path.name: framecheck.measure_still(frame.path) for frame in frames}
    print(json.dumps(report(frames, results), indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
