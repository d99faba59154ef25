"""Score the study of sequences against rendered truth.

`python -m tests.bench.cuts DIR` measures the sequences that `tests.bench.cut_scenes` rendered into
DIR (once; they are kept in a catalog beside them) and prints each figure beside its aim.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.coverage.study import study_sequence
from framecheck.geometry.angles import wrap_deg
from framecheck.pipeline.cuts import sequence_of_files
from framecheck.records.coverage import Cut, CutThresholds, SequenceStudy, Verdict
from framecheck.records.sequence import SequenceShot
from framecheck.records.values import NotMeasured, number_or

NEAR_RATIO = 1.06
"""A cut is not scored for its verdict when its size ratio is nearer to a threshold than this."""
NEAR_DEG = 10.0
"""Or when its angle is nearer to the threshold of angles, and decides."""
PAIR_CLEAR = {"size": 0.06, "eye line": 0.015, "closeness": 4.0, "lens height": 4.0}
"""A pair is scored when each true difference is clear of its limit by this much."""

AIMS = {
    "size_ratio_error_median": "<= 0.05",
    "angle_error_deg_median": "<= 8",
    "verdict_right": ">= 0.95",
    "same_person_right": ">= 0.95",
    "line_f1": ">= 0.95",
    "pair_right": ">= 0.95",
}


@dataclass
class Tally:
    """What is counted over all sequences."""

    size_errors: list[float] = field(default_factory=list)
    angle_errors: list[float] = field(default_factory=list)
    verdicts: list[bool] = field(default_factory=list)
    same: list[bool] = field(default_factory=list)
    same_sure: list[tuple[float, bool]] = field(default_factory=list)
    line: dict[str, int] = field(default_factory=lambda: {"hit": 0, "false": 0, "missed": 0})
    pairs: list[bool] = field(default_factory=list)
    misses: list[str] = field(default_factory=list)
    cuts: int = 0
    sizes_missing: int = 0
    angles_missing: int = 0
    pairs_missing: int = 0


def measure_set(folder: Path) -> Path:
    """Measure the pictures of a set into a catalog beside them; returns it."""
    from framecheck.pipeline.plan import plan_order, real_tools
    from framecheck.pipeline.run import measure_to_tables
    from framecheck.pipeline.settings import Settings
    from framecheck.report.overlay_file import write_overlay

    order = plan_order([str(folder)], folder / "measured", Settings(), real_tools(write_overlay))
    measure_to_tables(order)
    return order.catalog


def read_sequences(
    folder: Path, catalog_path: Path
) -> list[tuple[dict[str, Any], tuple[SequenceShot, ...]]]:
    """The truth of each sequence with its measured shots."""
    document = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    found = []
    with Catalog.open_to_read(catalog_path) as catalog:
        for truth in document["sequences"]:
            files = [(folder / shot["file"], shot["file"]) for shot in truth["shots"]]
            found.append((truth, sequence_of_files(catalog, files).shots))
    return found


def score(
    sequences: Sequence[tuple[dict[str, Any], tuple[SequenceShot, ...]]],
    thresholds: CutThresholds | None = None,
) -> Tally:
    """Study all sequences and compare with the truth."""
    thresholds, tally = thresholds or CutThresholds(), Tally()
    for truth, shots in sequences:
        study = study_sequence(shots, thresholds, name=truth["name"])
        for number, (before, after) in enumerate(pairwise(truth["shots"])):
            _score_cut(tally, study, number, (before, after), thresholds)
        _score_line(tally, study, truth)
        if truth["kind"] == "conversation" and "crossed" not in truth["tags"]:
            _score_pair(tally, study, truth, thresholds)
    return tally


def figures(tally: Tally) -> dict[str, float]:
    """The table's numbers, by name."""
    line = tally.line
    total = 2 * line["hit"] + line["false"] + line["missed"]
    return {
        "cuts": tally.cuts,
        "size_ratio_given": 1 - tally.sizes_missing / max(1, tally.cuts),
        "size_ratio_error_median": float(np.median(tally.size_errors)),
        "size_ratio_error_p90": float(np.quantile(tally.size_errors, 0.9)),
        "angle_missing": tally.angles_missing,
        "angle_error_deg_median": float(np.median(tally.angle_errors)),
        "angle_error_deg_p90": float(np.quantile(tally.angle_errors, 0.9)),
        "verdicts": len(tally.verdicts),
        "verdict_right": float(np.mean(tally.verdicts)),
        "same_person_right": float(np.mean(tally.same)),
        "same_sure_right": _sure_right(tally),
        "line_crossings": line["hit"] + line["missed"],
        "line_f1": 2 * line["hit"] / total if total else math.nan,
        "pairs": len(tally.pairs),
        "pairs_missing": tally.pairs_missing,
        "pair_right": float(np.mean(tally.pairs)),
    }


def _sure_right(tally: Tally) -> float:
    """How many are right of those that are told with 90 % and more."""
    sure = [right for confidence, right in tally.same_sure if confidence >= 0.9]
    return float(np.mean(sure)) if sure else math.nan


def _main(shot: dict[str, Any]) -> dict[str, Any]:
    return dict(shot["people"][0])


def true_ratio(before: dict[str, Any], after: dict[str, Any]) -> float:
    """True ratio of the head heights of the main subjects, over their pictures."""
    sizes = [
        _main(shot)["ruler"]["head_height_px"] / shot["picture_xywh_px"][3]
        for shot in (before, after)
    ]
    return float(sizes[1] / sizes[0])


def true_angle_deg(before: dict[str, Any], after: dict[str, Any]) -> float:
    """True turn of the camera round the person, 0..180."""
    return abs(wrap_deg(after["camera_bearing_deg"] - before["camera_bearing_deg"]))


def true_verdict(ratio: float, angle_deg: float, *, same: bool, limits: CutThresholds) -> Verdict:
    """What ought to be said of a cut."""
    factor = max(ratio, 1 / ratio)
    if factor >= limits.size_ratio_large:
        return Verdict.VERY_LARGE
    if same and factor < limits.size_ratio_min and angle_deg < limits.angle_min_deg:
        return Verdict.TOO_SIMILAR
    return Verdict.COMFORTABLE


def is_clear(ratio: float, angle_deg: float, *, same: bool, limits: CutThresholds) -> bool:
    """True when no threshold that decides is near."""
    factor = max(ratio, 1 / ratio)
    if abs(math.log(factor / limits.size_ratio_large)) < math.log(NEAR_RATIO):
        return False
    if not same:
        return True
    if abs(math.log(factor / limits.size_ratio_min)) < math.log(NEAR_RATIO):
        return angle_deg > limits.angle_min_deg + NEAR_DEG
    return factor > limits.size_ratio_min or abs(angle_deg - limits.angle_min_deg) > NEAR_DEG


def _score_cut(
    tally: Tally,
    study: SequenceStudy,
    number: int,
    sides: tuple[dict[str, Any], dict[str, Any]],
    limits: CutThresholds,
) -> None:
    cut, (before, after) = study.cuts[number], sides
    same = before["who"][0] == after["who"][0]
    ratio, angle = true_ratio(before, after), true_angle_deg(before, after)
    name = f"{study.name} cut {number}"
    tally.cuts += 1
    _score_size(tally, cut, ratio, name)
    _score_same(tally, cut, same=same, name=name)
    if same:
        _score_angle(tally, cut, angle, name)
    if is_clear(ratio, angle, same=same, limits=limits):
        wanted = true_verdict(ratio, angle, same=same, limits=limits)
        tally.verdicts.append(cut.verdict is wanted)
        if cut.verdict is not wanted:
            tally.misses.append(f"{name}: {cut.verdict.value} ({cut.why}), true {wanted.value}")


def _score_size(tally: Tally, cut: Cut, ratio: float, name: str) -> None:
    if isinstance(cut.size_ratio, NotMeasured):
        tally.sizes_missing += 1
        return
    error = abs(cut.size_ratio / ratio - 1)
    tally.size_errors.append(error)
    if error > 0.2:
        tally.misses.append(f"{name}: size {cut.size_ratio:.2f}, true {ratio:.2f}")


def _score_same(tally: Tally, cut: Cut, *, same: bool, name: str) -> None:
    right = cut.likeness.same is same
    tally.same.append(right)
    tally.same_sure.append((cut.likeness.confidence, right))
    if not right:
        told = f"{cut.likeness.same} {cut.likeness.confidence:.2f}"
        tally.misses.append(f"{name}: same {told}, true {same}; {cut.likeness.why}")


def _score_angle(tally: Tally, cut: Cut, angle_deg: float, name: str) -> None:
    """An angle is not given where the two are taken for different people."""
    if isinstance(cut.angle_deg, NotMeasured):
        tally.angles_missing += 1
        return
    error = abs(cut.angle_deg - angle_deg)
    tally.angle_errors.append(error)
    if error > 20:
        tally.misses.append(f"{name}: angle {cut.angle_deg:.0f}, true {angle_deg:.0f}")


def _score_line(tally: Tally, study: SequenceStudy, truth: dict[str, Any]) -> None:
    """Crossings count in conversations only: a pair of shots tells nothing about a line."""
    if truth["kind"] != "conversation":
        false = sum(cut.line_crossed for cut in study.cuts)
        tally.line["false"] += false
        return
    for cut, (before, after) in zip(study.cuts, pairwise(truth["shots"]), strict=True):
        crossed = before["camera_side"] != after["camera_side"]
        if crossed and cut.line_crossed:
            tally.line["hit"] += 1
        elif crossed or cut.line_crossed:
            tally.line["missed" if crossed else "false"] += 1
            word = "missed" if crossed else "false"
            tally.misses.append(f"{study.name} cut {cut.cut}: crossing {word}; {cut.line_why}")


def true_differences(one: dict[str, Any], other: dict[str, Any]) -> dict[str, float]:
    """How two sides of a conversation truly differ, by the names that pairs use."""
    heads = [_main(shot) for shot in (one, other)]
    eyes = []
    for shot, head in zip((one, other), heads, strict=True):
        marks = head["marks_px"]
        y = (marks["eye_left"][1] + marks["eye_right"][1]) / 2
        eyes.append((y - shot["picture_xywh_px"][1]) / shot["picture_xywh_px"][3])
    yaws = [abs(head["head_yaw_deg"]) for head in heads]
    pitches = [head["head_pitch_deg"] for head in heads]
    return {
        "size": true_ratio(one, other),
        "eye line": eyes[1] - eyes[0],
        "closeness": yaws[1] - yaws[0],
        "lens height": pitches[1] - pitches[0],
    }


def _score_pair(
    tally: Tally, study: SequenceStudy, truth: dict[str, Any], limits: CutThresholds
) -> None:
    """Each measure that can be made to differ, and is clear of its limit, is one decision."""
    true = true_differences(truth["shots"][0], truth["shots"][1])
    allowed = {
        "size": limits.pair_size_ratio,
        "eye line": limits.pair_eye_line_frac,
        "closeness": limits.pair_closeness_deg,
        "lens height": limits.pair_lens_height_deg,
    }
    pair = next((pair for pair in study.pairs if pair.person_one != pair.person_other), None)
    if pair is None:
        tally.pairs_missing += 1
        tally.pairs.append(False)
        tally.misses.append(f"{study.name}: no pair found ({truth['fault'] or 'matched'})")
        return
    found = {measure.name: measure for measure in pair.measures}
    wanted = {}
    for name, value in true.items():
        size = max(value, 1 / value) if name == "size" else abs(value)
        if abs(size - allowed[name]) > PAIR_CLEAR[name]:
            wanted[name] = size <= allowed[name]
    wrong = [name for name, matches in wanted.items() if found[name].matches is not matches]
    # The pair as a whole: found not to match where something is clearly off, else to match.
    clear = len(wanted) == len(true) or not all(wanted.values())
    if clear:
        off = not all(wanted.values())
        said = any(found[name].matches is False for name in true)
        tally.pairs.append(said is off)
        if said is not off:
            told = [
                f"{n} {number_or(found[n].difference, math.nan):.2f}/{true[n]:.2f}" for n in true
            ]
            tally.misses.append(
                f"{study.name}: pair {'off' if off else 'fine'}, told otherwise: {', '.join(told)}"
            )
    if wrong:
        told = [f"{n} {number_or(found[n].difference, math.nan):.2f}/{true[n]:.2f}" for n in wrong]
        tally.misses.append(f"{study.name}: pair measure wrong (told/true): {', '.join(told)}")


def main(arguments: list[str] | None = None) -> int:
    """Command line entry."""
    parser = argparse.ArgumentParser(description="Score the study of sequences.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--causes", action="store_true", help="list every miss")
    options = parser.parse_args(arguments)
    catalog = options.folder / "measured" / CATALOG_NAME
    if not catalog.exists():
        catalog = measure_set(options.folder)
    tally = score(read_sequences(options.folder, catalog))
    for name, value in figures(tally).items():
        print(f"{name:28} {value:10.4f}  {AIMS.get(name, '')}")
    if options.causes:
        print(*tally.misses, sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
