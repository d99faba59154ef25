"""The hard scenes: plans dealt evenly, damage that moves no mark, poses at rest, cameras that fit.

What needs the body model or the renderer (extra `render`) is skipped where they are not installed.
"""

from collections import Counter
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sample_frames.stage.cameras import Camera
from sample_frames.stage.damage import KINDS as DAMAGES
from sample_frames.stage.damage import Damage, damage_picture
from sample_frames.stage.hard_plans import (
    HAIRS,
    KINDS,
    NOBODY,
    PLACES,
    TONES,
    HardPlan,
    accepts_hard,
    draw_hard_plans,
    relaxed_hard,
)
from sample_frames.stage.plans import Plan, draw_plans

SEED = 199


@pytest.fixture(scope="module", name="plans")
def draw_some() -> list[HardPlan]:
    return draw_hard_plans(SEED, 240, 720)


# ------------------------------------------------------------------ plans


def test_the_same_seed_gives_the_same_plans(plans: list[HardPlan]) -> None:
    assert draw_hard_plans(SEED, 240, 720) == plans
    assert draw_hard_plans(SEED + 1, 240, 720) != plans


def test_hard_plans_are_plans_and_leave_the_plain_ones_alone(plans: list[HardPlan]) -> None:
    assert all(isinstance(plan, Plan) for plan in plans)
    assert not any(isinstance(plan, HardPlan) for plan in draw_plans(SEED, 10, 720))


def test_every_kind_has_its_share(plans: list[HardPlan]) -> None:
    counts = Counter(plan.kind for plan in plans)
    whole = sum(share for _, share, _ in KINDS)
    for kind, share, variants in KINDS:
        assert abs(counts[kind] - 240 * share / whole) <= 1.5, kind
        shown = {plan.variant for plan in plans if plan.kind == kind}
        assert shown == set(variants), kind


def test_tones_hair_and_places_are_dealt_evenly(plans: list[HardPlan]) -> None:
    assert set(Counter(plan.tone for plan in plans).values()) == {240 // len(TONES)}
    for options, name in ((PLACES, "place"), (HAIRS, "hair")):
        counts = Counter(getattr(plan, name) for plan in plans)
        assert set(counts) == set(options)
        per_entry = {option: counts[option] / options.count(option) for option in counts}
        assert max(per_entry.values()) - min(per_entry.values()) <= 1


def test_the_extremes_are_there(plans: list[HardPlan]) -> None:
    tiny = [plan.figure_frac for plan in plans if plan.kind == "tiny"]
    assert min(tiny) < 0.06
    steep = [plan.pitch_deg for plan in plans if plan.kind == "steep"]
    assert min(steep) < -35
    assert max(steep) > 35
    tilts = [abs(plan.roll_deg) for plan in plans if plan.kind == "dutch"]
    assert max(tilts) > 25
    assert all(10 <= tilt <= 30 for tilt in tilts)
    crowds = {plan.people for plan in plans if plan.kind == "crowd"}
    assert (min(crowds), max(crowds)) == (4, 12)
    assert len(crowds) >= 7


def test_nobody_is_planned_where_nobody_counts(plans: list[HardPlan]) -> None:
    for plan in plans:
        wanted = plan.kind in NOBODY and plan.variant != "beside"
        assert (plan.people == 0) == wanted


def test_wishes_are_dropped_step_by_step(plans: list[HardPlan]) -> None:
    plan = replace(plans[0], kind="crowd", people=12, pitch_deg=20.0)
    assert relaxed_hard(plan, 0) == plan
    assert relaxed_hard(plan, 7).pitch_deg == pytest.approx(15.0)
    assert relaxed_hard(plan, 20).people == 6


def a_record(head: float = 1.0, body: float = 0.5, hidden: float = 0.0) -> dict[str, float]:
    return {"head_visible_frac": head, "mask_visible_frac": body, "occluded_frac": hidden}


@pytest.mark.parametrize(
    ("kind", "planned", "people", "taken"),
    [
        ("back", 1, [a_record()], True),
        ("back", 1, [], False),
        ("back", 1, [a_record(head=0.1)], False),
        ("crowd", 5, [a_record()] * 4, True),
        ("crowd", 5, [a_record()] * 3, False),
        ("crowd", 5, [*[a_record()] * 4, a_record(head=0.1, body=0.05)], False),
        ("furniture", 1, [a_record(hidden=0.0)], False),
        ("furniture", 1, [a_record(hidden=0.3)], True),
        ("statue", 0, [], True),
        ("statue", 0, [a_record()], False),
        ("close", 1, [a_record(head=0.05, body=0.01)], True),
    ],
)
def test_what_a_kind_accepts(
    plans: list[HardPlan], kind: str, planned: int, people: list[dict[str, float]], taken: bool
) -> None:
    plan = replace(plans[0], kind=kind, people=planned)
    assert accepts_hard(plan, {"people": people}) is taken


# ------------------------------------------------------------------ damage


def a_spot() -> tuple[np.ndarray, np.ndarray]:
    """A bright person-sized spot on grey, and who is where."""
    image = np.full((200, 300, 3), 90, np.uint8)
    owners = np.full((200, 300), -1, np.int32)
    image[80:121, 130:171] = (220, 180, 160)
    owners[80:121, 130:171] = 0
    return image, owners


def test_no_damage_changes_nothing() -> None:
    image, owners = a_spot()
    assert damage_picture(image, owners, Damage()) is image


@pytest.mark.parametrize("kind", DAMAGES)
@pytest.mark.parametrize("amount", [0.0, 1.0])
def test_damage_repeats_and_keeps_the_shape(kind: str, amount: float) -> None:
    image, owners = a_spot()
    damage = Damage(kind, amount, 30.0, 5)
    once = damage_picture(image, owners, damage)
    assert once.shape == image.shape
    assert once.dtype == np.uint8
    assert not np.array_equal(once, image)
    assert np.array_equal(once, damage_picture(image, owners, damage))


@pytest.mark.parametrize("kind", ["shaken", "moved", "soft", "squeezed", "flat", "mono"])
def test_damage_leaves_the_middle_of_a_thing_where_it_was(kind: str) -> None:
    """Marks of the truth stay true: the spot's middle moves by less than half a pixel."""
    image, owners = a_spot()
    after = damage_picture(image, owners, Damage(kind, 1.0, 20.0, 5)).astype(float).sum(axis=2)
    weight = np.clip(after - np.median(after) - 30, 0, None)
    rows, columns = np.mgrid[0:200, 0:300]
    assert (weight * rows).sum() / weight.sum() == pytest.approx(100, abs=0.5)
    assert (weight * columns).sum() / weight.sum() == pytest.approx(150, abs=0.5)


def test_each_damage_does_what_it_says() -> None:
    image, owners = a_spot()
    seen = {kind: damage_picture(image, owners, Damage(kind, 0.6, 0.0, 5)) for kind in DAMAGES}
    assert np.ptp(seen["mono"].astype(int), axis=2).max() <= 25  # noise of each channel apart
    assert seen["night"].mean() < 0.6 * image.mean()
    assert np.ptp(seen["flat"].astype(int)) < 0.8 * np.ptp(image.astype(int))
    dark, ground = seen["silhouette"][owners == 0].mean(), seen["silhouette"][owners < 0].mean()
    assert dark < 0.5 * ground
    assert seen["noisy"][:60].std() > 8 > image[:60].std()
    edge = np.abs(np.diff(seen["soft"][100, :, 0].astype(int))).max()
    assert edge < 0.6 * np.abs(np.diff(image[100, :, 0].astype(int))).max()


# ------------------------------------------------------------------ cameras and bodies

CAMERA = Camera((0.0, 0.0, 0.0), 35.0, (24.89, 14.0), (1280, 720), pitch_deg=-12.0, roll_deg=20.0)


def test_a_fitted_camera_fills_its_frame() -> None:
    pytest.importorskip("pyvista")
    from sample_frames.stage.hard_cameras import Frame, fit_camera

    points = np.random.default_rng(3).uniform([-0.4, -0.3, 0.0], [0.5, 0.3, 1.8], (200, 3))
    pixels = fit_camera(CAMERA, points, Frame(0.4, 0.55, 0.7, 0.8)).project(points) / (1280, 720)
    low, high = pixels.min(axis=0), pixels.max(axis=0)
    assert 0.5 * (low + high) == pytest.approx([0.4, 0.55], abs=0.005)
    assert max((high - low) / (0.7, 0.8)) == pytest.approx(1.0, abs=0.01)


def test_a_camera_never_stands_under_the_floor() -> None:
    pytest.importorskip("pyvista")
    from sample_frames.stage.hard_cameras import LOWEST_M, Frame, fit_camera, keep_above_floor

    points = np.array([[-0.5, 0, 0], [0.5, 0, 0], [0, 0, 1.0]])
    rising = replace(CAMERA, pitch_deg=30.0, roll_deg=0.0)
    frame = Frame(0.5, 0.5, 0.8, 0.8)
    assert fit_camera(rising, points, frame).position_m[2] < 0
    found = keep_above_floor(lambda camera: fit_camera(camera, points, frame), rising)
    assert found.position_m[2] >= LOWEST_M
    assert found.pitch_deg < rising.pitch_deg


RESTING = [
    ("floor", "knees up", 0.22), ("floor", "legs out", 0.22), ("floor", "legs crossed", 0.22),
    ("lying", "on back", 0.32), ("lying", "on front", 0.32), ("lying", "on side", 0.50),
    ("kneel", "both knees", 0.65), ("kneel", "on heels", 0.35), ("kneel", "one knee", 0.65),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "variant", "hip_limit_m"), RESTING)
@pytest.mark.parametrize("body", ["average", "heavy", "child"])
def test_a_body_rests_on_the_floor(kind: str, variant: str, hip_limit_m: float, body: str) -> None:
    """Nothing lies under the floor, and both groups of points that carry the body touch it."""
    pytest.importorskip("anny")
    from sample_frames.stage.bodies import load_template, shape_body
    from sample_frames.stage.hard_casting import cast, pose_for
    from sample_frames.stage.poses import GIVE_M, SOLE_M, contact_vertices, pose_body

    rng = np.random.default_rng([7, len(variant)])
    look, tags = cast(rng, "tone deep", body, "bald")
    assert tags == ("tone deep", f"body {body}", "hair bald")
    pose = pose_for(kind, variant, 30.0, rng)
    template = load_template()
    posed = pose_body(template, shape_body(look.shape), pose)
    skin = posed.vertices_m[np.unique(template.groups["body"])]
    assert skin[:, 2].min() == pytest.approx(SOLE_M, abs=1e-6)
    heights_m = [posed.vertices_m[group, 2].min() for group in contact_vertices(pose)]
    assert max(heights_m) <= SOLE_M + GIVE_M + 1e-6
    assert heights_m[0] == pytest.approx(heights_m[1], abs=1e-3)
    assert posed.heads_m[template.bone("upperleg01.L"), 2] < hip_limit_m
    assert pose.posture == ("seated" if kind == "floor" else "other")


def test_a_reflection_is_as_far_behind_the_glass() -> None:
    pytest.importorskip("pyvista")
    from sample_frames.stage.impostors import reflected
    from sample_frames.stage.solids import quad

    part = quad((0, -1, 0), (1, 0, 0), (0, 0.5, 1))
    (twin,) = reflected([part], 0.6)
    assert twin.points_m[:, 1] == pytest.approx(1.2 - part.points_m[:, 1], abs=1e-6)
    assert twin.points_m[:, [0, 2]] == pytest.approx(part.points_m[:, [0, 2]], abs=1e-6)
    assert part.points_m[:, 1].max() == pytest.approx(-0.5)


def render_first(kind: str) -> dict[str, Any]:
    """The truth of the first plan of a kind, rendered small."""
    pytest.importorskip("anny")
    pytest.importorskip("pyvista")
    from tests.bench.render_scenes import render_plan

    plan = next(plan for plan in draw_hard_plans(SEED, 240, 144) if plan.kind == kind)
    shot, result = render_plan(plan, SEED)
    assert result.image.shape[:2] == (result.truth["height_px"], result.truth["width_px"])
    assert shot.kind == result.truth["kind"] == kind
    return result.truth


def test_a_rendered_back_in_the_foreground_carries_its_truth() -> None:
    truth = render_first("shoulder")
    assert truth["shot_type"] == "over-the-shoulder"
    roles = [person["role"] for person in truth["people"]]
    assert roles == ["subject", "foreground"]
    for person in truth["people"]:
        assert any(tag in TONES for tag in person["tags"])
    assert truth["people"][1]["facing"] == "away"


def test_a_rendered_statue_is_nobody() -> None:
    truth = render_first("statue")
    assert truth["people"] == []
    assert truth["shot_type"] == "no people"
