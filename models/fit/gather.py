"""Render scenes of a tuning seed and keep what the project's networks learn from.

`python -m models.fit.gather --seed 1010 --count 200 --out DIR --seconds 500` renders scene after
scene, measures each as it is and cropped at random heights, and writes `DIR/SEED-N.npz` parts of
two kinds of sample: people (cut-outs beside where their marks really are, and cut-outs of what was
taken for somebody and is nobody) and pictures (small copies beside where a near back and the heads
really are). Seeds of their own (1000 to 1999); `--family hard` draws the hard scenes, `--views`
draws each from other places too.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, cast

import cv2
import numpy as np

from framecheck.bench.truth import middle_px
from framecheck.measure.corrector import CHAIN, Corrector, features_of, middles_px, stature_px
from framecheck.measure.head import measure_head
from framecheck.measure.person import take_parts
from framecheck.pose.correction import load_corrector
from framecheck.pose.estimator import MediaPipeEstimator, OwnNetworks
from framecheck.pose.leftovers import known_people
from framecheck.pose.marks import cut_person, person_window, to_cells
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.pose.scout import MAP_PX, HeadHint, Scout, Sighting, scout_layers
from framecheck.pose.views import View, cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import BodySeen, FaceSeen, MarksSeen, MaskSeen, PersonSeen
from models.fit.make_samples import MATCH_HEADS, crops_of
from models.fit.variants import other_views
from sample_frames.stage.hard_plans import draw_hard_plans
from sample_frames.stage.plans import Plan, draw_plans
from sample_frames.stage.scenes import Result, Shot
from tests.bench.render_scenes import render_plan

Sample = dict[str, Any]
PART_SCENES = 25
FAMILIES = {"plain": draw_plans, "hard": draw_hard_plans}
TOLD_HEADS = 0.85
"""Share of the true heads that the knowing scout tells."""

MOST_OWNED = 0.15
"""Most of a figure's mask that may lie on people for it to be called nobody."""


class KnowingScout:
    """Stands in for the scout, which is not trained yet: knows the heads, tells most of them.

    So the marks network meets those people too whom only a look at a hinted head finds.
    """

    def __init__(self, truths: list[dict[str, Any]], seed: int) -> None:
        self._truths = truths
        self._seed = seed

    def look(self, view: View, *_: MaskSeen | Sequence[BodySeen] | Sequence[FaceSeen]) -> Sighting:
        """Hints near the true heads."""
        rng = np.random.default_rng(self._seed)
        hints = []
        for truth in self._truths:
            chin, top = middle_px(truth, "chin"), truth["marks_px"]["head_top"]
            shift, size, told = rng.normal(0, 0.1, 2), rng.normal(0, 0.15), rng.random()
            if chin is None or truth["head_visible_frac"] < 0.1 or told > TOLD_HEADS:
                continue
            height_px = truth["ruler"]["head_height_px"] * math.exp(size)
            x = (top[0] + chin[0]) / 2 + shift[0] * height_px
            y = (top[1] + chin[1]) / 2 + shift[1] * height_px
            if view.box.x_px <= x <= view.box.right_px and view.box.y_px <= y <= view.box.bottom_px:
                hints.append(HeadHint(centre_px=(x, y), height_px=height_px, belief=0.9))
        return Sighting(heads=tuple(hints))


class NoMarks:
    """Stands in for the marks network, which is not trained yet."""

    def look(self, *_: Picture | PersonSeen) -> MarksSeen | None:
        """Nothing."""
        return None


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


def shown(person: PersonSeen, picture: Picture) -> Sample:
    """What the marks network sees of a figure with a body, and the measures of the cut-out."""
    assert person.body is not None
    head, raw = measure_head(person), middles_px(person.body)
    unit_px = stature_px(head, raw)
    layers, box = cut_person(
        picture.rgb, picture.active, person.body, person_window(head, person.body, picture.active)
    )
    bottom_px = picture.active.bottom_px
    edge = [(bottom_px - raw[name][1]) / unit_px for name in CHAIN]
    return {
        "box": box, "unit_px": unit_px, "eye_y_px": head.eye_px[1], "raw": raw,
        "layers": layers, "joints": to_cells(person.body.joints_px, box),
        "x": features_of(head, person.body, picture.active),
        "edge": [*edge, (bottom_px - head.chin_px[1]) / unit_px],
        "scale": math.log(unit_px / box.w_px),
        "top_edge": (head.eye_px[1] - picture.active.y_px) / unit_px,
        "unit_frac": unit_px / picture.active.h_px, "face": head.eye_to_chin_px / unit_px,
    }  # fmt: skip


def person_sample(
    person: PersonSeen, truth: dict[str, Any], picture: Picture, corrector: Corrector
) -> Sample | None:
    """What the marks network sees of one person beside what is true; None without a body."""
    points = [middle_px(truth, name) for name in CHAIN]
    parts = take_parts(person, picture.active, corrector)
    if person.body is None or parts is None or any(point is None for point in points):
        return None
    seen = shown(person, picture)
    box, unit_px, eye_y_px, raw = (seen.pop(k) for k in ("box", "unit_px", "eye_y_px", "raw"))
    shifts = [
        (t - r) / unit_px
        for name, point in zip(CHAIN, points, strict=True)
        if point is not None
        for t, r in zip(point, raw[name], strict=True)
    ]
    return {
        **seen, "sides": to_cells(sides_px(truth), box), "y": shifts,
        "crown": (eye_y_px - truth["marks_px"]["head_top"][1]) / unit_px,
        "crown_now": (eye_y_px - parts.head_top_px) / unit_px,
        "crown_from_mask": parts.crown_from_mask,
        "yaw_deg": truth["head_yaw_deg"], "body_yaw_deg": body_yaw_deg(truth),
        "head_frac": truth["head_visible_frac"], "real": True,
    }  # fmt: skip


def nobody_sample(person: PersonSeen, picture: Picture) -> Sample:
    """What the marks network sees of a figure that is nobody; what is not true of it is zero."""
    seen = shown(person, picture)
    for key in ("box", "unit_px", "eye_y_px", "raw"):
        del seen[key]
    zeros = dict.fromkeys(("crown", "crown_now", "yaw_deg", "body_yaw_deg", "head_frac"), 0.0)
    return {
        **seen, **zeros, "sides": np.full((2 * len(CHAIN), 2), -1.0),
        "y": [0.0] * (2 * len(CHAIN)), "crown_from_mask": False, "real": False,
    }  # fmt: skip


def is_nobody(person: PersonSeen, owned: np.ndarray[Any, Any]) -> bool:
    """True when hardly any of a figure's mask lies on people.

    Args:
        person: the figure.
        owned: (rows, columns) of the file, True on people.
    """
    if person.body is None:
        return False
    mask = person.body.mask
    rows, columns = np.nonzero(mask.inside > 127)
    if len(rows) == 0:
        return False
    high, wide = mask.inside.shape
    x = (mask.box.x_px + (columns + 0.5) * mask.box.w_px / wide).astype(int)
    y = (mask.box.y_px + (rows + 0.5) * mask.box.h_px / high).astype(int)
    held = (x >= 0) & (y >= 0) & (x < owned.shape[1]) & (y < owned.shape[0])
    return bool(held.any()) and float(owned[y[held], x[held]].mean()) < MOST_OWNED


def sides_px(truth: dict[str, Any]) -> np.ndarray[Any, Any]:
    """Left and right of each mark of the chain, (10, 2)."""
    names = [f"{name}_{side}" for name in CHAIN for side in ("left", "right")]
    return np.array([truth["marks_px"][name] for name in names], dtype=np.float64)


def body_yaw_deg(truth: dict[str, Any]) -> float:
    """Where the chest points, from the line across the shoulders: 0 to the lens, as for heads."""
    left, right = (truth["marks_m"][f"shoulder_{side}"] for side in ("left", "right"))
    # The chest's normal in the ground plane of the camera: across (subject's left minus right)
    # turned by a right angle; x right, z away.
    across_x, across_z = left[0] - right[0], left[2] - right[2]
    return math.degrees(math.atan2(across_z, across_x))


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
        self.corrector = load_corrector()
        self.people: list[Sample] = []
        self.pictures: list[Sample] = []

    def add_scene(self, plan: Plan, seed: int, crops: int, views: int) -> None:
        """Render one scene from one or more places and sample each, whole and cropped."""
        shot, result = render_plan(plan, seed)
        self.add_view(shot, result, (seed, plan.index, 0), crops)
        rng = np.random.default_rng([seed, plan.index, 99])
        for number, view in enumerate(other_views(shot, views, rng), start=1):
            self.add_view(*view, (seed, plan.index, number), crops)

    def add_view(self, shot: Shot, result: Result, key: tuple[int, int, int], crops: int) -> None:
        """Sample one picture, whole and cropped."""
        seed, index, view = key
        _, coded = cv2.imencode(".jpg", result.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 85])
        rgb = np.ascontiguousarray(cv2.imdecode(coded, cv2.IMREAD_COLOR)[..., ::-1])
        truths, pitch_deg = result.truth["people"], result.truth["camera"]["pitch_deg"]
        x, y, w, h = (round(v) for v in result.truth["picture_xywh_px"])
        back, owned = np.zeros(rgb.shape[:2], dtype=bool), np.zeros(rgb.shape[:2], dtype=bool)
        back[y : y + h, x : x + w] = np.isin(result.owners, shot.foreground)
        owned[y : y + h, x : x + w] = result.owners >= 0
        scout = KnowingScout(truths, seed * 100 + index + view)
        own = OwnNetworks(marks=cast(Any, NoMarks()), scout=cast(Scout, scout))
        estimator = MediaPipeEstimator(self.networks, own=own)
        for number, box in enumerate(crops_of(result.truth, crops, seed + 7919 * view)):
            picture = Picture(rgb=rgb, active=box)
            seen = estimator.see(picture)
            mark = {
                "scene": seed * 10000 + index,
                "whole": number == 0,
                "kind": shot.kind,
                "hard": "hard" in shot.tags,
            }
            for person in seen:
                row = self.person_row(person, truths, picture, owned)
                if row:
                    self.people.append({**row, **mark, "pitch_deg": pitch_deg})
            row = picture_sample(picture, seen, self.networks, back, truths)
            self.pictures.append({**row, **mark, "count": len(truths), "found": len(seen)})

    def person_row(
        self, person: PersonSeen, truths: list[dict[str, Any]], picture: Picture,
        owned: np.ndarray[Any, Any],
    ) -> Sample | None:  # fmt: skip
        """The sample of somebody, or of a figure that is nobody."""
        if person.body is None:
            return None
        truth = match(person, truths)
        if truth is not None:
            return person_sample(person, truth, picture, self.corrector)
        return nobody_sample(person, picture) if is_nobody(person, owned) else None

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
    parser.add_argument("--family", choices=sorted(FAMILIES), default="plain")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--crops", type=int, default=3)
    parser.add_argument("--views", type=int, default=0, help="further views of each scene")
    parser.add_argument("--first", type=int, default=0, help="scene to begin with")
    parser.add_argument("--seconds", type=float, default=math.inf)
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args()
    if not 1000 <= options.seed < 2000:
        parser.error("train on seeds 1000 to 1999")
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
        plans = FAMILIES[options.family](options.seed, options.count, 720)[options.first :]
        for done, plan in enumerate(plans, start=1):
            try:
                gatherer.add_scene(plan, options.seed, options.crops, options.views)
            except RuntimeError as reason:  # a plan without a layout
                print(reason, flush=True)
            late = time.monotonic() > end
            if done % PART_SCENES == 0 or late or done == len(plans):
                gatherer.flush(options.out / f"{options.seed}-{part:03d}.npz")
                part += 1
                print(options.seed, done, flush=True)
            if late:
                break


if __name__ == "__main__":
    main()
