"""Render scenes of a tuning seed and keep what the project's networks learn from.

`python -m models.fit.gather --seed 110 --count 200 --out DIR --seconds 500` renders scene after
scene, measures each as it is and cropped at random heights, and writes `DIR/SEED-N.npz` parts of
two kinds of sample: people (cut-outs beside where their marks really are) and pictures (small
copies beside where a near back and the heads really are). Tuning seeds only (100 to 199).
"""

from __future__ import annotations

import argparse
import math
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from framecheck.measure.corrector import CHAIN, Corrector, features_of, middles_px, stature_px
from framecheck.measure.head import measure_head
from framecheck.measure.person import take_parts
from framecheck.pose.correction import load_corrector
from framecheck.pose.estimator import MediaPipeEstimator
from framecheck.pose.leftovers import known_people
from framecheck.pose.marks import cut_person, person_window, to_cells
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.pose.scout import MAP_PX, scout_layers
from framecheck.pose.views import cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import PersonSeen
from models.fit.make_samples import MATCH_HEADS, crops_of
from sample_frames.stage.plans import Plan, draw_plans
from tests.bench.render_scenes import render_plan
from tests.bench.truth import middle_px

Sample = dict[str, Any]
PART_SCENES = 25


def match(person: PersonSeen, truths: list[dict[str, Any]]) -> dict[str, Any] | None:
    """The true person that a seen one is, by the place of the eyes."""
    eye_px = measure_head(person).eye_px
    for truth in truths:
        eye = middle_px(truth, "eye")
        if eye is not None and (
            math.dist(eye, eye_px) <= MATCH_HEADS * truth["ruler"]["head_height_px"]
        ):
            return truth
    return None


def person_sample(
    person: PersonSeen, truth: dict[str, Any], picture: Picture, corrector: Corrector
) -> Sample | None:
    """What the marks network sees of one person beside what is true; None without a body."""
    points = [middle_px(truth, name) for name in CHAIN]
    parts = take_parts(person, picture.active, corrector)
    if person.body is None or parts is None or any(point is None for point in points):
        return None
    head, raw = measure_head(person), middles_px(person.body)
    unit_px = stature_px(head, raw)
    layers, box = cut_person(
        picture.rgb, picture.active, person.body, person_window(head, person.body, picture.active)
    )
    shifts = [
        (t - r) / unit_px
        for name, point in zip(CHAIN, points, strict=True)
        if point is not None
        for t, r in zip(point, raw[name], strict=True)
    ]
    bottom_px = picture.active.bottom_px
    edge = [(bottom_px - raw[name][1]) / unit_px for name in CHAIN]
    return {
        "layers": layers, "joints": to_cells(person.body.joints_px, box),
        "x": features_of(head, person.body, picture.active), "y": shifts,
        "edge": [*edge, (bottom_px - head.chin_px[1]) / unit_px],
        "scale": math.log(unit_px / box.w_px),
        "crown": (head.eye_px[1] - truth["marks_px"]["head_top"][1]) / unit_px,
        "crown_now": (head.eye_px[1] - parts.head_top_px) / unit_px,
        "crown_from_mask": parts.crown_from_mask,
        "top_edge": (head.eye_px[1] - picture.active.y_px) / unit_px,
        "unit_frac": unit_px / picture.active.h_px,
    }  # fmt: skip


def picture_sample(
    picture: Picture, people: tuple[PersonSeen, ...], networks: Networks,
    back: np.ndarray[Any, Any], truths: list[dict[str, Any]],
) -> Sample:  # fmt: skip
    """What the scout network sees of a picture beside where near backs and heads are."""
    view = cut_view(picture.rgb, picture.active, picture.active, 384)
    anybody = networks.find_anybody(view)
    bodies = [person.body for person in people if person.body is not None]
    faces = [person.face for person in people if person.face is not None]
    known = known_people(bodies, faces, picture.active, view.rgb.shape[1::-1])
    active = picture.active
    heads = []
    for truth in truths:
        eye, chin = middle_px(truth, "eye"), middle_px(truth, "chin")
        top = truth["marks_px"]["head_top"]
        if eye is not None and chin is not None and truth["head_visible_frac"] > 0.05:
            x = ((top[0] + chin[0]) / 2 - active.x_px) / active.w_px
            y = ((top[1] + chin[1]) / 2 - active.y_px) / active.h_px
            heads.append([x, y, truth["ruler"]["head_height_px"] / active.h_px])
    x0, y0, x1, y1 = (
        round(v) for v in (active.x_px, active.y_px, active.right_px, active.bottom_px)
    )
    cut = back[y0:y1, x0:x1].astype(np.float32)
    cells = cv2.resize(cut, (MAP_PX, MAP_PX), interpolation=cv2.INTER_AREA)
    rows = np.full((8, 3), np.nan)
    rows[: len(heads[:8])] = np.array(heads[:8]).reshape(-1, 3)
    return {
        "layers": scout_layers(view, anybody, known),
        "back": np.round(cells * 255).astype(np.uint8), "heads": rows,
    }  # fmt: skip


class Gatherer:
    """Samples so far, and the tools that make them."""

    def __init__(self, networks: Networks) -> None:
        self.networks = networks
        self.estimator = MediaPipeEstimator(networks)
        self.corrector = load_corrector()
        self.people: list[Sample] = []
        self.pictures: list[Sample] = []

    def add_scene(self, plan: Plan, seed: int, crops: int) -> None:
        """Render one scene and sample it, whole and cropped."""
        shot, result = render_plan(plan, seed)
        _, coded = cv2.imencode(".jpg", result.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 85])
        rgb = np.ascontiguousarray(cv2.imdecode(coded, cv2.IMREAD_COLOR)[..., ::-1])
        truths = result.truth["people"]
        x, y, w, h = (round(v) for v in result.truth["picture_xywh_px"])
        back = np.zeros(rgb.shape[:2], dtype=bool)
        back[y : y + h, x : x + w] = np.isin(result.owners, shot.foreground)
        for number, box in enumerate(crops_of(result.truth, crops, seed)):
            picture = Picture(rgb=rgb, active=box)
            seen = self.estimator.see(picture)
            mark = {"scene": seed * 10000 + plan.index, "whole": number == 0, "kind": plan.kind}
            for person in seen:
                if person.body is None:
                    continue
                truth = match(person, truths)
                row = truth and person_sample(person, truth, picture, self.corrector)
                if row:
                    self.people.append({**row, **mark})
            row = picture_sample(picture, seen, self.networks, back, truths)
            self.pictures.append({**row, **mark, "count": len(truths), "found": len(seen)})

    def flush(self, path: Path) -> None:
        """Write what was gathered and start anew."""
        columns = {
            f"{kind}_{key}": np.array([row[key] for row in rows])
            for kind, rows in (("people", self.people), ("pictures", self.pictures))
            for key in (rows[0] if rows else ())
        }
        np.savez(path, **columns)
        self.people, self.pictures = [], []


def read_options() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--crops", type=int, default=3)
    parser.add_argument("--seconds", type=float, default=math.inf)
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args()
    if not 100 <= options.seed < 200:
        parser.error("train on tuning seeds, 100 to 199")
    return options


def main() -> None:
    """Command line entry."""
    options = read_options()
    options.out.mkdir(parents=True, exist_ok=True)
    end = time.monotonic() + options.seconds
    cv2.setNumThreads(1)
    with open_networks(provide_models()) as networks:
        gatherer = Gatherer(networks)
        part = 0
        for done, plan in enumerate(draw_plans(options.seed, options.count, 720), start=1):
            try:
                gatherer.add_scene(plan, options.seed, options.crops)
            except RuntimeError as reason:  # a plan without a layout
                print(reason, flush=True)
            late = time.monotonic() > end
            if done % PART_SCENES == 0 or late or done == options.count:
                gatherer.flush(options.out / f"{options.seed}-{part:03d}.npz")
                part += 1
                print(options.seed, done, flush=True)
            if late:
                break


if __name__ == "__main__":
    main()
