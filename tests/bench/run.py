"""The truth bench: measure rendered scenes, compare with exact truth, print the table.

`python -m tests.bench.run` runs the held-out scenes kept in the repository; `--scenes DIR` any
folder made by `tests.bench.render_scenes`, plain or hard; `--tags` prints the figures by tag as
well. Beside each figure stands the naive baseline: one pass of the landmark network, read as it
comes.
"""

from __future__ import annotations

import argparse
import json
import platform
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import cast

import cv2
import numpy as np

from framecheck.classify.size import SizeReading, name_size
from framecheck.classify.vocabulary import Vocabulary
from framecheck.measure.corrector import Corrector
from framecheck.measure.frame import measure_frame
from framecheck.measure.posture import judge_facing
from framecheck.pipeline.settings import Judging, Settings, load_judging
from framecheck.pose.correction import load_corrector
from framecheck.pose.estimator import MediaPipeEstimator, open_own_networks
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.records.framing import FrameMeasurement
from framecheck.records.picture import Picture
from framecheck.records.values import Measured, NotMeasured, PointPx, number_or
from tests.bench.groups import by_tag, tag_text, tone_differences, tone_text
from tests.bench.naive import NaiveReading, read_naively, whole_view
from tests.bench.score import BORDER_LEVEL, Case, Found, figures, match_subject
from tests.bench.truth import Frame, is_upright, read_frames, tags_of, truth_measurement

SCENES = Path(__file__).parent / "scenes"
JOINT_PARTS = frozenset({"ankle", "mid-calf", "knee"})
TARGETS = {
    "subject_found": ">= 0.99", "count_right_1_to_3": ">= 0.95",
    "count_within_one_4_to_6": ">= 0.95", "crop_level_error_median": "<= 0.010",
    "crop_level_error_p90_upright": "<= 0.035", "crop_level_error_p90_bent": "<= 0.06",
    "band_right": ">= 0.95", "joint_flag_f1": ">= 0.95", "over_shoulder_f1": ">= 0.95",
    "headroom_error_frac_p90": "<= 0.008", "yaw_error_deg_median": "<= 6",
    "facing_right": ">= 0.95", "pitch_class_right": ">= 0.90", "calibration_error": "<= 0.05",
    "sure_rows_right": ">= 0.98",
}  # fmt: skip


def read_picture(frame: Frame) -> Picture:
    bgr = cv2.imread(str(frame.path))
    assert bgr is not None, f"{frame.path} cannot be read"
    return Picture(
        rgb=np.ascontiguousarray(bgr[:, :, ::-1]), active=frame.picture, name=frame.path.name
    )


def found_from(measurement: FrameMeasurement, judging: Judging, subject: int | None) -> Found:
    """Reduce a measurement to what is scored; `subject` is the person to compare with the truth."""
    judgement = judging.judge(measurement)
    heads = [
        (person.nose_px, number_or(person.head_height_px, 1.0)) for person in measurement.people
    ]
    found = Found(heads=heads, shot_type=judgement.shot_type.value, subject_rank=subject)
    found.pitch_deg = found_pitch(measurement)
    if judgement.sizes:
        found.row_size = judgement.sizes[0].name
        found.row_confidence = judgement.sizes[0].confidence
    if subject is None:
        return found
    person = measurement.people[subject]
    found.crop_level = _number(person.crop_level)
    found.band = _band(
        person.crop_level, person.top_level, person.figure_frac, judging.vocabularies[0]
    )
    found.flags = frozenset(
        flag.part for flag in judgement.flags if flag.person == subject and flag.part in JOINT_PARTS
    )
    found.headroom_frac = _number(person.headroom_frac)
    found.head_yaw_deg = _number(person.head_yaw_deg)
    found.facing = None if person.facing is None else person.facing.value
    return found


def found_pitch(measurement: FrameMeasurement) -> float | None:
    """What the measurement says of the camera's pitch, + looks up; None where it says nothing."""
    value = getattr(measurement, "camera_pitch_deg", None)
    return None if value is None or isinstance(value, NotMeasured) else float(value)


def truth_found(frame: Frame, judging: Judging) -> tuple[Found, FrameMeasurement]:
    """The truth of a frame, reduced to what is scored, and as a measurement."""
    truth = truth_measurement(frame)
    true = found_from(truth, judging, 0 if truth.people else None)
    true.pitch_deg = frame.truth["camera"]["pitch_deg"]
    return true, truth


def _number(value: Measured) -> float | None:
    return None if isinstance(value, NotMeasured) else float(value)


def _band(crop: object, top: object, figure: object, vocabulary: Vocabulary) -> str | None:
    if isinstance(crop, float) and isinstance(top, float) and isinstance(figure, float):
        reading = SizeReading(crop_level=crop, top_level=top, figure_frac=figure, error_level=1e-6)
        name = name_size(reading, vocabulary)
        return None if name is None else name.name
    return None


def near_border(truth: FrameMeasurement, vocabulary: Vocabulary) -> bool:
    """True when a small change of the true reading would change the true band."""
    if not truth.people:
        return False
    p = truth.people[0]
    crop, top, figure = (number_or(v, 0.0) for v in (p.crop_level, p.top_level, p.figure_frac))
    names = {
        _band(crop + dc, top + dt, figure * (1 + df), vocabulary)
        for dc, dt, df in (
            (0, 0, 0), (BORDER_LEVEL, 0, 0), (-BORDER_LEVEL, 0, 0), (0, BORDER_LEVEL, 0),
            (0, -BORDER_LEVEL, 0), (0, 0, 0.05), (0, 0, -0.05),
        )
    }  # fmt: skip
    return len(names) > 1


def run_ours(
    frames: Sequence[Frame], networks: Networks, judging: Judging, corrector: Corrector
) -> list[Case]:
    estimator = MediaPipeEstimator(networks, own=open_own_networks())
    return [_case(frame, estimator, corrector, judging) for frame in frames]


def _case(
    frame: Frame, estimator: MediaPipeEstimator, corrector: Corrector, judging: Judging
) -> Case:
    picture = read_picture(frame)
    start = time.perf_counter()
    seen = estimator.see(picture)
    height, width = picture.rgb.shape[:2]
    measured = measure_frame((width, height), picture.active, seen, corrector)
    seconds = time.perf_counter() - start
    true, truth = truth_found(frame, judging)
    heads = [(p.nose_px, 1.0) for p in measured.people]
    found = found_from(measured, judging, match_subject(true, heads))
    return Case(
        name=frame.path.name, tags=tags_of(frame.truth), truth=true, found=found,
        near_border=near_border(truth, judging.vocabularies[0]), seconds=seconds,
        upright=all(is_upright(person) for person in frame.people[:1]),
    )  # fmt: skip


def run_naive(frames: Sequence[Frame], networks: Networks, judging: Judging) -> list[Case]:
    cases = []
    for frame in frames:
        picture = read_picture(frame)
        start = time.perf_counter()
        readings = read_naively(networks, picture)
        seconds = time.perf_counter() - start
        true, truth = truth_found(frame, judging)
        heads = [(cast("PointPx", r["eye"]), _plain_number(r, "head_height_px")) for r in readings]
        rank = match_subject(true, heads)
        found = Found(heads=heads, shot_type=_naive_type(len(readings)), subject_rank=rank)
        if rank is not None:
            _fill_naive(found, readings[rank], judging)
        cases.append(
            Case(
                name=frame.path.name,
                tags=tags_of(frame.truth),
                truth=true,
                found=found,
                near_border=near_border(truth, judging.vocabularies[0]),
                seconds=seconds,
                upright=all(is_upright(person) for person in frame.people[:1]),
            )
        )
    return cases


def _plain_number(reading: NaiveReading, name: str) -> float:
    value = reading[name]
    assert not isinstance(value, tuple), name
    return float(value)


def _fill_naive(found: Found, reading: NaiveReading, judging: Judging) -> None:
    level = _plain_number(reading, "crop_level")
    found.crop_level = level
    found.band = _band(level, 1.01, _plain_number(reading, "figure_frac"), judging.vocabularies[0])
    t = judging.thresholds
    zones = {
        "ankle": (t.ankle_from_level, t.ankle_to_level),
        "mid-calf": (t.mid_calf_from_level, t.mid_calf_to_level),
        "knee": (t.knee_from_level, t.knee_to_level),
    }
    hit = next((part for part, (low, high) in zones.items() if low <= level <= high), None)
    found.flags = frozenset({hit} if hit else ())
    found.headroom_frac = _plain_number(reading, "headroom_frac")
    found.head_yaw_deg = _plain_number(reading, "head_yaw_deg")
    found.facing = judge_facing(_plain_number(reading, "head_yaw_deg")).value


def _naive_type(count: int) -> str:
    return {0: "no people", 1: "single", 2: "two", 3: "three"}.get(count, "group")


def measure_speed(networks: Networks, frames: Sequence[Frame], rounds: int = 3) -> dict[str, float]:
    """Whole measurement over one bare landmark pass with masks, at 1080p, on the same pictures."""
    estimator, corrector = MediaPipeEstimator(networks, own=open_own_networks()), load_corrector()
    chosen = [f for f in frames if 1 <= len(f.people) <= 2][:: max(1, len(frames) // 24)][:24]
    bare_s, whole_s = [], []
    for frame in chosen:
        picture = _at_1080p(read_picture(frame))
        for _ in range(rounds):
            start = time.perf_counter()
            networks.find_bodies(whole_view(picture), "bare")
            middle = time.perf_counter()
            seen = estimator.see(picture)
            measure_frame(picture.rgb.shape[1::-1], picture.active, seen, corrector)
            bare_s.append(middle - start)
            whole_s.append(time.perf_counter() - middle)
    ratios = np.array(whole_s) / np.array(bare_s)
    return {
        "pictures": len(chosen), "bare_ms_mean": 1e3 * float(np.mean(bare_s)),
        "whole_ms_mean": 1e3 * float(np.mean(whole_s)),
        "ratio_of_means": float(np.mean(whole_s) / np.mean(bare_s)),
        "ratio_median": float(np.median(ratios)), "ratio_p90": float(np.quantile(ratios, 0.9)),
    }  # fmt: skip


def _at_1080p(picture: Picture) -> Picture:
    scale = 1080 / picture.rgb.shape[0]
    rgb = cv2.resize(picture.rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    a = picture.active
    active = type(a)(
        x_px=a.x_px * scale, y_px=a.y_px * scale, w_px=a.w_px * scale, h_px=a.h_px * scale
    )
    return Picture(rgb=rgb, active=active, name=picture.name)


def table_text(ours: dict[str, float], naive: dict[str, float]) -> str:
    rows = [f"{'figure':34} {'framecheck':>10} {'naive':>10}  to reach"]
    rows += [
        f"{name:34} {value:10.4f} {naive.get(name, float('nan')):10.4f}  {TARGETS.get(name, '')}"
        for name, value in ours.items()
    ]
    return "\n".join(rows)


def worst_text(cases: Sequence[Case], count: int) -> str:
    """The worst frames by crop level, and every frame with a miss, for a table of causes."""
    rows = []
    for case in cases:
        t, f = case.truth, case.found
        error = abs((f.crop_level or 0) - (t.crop_level or 0)) if t.heads else 0.0
        rows.append((error + (1.0 if f.subject_rank is None and t.heads else 0.0), case))
    rows.sort(key=lambda row: -row[0])
    return "\n".join(
        f"{case.name} {error:.3f} true {case.truth.crop_level} found {case.found.crop_level} "
        f"people {len(case.truth.heads)}/{len(case.found.heads)} "
        f"{case.truth.band}/{case.found.band} "
        f"{','.join(case.tags)}"
        for error, case in rows[:count]
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=Path, default=SCENES, help="folder with truth.json")
    parser.add_argument("--models", type=Path, default=None, help="model files, if not cached")
    parser.add_argument("--json", type=Path, default=None, help="write the figures here as well")
    parser.add_argument(
        "--correction", type=Path, default=None, help="other weights of the corrector"
    )
    parser.add_argument("--worst", type=int, default=0, help="list this many worst frames")
    parser.add_argument("--no-speed", action="store_true")
    parser.add_argument("--tags", action="store_true", help="the figures by tag as well")
    arguments = parser.parse_args()
    frames = read_frames(arguments.scenes)
    judging = load_judging(Settings())
    with open_networks(provide_models(arguments.models)) as networks:
        weights = arguments.correction and arguments.correction.read_text("utf-8")
        ours_cases = run_ours(frames, networks, judging, load_corrector(weights))
        naive_cases = run_naive(frames, networks, judging)
        ours, naive = figures(ours_cases), figures(naive_cases)
        speed = {} if arguments.no_speed else measure_speed(networks, frames)
    tables = Tables(
        ours=ours, naive=naive, speed=speed, by_tag=by_tag(ours_cases),
        naive_by_tag=by_tag(naive_cases),
    )  # fmt: skip
    print_tables(tables, tags=arguments.tags)
    if arguments.worst:
        print(worst_text(ours_cases, arguments.worst))
    if arguments.json:
        document = {
            **machine(), **document_of(tables), "scenes": arguments.scenes.name,
            "cases": [asdict(case) for case in ours_cases],
        }  # fmt: skip
        text = json.dumps(document, indent=1, sort_keys=True, default=_plain)
        arguments.json.write_text(text, encoding="utf-8")


@dataclass(frozen=True)
class Tables:
    """All figures of one run."""

    ours: dict[str, float]
    naive: dict[str, float]
    speed: dict[str, float]
    by_tag: dict[str, dict[str, float]]
    naive_by_tag: dict[str, dict[str, float]]


def print_tables(tables: Tables, *, tags: bool) -> None:
    print(table_text(tables.ours, tables.naive))
    for name, value in tables.speed.items():
        aim = "            <= 2.5" if name == "ratio_of_means" else ""
        print(f"{'speed_' + name:34} {value:10.3f}{aim}")
    if tags:
        print("\nby tag: framecheck / naive\n" + tag_text(tables.by_tag, tables.naive_by_tag))
    if tone_differences(tables.by_tag):
        print("\nby skin tone: share, distance to the tones' mean in points")
        print(tone_text(tables.by_tag))


def machine() -> dict[str, str]:
    return {
        "machine": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(), "mediapipe": version("mediapipe"),
    }  # fmt: skip


def document_of(tables: Tables) -> dict[str, object]:
    return {
        "framecheck": tables.ours, "naive": tables.naive, "speed": tables.speed,
        "by_tag": tables.by_tag, "tone_differences": tone_differences(tables.by_tag),
    }  # fmt: skip


def _plain(value: object) -> object:
    if isinstance(value, (frozenset, set)):
        return sorted(value)
    return float(value) if isinstance(value, np.floating) else str(value)


if __name__ == "__main__":
    main()
