"""Measures rendered scenes, ours and naively, and compares both with the truth."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import cast

from framecheck.bench.figures import Figure, Findings
from framecheck.bench.naive import NaiveReading, read_naively
from framecheck.bench.score import BORDER_LEVEL, Case, Found, figures, match_subject
from framecheck.bench.setup import Bench
from framecheck.bench.truth import Frame, is_upright, tags_of, truth_measurement
from framecheck.classify.size import SizeReading, name_size
from framecheck.classify.vocabulary import Vocabulary
from framecheck.measure.posture import judge_facing
from framecheck.media.stills import read_still
from framecheck.pipeline.measurer import Measurer
from framecheck.pipeline.settings import Judging
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.records.framing import FrameMeasurement
from framecheck.records.picture import Picture
from framecheck.records.values import Measured, NotMeasured, PointPx, number_or

JOINT_PARTS = frozenset({"ankle", "mid-calf", "knee"})

AIMS = {
    "subject_found": ">= 0.99",
    "count_right_1_to_3": ">= 0.95",
    "count_within_one_4_to_6": ">= 0.95",
    "crop_level_error_median": "<= 0.010",
    "crop_level_error_p90_upright": "<= 0.035",
    "crop_level_error_p90_bent": "<= 0.06",
    "band_right": ">= 0.95",
    "joint_flag_f1": ">= 0.95",
    "over_shoulder_f1": ">= 0.95",
    "headroom_error_frac_p90": "<= 0.008",
    "yaw_error_deg_median": "<= 6",
    "facing_right": ">= 0.95",
    "pitch_class_right": ">= 0.90",
    "calibration_error": "<= 0.05",
    "sure_rows_right": ">= 0.98",
}


def measure_accuracy(bench: Bench) -> Findings:
    """The accuracy table, the naive baseline beside it.

    Raises:
        ModelError: the models cannot be had.
    """
    measurer = bench.tools.provide_measurer(bench.settings, None)()
    ours = run_ours(bench.frames, measurer, bench.judging, bench.told)
    with open_networks(provide_models(bench.models)) as networks:
        bench.told("the naive baseline")
        naive = figures(run_naive(bench.frames, networks, bench.judging))
    under = f"{len(bench.frames)} scenes ({bench.scenes_mark})"
    return Findings(
        figures=tuple(
            Figure(name=name, value=value, aim=AIMS.get(name, ""), under=under, beside=naive[name])
            for name, value in figures(ours).items()
        )
    )


def read_picture(frame: Frame) -> Picture:
    """The picture of a scene, with its true active part."""
    picture = read_still(frame.path)
    return Picture(rgb=picture.rgb, active=frame.picture, name=frame.path.name)


def run_ours(
    frames: Sequence[Frame],
    measurer: Measurer,
    judging: Judging,
    told: Callable[[str], None] = lambda _said: None,
) -> list[Case]:
    """Every scene as the program measures it."""
    cases = []
    for number, frame in enumerate(frames, start=1):
        told(f"scene {number} of {len(frames)}")
        picture = read_picture(frame)
        start_s = time.perf_counter()
        measured = measurer.measure(picture)
        seconds = time.perf_counter() - start_s
        cases.append(_case(frame, measured, judging, seconds))
    return cases


def _case(frame: Frame, measured: FrameMeasurement, judging: Judging, seconds: float) -> Case:
    true, truth = truth_found(frame, judging)
    heads = [(person.nose_px, 1.0) for person in measured.people]
    return Case(
        name=frame.path.name,
        tags=tags_of(frame.truth),
        truth=true,
        found=found_from(measured, judging, match_subject(true, heads)),
        near_border=near_border(truth, judging.vocabularies[0]),
        seconds=seconds,
        upright=all(is_upright(person) for person in frame.people[:1]),
    )


def truth_found(frame: Frame, judging: Judging) -> tuple[Found, FrameMeasurement]:
    """The truth of a frame, reduced to what is scored, and as a measurement."""
    truth = truth_measurement(frame)
    true = found_from(truth, judging, 0 if truth.people else None)
    true.pitch_deg = frame.truth["camera"]["pitch_deg"]
    return true, truth


def found_from(measurement: FrameMeasurement, judging: Judging, subject: int | None) -> Found:
    """Reduce a measurement to what is scored; `subject` is the person to compare with the truth."""
    judgement = judging.name(measurement)
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
    found.band = band_of(
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


def _number(value: Measured) -> float | None:
    return None if isinstance(value, NotMeasured) else float(value)


def band_of(crop: Measured, top: Measured, figure: Measured, vocabulary: Vocabulary) -> str | None:
    """The size that exact readings have; None without one of them."""
    if isinstance(crop, NotMeasured) or isinstance(top, NotMeasured):
        return None
    if isinstance(figure, NotMeasured):
        return None
    reading = SizeReading(crop_level=crop, top_level=top, figure_frac=figure, error_level=1e-6)
    name = name_size(reading, vocabulary)
    return None if name is None else name.name


def near_border(truth: FrameMeasurement, vocabulary: Vocabulary) -> bool:
    """True when a small change of the true reading would change the true band."""
    if not truth.people:
        return False
    p = truth.people[0]
    crop, top, figure = (number_or(v, 0.0) for v in (p.crop_level, p.top_level, p.figure_frac))
    changes = (
        (0, 0, 0),
        (BORDER_LEVEL, 0, 0),
        (-BORDER_LEVEL, 0, 0),
        (0, BORDER_LEVEL, 0),
        (0, -BORDER_LEVEL, 0),
        (0, 0, 0.05),
        (0, 0, -0.05),
    )
    names = {band_of(crop + dc, top + dt, figure * (1 + df), vocabulary) for dc, dt, df in changes}
    return len(names) > 1


def run_naive(frames: Sequence[Frame], networks: Networks, judging: Judging) -> list[Case]:
    """Every scene by one bare pass of the landmark network, read as it comes."""
    cases = []
    for frame in frames:
        picture = read_picture(frame)
        start_s = time.perf_counter()
        readings = read_naively(networks, picture)
        seconds = time.perf_counter() - start_s
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
    return float("nan") if isinstance(value, tuple) else float(value)


def _fill_naive(found: Found, reading: NaiveReading, judging: Judging) -> None:
    level = _plain_number(reading, "crop_level")
    found.crop_level = level
    found.band = band_of(
        level, 1.01, _plain_number(reading, "figure_frac"), judging.vocabularies[0]
    )
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
