"""How near the distances are: measured against rendered scenes whose camera is known.

`python -m tests.bench.distance --scenes DIR` measures the scenes in DIR (`render_scenes`
makes them) and prints the error of the distance to the main subject, with its stature known and
unknown.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from framecheck.bench.score import MATCH_HEADS
from framecheck.bench.truth import Frame, middle_px, read_frames
from framecheck.measure.camera_place import locate_camera
from framecheck.records.framing import PersonFraming
from framecheck.records.judged import FrameResult
from framecheck.records.lens import POPULATION, CameraPlace, Lens, Stature


@dataclass(frozen=True)
class Miss:
    """One scene: measured over true distance, and whether the interval held the truth."""

    file: str
    posture: str
    crop_level: float
    known_ratio: float
    unknown_ratio: float
    known_held: bool
    unknown_held: bool
    tilt_error_deg: float
    height_error_m: float


def miss_of(frame: Frame, result: FrameResult) -> Miss | None:
    """The error of one scene, None when its main subject was not found or has no distance."""
    if not frame.people:
        return None
    person = frame.people[0]
    found = match_person(person, result)
    known = _place(found, frame, Stature(mean_m=person["stature_m"])) if found else None
    unknown = _place(found, frame, POPULATION) if found else None
    if found is None or known is None or unknown is None:
        return None
    true_m, camera = person["distance_m"], frame.truth["camera"]
    return Miss(
        file=frame.path.name,
        posture=person["posture"],
        crop_level=person["ruler"]["bottom"],
        known_ratio=known.distance_m.value / true_m,
        unknown_ratio=unknown.distance_m.value / true_m,
        known_held=known.distance_m.low <= true_m <= known.distance_m.high,
        unknown_held=unknown.distance_m.low <= true_m <= unknown.distance_m.high,
        tilt_error_deg=known.tilt_deg.value - camera["pitch_deg"],
        height_error_m=known.over_eyes_m.value + 0.933 * person["stature_m"] - camera["height_m"],
    )


def match_person(person: dict[str, Any], result: FrameResult) -> PersonFraming | None:
    """The found person whose nose is nearest to the true one, None when none is near."""
    nose = middle_px(person, "nose")
    if nose is None:
        return None
    reach_px = MATCH_HEADS * person["ruler"]["head_height_px"]
    near = [p for p in result.measurement.people if math.dist(p.nose_px, nose) <= reach_px]
    return min(near, key=lambda p: math.dist(p.nose_px, nose), default=None)


def _place(found: PersonFraming, frame: Frame, stature: Stature) -> CameraPlace | None:
    lens = Lens(focal_mm=frame.truth["lens_mm"], sensor_wh_mm=tuple(frame.truth["sensor_wh_mm"]))
    place = locate_camera(found, frame.picture, lens, stature)
    return place if isinstance(place, CameraPlace) else None


def figures(misses: list[Miss]) -> dict[str, float]:
    """Median and 90th percentile of the relative error, and how often the intervals held."""
    known = sorted(abs(miss.known_ratio - 1) for miss in misses)
    return {
        "scenes": len(misses),
        "median_error": median(known),
        "p90_error": known[math.ceil(0.9 * len(known)) - 1],
        "bias": median(miss.known_ratio for miss in misses) - 1,
        "held_known": sum(miss.known_held for miss in misses) / len(misses),
        "held_unknown": sum(miss.unknown_held for miss in misses) / len(misses),
        "tilt_median_deg": median(abs(miss.tilt_error_deg) for miss in misses),
        "height_median_m": median(abs(miss.height_error_m) for miss in misses),
    }


def report(frames: list[Frame], results: dict[str, FrameResult]) -> dict[str, Any]:
    """The figures by posture, and the largest misses."""
    found = [miss_of(frame, results[frame.path.name]) for frame in frames if frame.people]
    misses = [miss for miss in found if miss is not None]
    answer: dict[str, Any] = {"subjects": len(found), "told": len(misses)}
    for posture in ("standing", "seated"):
        chosen = [miss for miss in misses if miss.posture == posture]
        if chosen:
            answer[posture] = figures(chosen)
    worst = sorted(misses, key=lambda miss: -abs(math.log(miss.known_ratio)))[:8]
    answer["worst"] = [
        f"{m.file} {m.posture} crop {m.crop_level:.2f} x{m.known_ratio:.2f}" for m in worst
    ]
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
