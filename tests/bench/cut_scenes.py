"""Render short sequences with known cameras: cut pairs, conversations, line crossings.

`python -m tests.bench.cut_scenes --seed 160 --out DIR` writes `DIR/*.jpg` and `DIR/truth.json`. The
same seed gives the same sequences. People, sets and truth are those of the other bench scenes; what
is new is that several cameras look at the same people.

The stage: A stands on the left and looks along +x, B stands on the right and looks back. The line
runs between them; `side` is +1 for cameras in front of it (A looks right, B looks left), else -1.
Every shot is rendered with the world turned, so that its camera looks along +y.
"""

from __future__ import annotations

import argparse
import json
import logging
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from sample_frames.stage import compose, scenes
from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import Camera
from sample_frames.stage.casting import ARM_PAIRS, random_look
from sample_frames.stage.draw import Finish
from sample_frames.stage.looks import Look
from sample_frames.stage.people import Person, make_person
from sample_frames.stage.poses import Pose
from sample_frames.stage.sets import Plot, StageSet, make_room, random_lamps
from sample_frames.stage.solids import floor_shadow

LOG = logging.getLogger("cut_scenes")
SCHEMA = "framecheck-cut-truth-1"
MOST_TRIES = 12

RATIOS = (1.0, 1.08, 1.3, 1.45, 1.8, 2.3, 3.0, 4.0)
ANGLES_DEG = (0.0, 8.0, 18.0, 42.0, 60.0, 90.0)
FAULTS = ("size", "eye line", "closeness", "lens height")
FACING_DEG = {"A": 90.0, "B": -90.0}


@dataclass(frozen=True)
class ShotPlan:
    """One camera.

    Attributes:
        who: whom it is set up for, A or B.
        off_deg: between that person's look and the lens, as seen from above.
        side: of the line, +1 or -1.
        head_frac: crown to chin over the picture height.
        across: of the eyes, from the left, over the width. eyes: under the top, over the height.
        tilt_deg: of the camera, + looks up: it then stands under the eyes.
        external: over the other's shoulder.
    """

    who: str
    off_deg: float
    side: int
    head_frac: float
    across: float
    eyes: float = 0.36
    tilt_deg: float = 0.0
    external: bool = False
    lens_mm: float = 50.0


@dataclass(frozen=True)
class SequencePlan:
    """A sequence to render.

    Attributes:
        kind: pair or conversation.
        shots: its cameras in the order of the cut.
        fault: what does not match between the two sides, or "".
        new_light: every shot is lit anew; else all of it alike, seen from the lens.
        seed: of the set.
    """

    name: str
    kind: str
    shots: tuple[ShotPlan, ...]
    fault: str = ""
    new_light: bool = False
    tags: tuple[str, ...] = ()
    seed: int = 0


@dataclass(frozen=True)
class Cast:
    """The two people of a sequence, as they hold themselves in all of it."""

    looks: dict[str, Look]
    poses: dict[str, Pose]
    apart_m: float


def plan_set(seed: int, pairs: int, conversations: int) -> list[SequencePlan]:
    """The sequences of a set."""
    rng = np.random.default_rng([seed, 505])
    grid = [(ratio, angle) for ratio in RATIOS for angle in ANGLES_DEG]
    order = rng.permutation(len(grid))
    plans = []
    for i in range(pairs):
        same = i % 3 != 2
        ratio, angle = grid[order[i % len(grid)]]
        plans.append(_plan_pair(f"p{i:03d}", (ratio, angle, same), rng))
    for i in range(conversations):
        plans.append(_plan_conversation(f"c{i:03d}", ("matched", "fault", "crossed")[i % 3], rng))
    return [replace(plan, seed=seed) for plan in plans]


def _plan_pair(
    name: str, wish: tuple[float, float, bool], rng: np.random.Generator
) -> SequencePlan:
    ratio, angle, same = wish
    small = float(rng.uniform(0.10, min(0.30, 0.62 / ratio)))
    sizes = [small, small * ratio]
    start = float(rng.uniform(-75, 75 - angle))
    turns = [start, start + angle]
    if rng.random() < 0.5:
        sizes.reverse()
    if rng.random() < 0.5:
        turns.reverse()
    who = ["A", "A" if same else "B"]
    spots = [float(rng.uniform(0.35, 0.65)) for _ in who]
    if rng.random() < 0.5:
        spots[1] = spots[0]
    lens = float(rng.choice([32.0, 40.0, 50.0, 65.0, 85.0]))
    shots = tuple(
        ShotPlan(
            who=who[k],
            off_deg=abs(turns[k]),
            side=1 if (turns[k] >= 0) == (who[k] == "A") else -1,
            head_frac=sizes[k],
            across=spots[k],
            eyes=float(rng.uniform(0.3, 0.42)),
            tilt_deg=float(rng.uniform(-6, 6)),
            lens_mm=lens,
        )
        for k in range(2)
    )
    return SequencePlan(name, "pair", shots, new_light=bool(rng.random() < 0.4))


def _plan_conversation(name: str, kind: str, rng: np.random.Generator) -> SequencePlan:
    external = bool(rng.random() < 0.4)
    side = 1 if rng.random() < 0.5 else -1
    size = float(rng.uniform(0.16, 0.26) if external else rng.uniform(0.18, 0.42))
    off = float(rng.uniform(15, 20) if external else rng.uniform(18, 45))
    eyes = float(rng.uniform(0.31, 0.37))
    aside = float(rng.uniform(0.09, 0.14) if external else rng.uniform(0.04, 0.12))
    lens = float(rng.choice([40.0, 50.0] if external else [40.0, 50.0, 65.0, 85.0]))
    base = ShotPlan("A", off, side, size, 0.5, eyes, float(rng.uniform(-2, 2)), external, lens)
    sides = {"A": base, "B": replace(base, who="B")}
    fault = ""
    if kind == "fault":
        fault = str(rng.choice(FAULTS))
        sides["B"] = _spoilt(sides["B"], fault, rng)
    shots = [sides["AB"[k % 2]] for k in range(6)]
    if kind == "crossed":
        at = int(rng.integers(2, 5))
        back = at + int(rng.integers(1, 3)) if rng.random() < 0.5 else 6
        shots = [replace(s, side=-s.side) if at <= k < back else s for k, s in enumerate(shots)]
    shots = [replace(s, across=_aside(s, aside)) for s in shots]
    return SequencePlan(
        name, "conversation", tuple(shots), fault, bool(rng.random() < 0.4), (kind,)
    )


def _aside(shot: ShotPlan, aside: float) -> float:
    """Room in front of the face: who looks to the right stands on the left."""
    looks_right = (shot.who == "A") == (shot.side > 0)
    return 0.5 - aside if looks_right else 0.5 + aside


def _spoilt(shot: ShotPlan, fault: str, rng: np.random.Generator) -> ShotPlan:
    sign = 1 if rng.random() < 0.5 else -1
    if fault == "size":
        return replace(shot, head_frac=shot.head_frac * float(rng.uniform(1.35, 1.6)) ** sign)
    if fault == "eye line":
        return replace(shot, eyes=shot.eyes + float(rng.uniform(0.09, 0.13)))
    if fault == "closeness":
        far = 1 if shot.external or shot.off_deg < 40 else -1
        return replace(shot, off_deg=shot.off_deg + far * float(rng.uniform(25, 35)))
    return replace(shot, tilt_deg=shot.tilt_deg + sign * float(rng.uniform(17, 22)))


def render_sequence(plan: SequencePlan, folder: Path) -> dict[str, Any]:
    """Render a sequence and return its truth.

    Raises:
        ValueError: a camera cannot be placed.
    """
    rng = np.random.default_rng([plan.seed, *plan.name.encode()])
    for _ in range(MOST_TRIES):
        cast = _draw_cast(rng)
        try:
            results = [_render(plan, k, cast, rng) for k in range(len(plan.shots))]
        except ValueError as reason:
            LOG.debug("%s: %s", plan.name, reason)
            continue
        for shot, record in results:
            scenes.save_image(shot.image, folder / record["file"], quality=88)
        return {
            "name": plan.name,
            "kind": plan.kind,
            "tags": list(plan.tags),
            "fault": plan.fault,
            "shots": [record for _, record in results],
        }
    msg = f"{plan.name} found no valid layout"
    raise ValueError(msg)


def _draw_cast(rng: np.random.Generator) -> Cast:
    looks = {who: random_look(rng) for who in "AB"}
    poses = {}
    for who in "AB":
        left, right = ARM_PAIRS[:3][int(rng.integers(3))]
        twist = float(rng.normal(0, 8))
        poses[who] = Pose(
            arm_left=left,
            arm_right=right,
            legs="relaxed",
            body_yaw_deg=FACING_DEG[who] - twist,
            head_yaw_deg=twist,
            head_pitch_deg=float(rng.normal(0, 2)),
            bend_deg=float(rng.uniform(-2, 4)),
        )
    return Cast(looks, poses, float(rng.uniform(1.0, 1.35)))


def _render(
    plan: SequencePlan, number: int, cast: Cast, rng: np.random.Generator
) -> tuple[scenes.Result, dict[str, Any]]:
    wish = plan.shots[number]
    heading = FACING_DEG[wish.who]
    heading -= wish.side * wish.off_deg if wish.who == "A" else -wish.side * wish.off_deg
    names = [wish.who]
    if wish.external:
        names.append("B" if wish.who == "A" else "A")
    people = [_stand(cast, name, heading, rng) for name in names]
    camera = _look_at(people[0], wish)
    stage = _stage(people, camera, plan, number)
    shot = scenes.Shot(
        name=f"{plan.name}-{number:02d}.jpg",
        shot_type="over-the-shoulder" if wish.external else "single",
        people=tuple(people),
        stage=stage,
        camera=camera,
        subject=0,
        foreground=(1,) if wish.external else (),
        finish=Finish(noise=1.2, exposure=float(rng.uniform(0.92, 1.12))),
        seed=int(rng.integers(1 << 30)),
    )
    result = scenes.render_shot(shot)
    _check(result, wish)
    record = result.truth | {
        "who": [names[i] for i in result.order],
        "camera_side": wish.side,
        "camera_bearing_deg": _bearing(people[0], camera) + heading,
        "external": wish.external,
    }
    return result, record


def _stand(cast: Cast, name: str, heading: float, rng: np.random.Generator) -> Person:
    pose = cast.poses[name]
    pose = replace(
        pose,
        body_yaw_deg=pose.body_yaw_deg - heading,
        head_yaw_deg=pose.head_yaw_deg + float(rng.normal(0, 1.5)),
        head_pitch_deg=pose.head_pitch_deg + float(rng.normal(0, 1.0)),
        sway=tuple(float(v) for v in rng.normal(0, 0.02, 12)),
    )
    x = cast.apart_m / 2 * (-1 if name == "A" else 1)
    turn = np.radians(-heading)
    return make_person(cast.looks[name], pose).moved(
        float(x * np.cos(turn)), float(x * np.sin(turn))
    )


def _look_at(person: Person, wish: ShotPlan) -> Camera:
    camera = replace(
        compose.make_camera(wish.lens_mm, 16 / 9), pitch_deg=wish.tilt_deg, heading_deg=0.0
    )
    width, height = camera.picture_wh_px
    head_m = float(np.linalg.norm(person.marks_m["crown"] - person.marks_m["chin"]))
    depth = head_m * camera.focal_px / (wish.head_frac * height)
    local = depth * np.array(
        [
            (wish.across - 0.5) * width / camera.focal_px,
            (wish.eyes - 0.5) * height / camera.focal_px,
            1.0,
        ]
    )
    position = person.eyes_m - camera.axes.T @ local
    if not compose.LOWEST_CAMERA_M < position[2] < compose.HIGHEST_CAMERA_M:
        msg = f"the camera would stand {position[2]:.2f} m high"
        raise ValueError(msg)
    return replace(camera, position_m=tuple(float(v) for v in position))


def _bearing(person: Person, camera: Camera) -> float:
    toward = np.asarray(camera.position_m) - person.eyes_m
    return float(np.degrees(np.arctan2(toward[0], -toward[1])))


def _stage(people: Sequence[Person], camera: Camera, plan: SequencePlan, number: int) -> StageSet:
    style = np.random.default_rng([plan.seed, 7, *plan.name.encode()])
    light = np.random.default_rng(
        [plan.seed, 9, *plan.name.encode(), number if plan.new_light else 0]
    )
    hulls: list[Floats] = [part.points_m for person in people for part in person.parts]
    points = np.concatenate([*hulls, np.asarray(camera.position_m)[None]])
    low, high = points.min(axis=0), points.max(axis=0)
    plot = Plot(
        near_m=float(-low[1] + 0.7), far_m=float(high[1] + 2.2),
        left_m=float(-low[0] + 2.0), right_m=float(high[0] + 2.0),
        ceiling_m=float(max(2.6, high[2] + 0.3)),
    )  # fmt: skip
    lamps = random_lamps(light)
    toward = np.asarray(lamps[0].toward)
    shadows = [floor_shadow(person, toward, 0.5) for person in people]
    return StageSet((*make_room(plot, style), *shadows), lamps)


def _check(result: scenes.Result, wish: ShotPlan) -> None:
    people = result.truth["people"]
    if not people or people[0]["head_visible_frac"] < (0.8 if wish.head_frac < 0.5 else 0.5):
        msg = "the subject's head is hidden"
        raise ValueError(msg)
    if wish.external:
        near = people[1:]
        if not near or near[0]["mask_visible_frac"] < 0.05 or near[0]["facing"] != "away":
            msg = "no shoulder in the foreground"
            raise ValueError(msg)


def render_cut_set(seed: int, counts: tuple[int, int], folder: Path) -> dict[str, Any]:
    """Render a set of sequences and write `truth.json` beside the pictures."""
    folder.mkdir(parents=True, exist_ok=True)
    sequences = []
    for plan in plan_set(seed, *counts):
        try:
            sequences.append(render_sequence(plan, folder))
        except ValueError as reason:  # one sequence without a layout must not cost the set
            LOG.warning("left out: %s", reason)
            continue
        LOG.info("%s %s %s", plan.name, plan.kind, plan.fault or " ".join(plan.tags))
    document = {"schema": SCHEMA, "seed": seed, "sequences": sequences}
    text = json.dumps(document, indent=1, sort_keys=True) + "\n"
    (folder / "truth.json").write_text(text, encoding="utf-8")
    return document


def main(arguments: list[str] | None = None) -> int:
    """Command line entry."""
    parser = argparse.ArgumentParser(description="Render sequences with known cameras.")
    parser.add_argument("--seed", type=int, default=160)
    parser.add_argument("--pairs", type=int, default=72)
    parser.add_argument("--conversations", type=int, default=30)
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args(arguments)
    logging.basicConfig(level=logging.INFO, format="%(message)s", stream=sys.stderr)
    render_cut_set(options.seed, (options.pairs, options.conversations), options.out)
    return 0


if __name__ == "__main__":
    sys.exit(main())
