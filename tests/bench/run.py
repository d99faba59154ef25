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

import cv2
import numpy as np

from framecheck.bench.accuracy import AIMS, read_picture, run_naive, run_ours
from framecheck.bench.groups import by_tag, tag_text, tone_differences, tone_text
from framecheck.bench.naive import whole_view
from framecheck.bench.score import Case, figures
from framecheck.bench.truth import Frame, read_frames
from framecheck.measure.frame import measure_frame
from framecheck.pipeline.measurer import StillMeasurer
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.pose.correction import load_corrector
from framecheck.pose.estimator import MediaPipeEstimator
from framecheck.pose.lookout import open_own_networks
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.pose.one_core import keep_to_one_core
from framecheck.records.picture import Picture

SCENES = Path(__file__).parent / "scenes"


def open_measurer(networks: Networks, weights: str | None) -> StillMeasurer:
    """What measures, with other weights of the corrector if there are any."""
    estimator = MediaPipeEstimator(networks, own=open_own_networks())
    return StillMeasurer(estimator, load_corrector(weights))


def measure_speed(networks: Networks, frames: Sequence[Frame], rounds: int = 3) -> dict[str, float]:
    """Whole measurement over one bare landmark pass with masks, at 1080p, on the same pictures."""
    estimator, corrector = MediaPipeEstimator(networks, own=open_own_networks()), load_corrector()
    keep_to_one_core()  # as each worker of a run does
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
        f"{name:34} {value:10.4f} {naive.get(name, float('nan')):10.4f}  {AIMS.get(name, '')}"
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
        ours_cases = run_ours(frames, open_measurer(networks, weights), judging)
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
