"""Render scenes of a tuning seed and keep what the project's networks learn from.

`python -m models.fit.gather --seed 1010 --count 200 --out DIR --seconds 500` renders scene after
scene, measures each as it is and cropped at random heights, and writes `DIR/SEED-N.npz` parts of
two kinds of sample: people (cut-outs beside where their marks really are, from what the pose
network found and from bodies put under the true heads; cut-outs of what was taken for somebody and
is nobody) and pictures (small copies beside where near backs and heads really are). Seeds of their
own (1000 to 1999); `--family hard` draws the hard scenes, `--kinds` some kinds of them, `--views`
draws each from other places too. Parts appear whole, so that training may read them meanwhile.
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
from framecheck.measure.corrector import CHAIN, features_of, middles_px, stature_px
from framecheck.measure.crown import marks_origin_px
from framecheck.measure.head import CROWN_TO_EYE, EYE_TO_CHIN, measure_head
from framecheck.pose.estimator import MediaPipeEstimator
from framecheck.pose.lookout import OwnNetworks
from framecheck.pose.marks import SPOTS_PX, cut_person, person_window, to_cells
from framecheck.pose.models import provide_models
from framecheck.pose.networks import Networks, open_networks
from framecheck.pose.scout import HeadHint, Scout, Sighting, scout_layers
from framecheck.pose.template import body_under
from framecheck.pose.views import View, cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import MarksSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box
from models.fit.make_samples import MATCH_HEADS, crops_of
from models.fit.variants import other_views
from sample_frames.stage.hard_plans import draw_hard_plans
from sample_frames.stage.plans import Plan, draw_plans
from sample_frames.stage.scenes import Result, Shot
from tests.bench.render_scenes import render_plan

Sample = dict[str, Any]
HEAD_LEVELS = CROWN_TO_EYE + EYE_TO_CHIN
PART_PICTURES = 40
FAMILIES = {"plain": draw_plans, "hard": draw_hard_plans}
TOLD_HEADS = 0.85
"""Share of the true heads that the knowing scout tells."""

MOST_OWNED = 0.15
"""Most of a figure's mask that may lie on people for it to be called nobody."""

MOST_PUT = 3
"""Most people of a picture under whose heads a body is put."""

PUT_NOWHERE = 0.3
"""Share of the pictures in which a body is put where nobody is; of those without anybody, all."""

HINT_SHIFT, HINT_SIZE, HINT_TURN_DEG = 0.1, 0.17, 12.0
"""How far hints lie off the true heads: in heads, as a logarithm, and in degrees."""

PICTURE_PX = 448
"""Side of the pictures that are kept for the scout, larger than it sees them: training crops."""

BACK_PX = 112
MOST_HEADS = 14
LEAST_SEEN = 0.05
"""Least share of a head that shows for it to be looked for."""


def true_head(truth: dict[str, Any]) -> HeadHint | None:
    """Where a person's head is, how high, and where the hips are from there."""
    chin, hip = middle_px(truth, "chin"), middle_px(truth, "hip")
    top = truth["marks_px"]["head_top"]
    if chin is None or hip is None or top is None:
        return None
    centre = ((top[0] + chin[0]) / 2, (top[1] + chin[1]) / 2)
    reach = max(math.dist(hip, centre), 1e-3)
    return HeadHint(
        centre_px=centre, height_px=truth["ruler"]["head_height_px"], belief=0.9,
        down=((hip[0] - centre[0]) / reach, (hip[1] - centre[1]) / reach),
    )  # fmt: skip


def hinted(head: HeadHint, rng: np.random.Generator) -> HeadHint:
    """A head as a scout may tell it: a little off."""
    shift = rng.normal(0, HINT_SHIFT * head.height_px, 2)
    turn = math.radians(rng.normal(0, HINT_TURN_DEG))
    x, y = head.down
    return HeadHint(
        centre_px=(head.centre_px[0] + shift[0], head.centre_px[1] + shift[1]),
        height_px=head.height_px * math.exp(rng.normal(0, HINT_SIZE)), belief=head.belief,
        down=(
            x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
        ),
    )  # fmt: skip


def is_inside(head: HeadHint, box: Box) -> bool:
    """Whether the middle of a head lies in a box."""
    x, y = head.centre_px
    return box.x_px <= x <= box.right_px and box.y_px <= y <= box.bottom_px


class KnowingScout:
    """Stands in for the scout, which is not trained yet: knows the heads, tells most of them.

    So the marks network meets those people too whom only a look at a hinted head finds.
    """

    def __init__(self, truths: list[dict[str, Any]], seed: int) -> None:
        self._truths = truths
        self._seed = seed

    def look(self, view: View, _: MaskSeen) -> Sighting:
        """Hints near the true heads."""
        rng = np.random.default_rng(self._seed)
        hints = []
        for truth in self._truths:
            head, told = true_head(truth), rng.random() < TOLD_HEADS
            if head is None or truth["head_visible_frac"] < 0.1 or not told:
                continue
            hint = hinted(head, rng)
            if is_inside(hint, view.box):
                hints.append(hint)
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
        "box": box, "unit_px": unit_px, "head": head, "raw": raw,
        "layers": layers, "joints": to_cells(person.body.joints_px, box),
        "x": features_of(head, person.body, picture.active),
        "edge": [*edge, (bottom_px - head.chin_px[1]) / unit_px],
        "scale": math.log(unit_px / box.w_px),
        "top_edge": (head.eye_px[1] - picture.active.y_px) / unit_px,
        "unit_frac": unit_px / picture.active.h_px, "face": head.eye_to_chin_px / unit_px,
        "put": bool(person.body.presence.max() == 0.0),
    }  # fmt: skip


def person_sample(
    person: PersonSeen, truth: dict[str, Any], picture: Picture, owners: np.ndarray[Any, Any]
) -> Sample | None:
    """What the marks network sees of one person beside what is true; None without a body."""
    points = [middle_px(truth, name) for name in CHAIN]
    eye, chin = middle_px(truth, "eye"), middle_px(truth, "chin")
    if person.body is None or eye is None or chin is None or any(p is None for p in points):
        return None
    seen = shown(person, picture)
    box, unit_px, head, raw = (seen.pop(k) for k in ("box", "unit_px", "head", "raw"))
    shifts = [
        (t - r) / unit_px
        for name, point in zip(CHAIN, points, strict=True)
        if point is not None
        for t, r in zip(point, raw[name], strict=True)
    ]
    face = [
        (t - r) / head.eye_to_chin_px
        for true, found in ((eye, head.eye_px), (chin, head.chin_px))
        for t, r in zip(true, found, strict=True)
    ]
    eye_y_px = head.eye_px[1]
    return {
        **seen, "sides": to_cells(sides_px(truth), box), "y": shifts, "eyes_chin": face,
        "own": shrunk(owners == truth["owner"], box, SPOTS_PX),
        "crown": (eye_y_px - truth["marks_px"]["head_top"][1]) / unit_px,
        "crown_now": (eye_y_px - marks_origin_px(person, head, picture.active)) / unit_px,
        "yaw_deg": truth["head_yaw_deg"], "body_yaw_deg": body_yaw_deg(truth),
        "head_frac": truth["head_visible_frac"], "real": True,
    }  # fmt: skip


def shrunk(
    mask: np.ndarray[Any, np.dtype[np.bool_]], box: Box, side: int
) -> np.ndarray[Any, np.dtype[np.uint8]]:
    """The part of a mask of the whole file that a box shows, (side, side), 0 beyond the file."""
    left, top = math.floor(box.x_px), math.floor(box.y_px)
    wide, high = max(1, round(box.w_px)), max(1, round(box.h_px))
    canvas = np.zeros((high, wide), np.float32)
    rows, columns = mask.shape
    y0, y1, x0, x1 = max(0, top), min(rows, top + high), max(0, left), min(columns, left + wide)
    if y1 > y0 and x1 > x0:
        canvas[y0 - top : y1 - top, x0 - left : x1 - left] = mask[y0:y1, x0:x1]
    small = cv2.resize(canvas, (side, side), interpolation=cv2.INTER_AREA)
    return np.asarray(np.round(255 * small), np.uint8)


def nobody_sample(person: PersonSeen, picture: Picture) -> Sample:
    """What the marks network sees of a figure that is nobody; what is not true of it is zero."""
    seen = shown(person, picture)
    for key in ("box", "unit_px", "head", "raw"):
        del seen[key]
    zeros = dict.fromkeys(("crown", "crown_now", "yaw_deg", "body_yaw_deg", "head_frac"), 0.0)
    return {
        **seen, **zeros, "sides": np.full((2 * len(CHAIN), 2), -1.0),
        "y": [0.0] * (2 * len(CHAIN)), "eyes_chin": [0.0] * 4, "real": False,
        "own": np.zeros((SPOTS_PX, SPOTS_PX), np.uint8),
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
    picture: Picture, networks: Networks, back: np.ndarray[Any, Any], truths: list[dict[str, Any]]
) -> Sample:
    """What the scout network sees of a picture beside where near backs and heads are."""
    active = picture.active
    view = cut_view(picture.rgb, active, active, 960)
    small = cut_view(picture.rgb, active, active, 384)
    heads = np.full((MOST_HEADS, 6), np.nan)
    found = [(t, head) for t in truths if (head := true_head(t)) is not None]
    for row, (truth, head) in zip(heads, found, strict=False):
        x, y = head.centre_px
        if truth["head_visible_frac"] >= LEAST_SEEN:
            row[:] = (
                (x - active.x_px) / active.w_px, (y - active.y_px) / active.h_px,
                head.height_px / active.h_px, *head.down, truth["head_visible_frac"],
            )  # fmt: skip
    return {
        "layers": scout_layers(view, networks.find_anybody(small), PICTURE_PX),
        "back": shrunk(back, active, BACK_PX), "heads": heads, "aspect": active.w_px / active.h_px,
    }  # fmt: skip


def seen_head(person: PersonSeen) -> HeadHint:
    """A hint at the head of a figure that was found."""
    head = measure_head(person)
    return HeadHint(
        centre_px=head.eye_px, height_px=head.eye_to_chin_px / EYE_TO_CHIN * HEAD_LEVELS,
        belief=0.9, down=head.down,
    )  # fmt: skip


def put_rows(
    truths: list[dict[str, Any]], picture: Picture, owners: np.ndarray[Any, Any],
    rng: np.random.Generator,
) -> list[Sample]:  # fmt: skip
    """Samples of bodies put under some true heads, and now and then where nobody is."""
    box = picture.active
    heads = [
        (truth, head) for truth in truths
        if truth["head_visible_frac"] >= LEAST_SEEN
        and (head := true_head(truth)) is not None and is_inside(head, box)
    ]  # fmt: skip
    rows = []
    for i in rng.permutation(len(heads))[:MOST_PUT]:
        truth, head = heads[i]
        person = PersonSeen(body=body_under(hinted(head, rng), box))
        rows.append(person_sample(person, truth, picture, owners))
    if not truths or rng.random() < PUT_NOWHERE:
        nowhere = somewhere(box, rng)
        x, y = (int(v) for v in nowhere.centre_px)
        apart = [
            math.dist(head.centre_px, nowhere.centre_px) > 1.5 * head.height_px for _, head in heads
        ]
        if all(apart) and owners[min(y, len(owners) - 1), min(x, len(owners[0]) - 1)] < 0:
            rows.append(nobody_sample(PersonSeen(body=body_under(nowhere, box)), picture))
    return [row for row in rows if row is not None]


def somewhere(box: Box, rng: np.random.Generator) -> HeadHint:
    """A head anywhere in a picture, of any size."""
    turn = rng.normal(0, 0.6)
    return HeadHint(
        centre_px=(box.x_px + rng.random() * box.w_px, box.y_px + rng.random() * box.h_px),
        height_px=box.h_px * math.exp(rng.uniform(math.log(0.03), math.log(0.6))),
        belief=0.9, down=(math.sin(turn), math.cos(turn)),
    )  # fmt: skip


class Gatherer:
    """Samples so far, and the tools that make them."""

    def __init__(self, networks: Networks) -> None:
        self.networks = networks
        self.people: list[Sample] = []
        self.pictures: list[Sample] = []

    def add_scene(self, plan: Plan, seed: int, crops: int, views: int) -> None:
        """Render one scene from one or more places and sample each, whole and cropped."""
        shot, result = render_plan(plan, seed, coarse=True)
        self.add_view(shot, result, (seed, plan.index, 0), crops)
        rng = np.random.default_rng([seed, plan.index, 99])
        for number, view in enumerate(other_views(shot, views, rng), start=1):
            self.add_view(*view, (seed, plan.index, number), crops)

    def add_view(self, shot: Shot, result: Result, key: tuple[int, int, int], crops: int) -> None:
        """Sample one picture, whole and cropped."""
        seed, index, view = key
        rng = np.random.default_rng([*key, 7])
        quality = int(rng.integers(55, 95))
        _, coded = cv2.imencode(
            ".jpg", result.image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality]
        )
        rgb = np.ascontiguousarray(cv2.imdecode(coded, cv2.IMREAD_COLOR)[..., ::-1])
        truths = [
            {**truth, "owner": owner}
            for truth, owner in zip(result.truth["people"], result.order, strict=True)
        ]
        x, y, w, h = (round(v) for v in result.truth["picture_xywh_px"])
        owners = np.full(rgb.shape[:2], -1, dtype=np.int32)
        owners[y : y + h, x : x + w] = result.owners
        mark = {"scene": seed * 10000 + index, "kind": shot.kind, "hard": "hard" in shot.tags}
        whole = Picture(rgb=rgb, active=Box(x_px=x, y_px=y, w_px=w, h_px=h))
        row = picture_sample(whole, self.networks, np.isin(owners, shot.foreground), truths)
        self.pictures.append({**row, **mark, "count": len(truths)})
        scout = KnowingScout(truths, seed * 100 + index + view)
        own = OwnNetworks(marks=cast(Any, NoMarks()), scout=cast(Scout, scout))
        estimator = MediaPipeEstimator(self.networks, own=own)
        mark["pitch_deg"] = result.truth["camera"]["pitch_deg"]
        for number, box in enumerate(crops_of(result.truth, crops, seed + 7919 * view)):
            picture = Picture(rgb=rgb, active=box)
            rows = self.people_rows(estimator.see(picture), truths, picture, owners)
            rows += put_rows(truths, picture, owners, rng)
            self.people += [{**row, **mark, "whole": number == 0} for row in rows]

    def people_rows(
        self, seen: Sequence[PersonSeen], truths: list[dict[str, Any]], picture: Picture,
        owners: np.ndarray[Any, Any],
    ) -> list[Sample]:  # fmt: skip
        """The samples of figures that were found: somebody's, or nobody's, and these put anew."""
        rows: list[Sample | None] = []
        for person in seen:
            if person.body is None:
                continue
            truth = match(person, truths)
            if truth is not None:
                rows.append(person_sample(person, truth, picture, owners))
            elif is_nobody(person, owners >= 0):
                again = PersonSeen(body=body_under(seen_head(person), picture.active))
                rows += [nobody_sample(p, picture) for p in (person, again)]
        return [row for row in rows if row is not None]

    def flush(self, path: Path) -> None:
        """Write what was gathered and start anew."""
        columns = {
            f"{kind}_{key}": np.array([row[key] for row in rows])
            for kind, rows in (("people", self.people), ("pictures", self.pictures))
            for key in (rows[0] if rows else ())
        }
        unfinished = path.with_suffix(".part")
        with unfinished.open("wb") as file:
            np.savez(file, **columns)
        unfinished.rename(path)
        self.people, self.pictures = [], []


def read_options() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--family", choices=sorted(FAMILIES), default="plain")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--crops", type=int, default=3)
    parser.add_argument("--kinds", default="", help="of the hard scenes, with commas between")
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
        kinds = set(options.kinds.split(",")) if options.kinds else {plan.kind for plan in plans}
        plans = [plan for plan in plans if plan.kind in kinds]
        for done, plan in enumerate(plans, start=1):
            try:
                gatherer.add_scene(plan, options.seed, options.crops, options.views)
            except RuntimeError as reason:  # a plan without a layout
                print(reason, flush=True)
            late = time.monotonic() > end
            full = len(gatherer.pictures) >= PART_PICTURES
            if full or late or done == len(plans):
                gatherer.flush(options.out / f"{options.seed}-{part:03d}.npz")
                part += 1
                print(options.seed, done, flush=True)
            if late:
                break


if __name__ == "__main__":
    main()
