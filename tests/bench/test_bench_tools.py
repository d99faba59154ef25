"""The bench's own tools: the truth reader against the tool's ruler, the scores on made-up cases.

The renderer computed the crop levels in truth.json from 3-D points with code of its own; here the
same marks are read with `framecheck.geometry.ruler`. The two must agree on every frame.
"""

import math
from pathlib import Path

import pytest

from framecheck.bench.score import MATCH_HEADS, Case, Found, figures, gap, match_subject
from framecheck.bench.truth import Frame, middle_px, read_frames, truth_measurement, truth_ruler
from framecheck.geometry.ruler import read_bottom_edge, read_top_edge
from framecheck.records.framing import Role
from framecheck.records.values import NotMeasured

SCENES = Path(__file__).parent / "scenes"
SAMPLES = Path(__file__).parents[2] / "sample_frames"
FRAMES = read_frames(SCENES) + read_frames(SAMPLES)

# truth.json holds levels and pixels to four decimals; one unit of the last place of a level, and
# as much again for pixels on the shortest figures (about 150 px)
ROUNDING_LEVEL = 2e-4


PEOPLE = [
    pytest.param(frame, person, id=f"{frame.path.stem}-{index}")
    for frame in FRAMES
    for index, person in enumerate(frame.people)
]


@pytest.mark.parametrize(("frame", "person"), PEOPLE)
def test_the_tools_ruler_agrees_with_the_renderers(frame: Frame, person) -> None:
    ruler = truth_ruler(person)
    if ruler is None:
        pytest.skip("a mark lies behind the lens")
    known = person["ruler"]
    assert ruler.figure_px == pytest.approx(known["figure_px"], rel=1e-4)
    assert read_bottom_edge(ruler, frame.picture.bottom_px) == pytest.approx(
        known["bottom"], abs=ROUNDING_LEVEL
    )
    assert read_top_edge(ruler, frame.picture.y_px) == pytest.approx(
        known["top"], abs=ROUNDING_LEVEL
    )


def test_only_marks_behind_the_lens_are_left_out() -> None:
    """A figure so near that its feet are behind the lens; most have every mark."""
    rulers = [truth_ruler(person) for frame in FRAMES for person in frame.people]
    assert sum(ruler is None for ruler in rulers) <= 0.05 * len(rulers)


@pytest.mark.parametrize("frame", FRAMES, ids=lambda frame: frame.path.stem)
def test_every_frame_has_its_picture_and_a_readable_truth(frame: Frame) -> None:
    assert frame.path.is_file()
    measurement = truth_measurement(frame)
    picture = measurement.picture
    assert 0 <= picture.x_px < picture.right_px <= measurement.width_px
    assert 0 <= picture.y_px < picture.bottom_px <= measurement.height_px
    roles = [person.role for person in measurement.people]
    assert roles.count(Role.SUBJECT) == (1 if roles else 0)
    assert all(role is not Role.SUBJECT for role in roles[1:])


def test_the_held_out_scenes_are_varied() -> None:
    held_out = read_frames(SCENES)
    counts = {min(3, len(frame.people)) for frame in held_out}
    assert counts == {0, 1, 2, 3}
    levels = [frame.people[0]["ruler"]["bottom"] for frame in held_out if frame.people]
    for low, high in [(-9, 0), (0, 0.33), (0.33, 0.6), (0.6, 0.8), (0.8, 1)]:
        assert sum(low <= level < high for level in levels) >= 5, (low, high)


def test_a_middle_is_half_way_between_the_sides() -> None:
    person = {"marks_px": {"hip_left": [10, 20], "hip_right": [30, 40], "crown": [1, 2]}}
    assert middle_px(person, "hip") == (20, 30)
    assert middle_px(person, "crown") == (1, 2)
    assert middle_px(person, "knee") is None
    assert middle_px({"marks_px": {"eye_left": None, "eye_right": [1, 1]}}, "eye") is None


def test_side_cuts_take_the_highest_level() -> None:
    """The renderer names the lowest and the highest level of a cut; the tool the highest."""
    for frame in FRAMES:
        for person, framing in zip(frame.people, truth_measurement(frame).people, strict=True):
            known = person["ruler"]["left"]
            if known is None:
                assert isinstance(framing.left_cut, NotMeasured)
            else:
                assert framing.left_cut == max(known)


HEAD = ((100.0, 100.0), 40.0)


def a_case(*, near_border: bool = False, found: Found | None = None, **truth: object) -> Case:
    true = Found(heads=[HEAD], **truth)  # type: ignore[arg-type]
    return Case(
        name="x", tags=(), truth=true, found=found or Found(heads=[HEAD], subject_rank=0),
        near_border=near_border,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("heads", "rank"),
    [
        ([((100, 100), 1)], 0),
        ([((500, 500), 1), ((110, 100), 1)], 1),
        ([((100 + 40 * MATCH_HEADS + 1, 100), 1)], None),
        ([], None),
    ],
    ids=["there", "the nearer", "too far", "nobody"],
)
def test_the_subject_is_matched_within_a_head(heads, rank) -> None:
    assert match_subject(Found(heads=[HEAD]), heads) == rank


def test_no_subject_is_matched_where_there_is_none() -> None:
    assert match_subject(Found(heads=[]), [HEAD]) is None


def test_a_gap_needs_both_sides() -> None:
    case = a_case(crop_level=0.5, found=Found(heads=[HEAD], crop_level=0.53, subject_rank=0))
    assert gap(case, lambda f: f.crop_level) == pytest.approx(0.03)
    assert gap(a_case(crop_level=0.5), lambda f: f.crop_level) is None


def test_the_figures_of_four_made_up_frames() -> None:
    """Three people frames and an empty one; counts done by hand."""
    right = a_case(
        crop_level=0.5, band="medium", flags=frozenset({"knee"}), headroom_frac=0.1,
        head_yaw_deg=170.0, facing="away", shot_type="single",
        found=Found(
            heads=[HEAD], crop_level=0.51, band="medium", flags=frozenset({"knee"}),
            headroom_frac=0.1, head_yaw_deg=-170.0, facing="away", shot_type="single",
            subject_rank=0,
        ),
    )  # fmt: skip
    wrong = a_case(
        crop_level=0.2, band="medium full", flags=frozenset({"mid-calf"}), headroom_frac=0.1,
        head_yaw_deg=0.0, facing="to lens", shot_type="single",
        found=Found(
            heads=[HEAD, HEAD], crop_level=0.3, band="cowboy", flags=frozenset({"knee"}),
            headroom_frac=0.12, head_yaw_deg=40.0, facing="three-quarter", shot_type="two",
            subject_rank=1,
        ),
    )  # fmt: skip
    missed = a_case(
        crop_level=0.2, flags=frozenset({"ankle"}), shot_type="single",
        found=Found(heads=[], shot_type="no people"),
    )  # fmt: skip
    empty = Case(
        name="e", tags=(), truth=Found(heads=[], shot_type="no people"),
        found=Found(heads=[], shot_type="no people"), near_border=False,
    )  # fmt: skip
    found = figures([right, wrong, missed, empty])
    assert found["frames"] == 4
    assert found["subject_found"] == pytest.approx(2 / 3)
    assert found["subject_first"] == pytest.approx(1 / 3)
    assert found["people_count_right"] == pytest.approx(2 / 4)
    assert found["shot_type_right"] == pytest.approx(2 / 4)
    assert found["crop_level_error_median"] == pytest.approx(0.055)
    assert found["crop_level_error_p90"] == pytest.approx(0.01 + 0.9 * 0.09)
    assert found["band_right"] == pytest.approx(1 / 2)
    assert found["yaw_error_deg_median"] == pytest.approx(30.0)  # 20 across the back, and 40
    assert found["facing_right"] == pytest.approx(1 / 2)
    # one hit, one false, one missed among the frames where the subject was found
    assert found["joint_flag_precision"] == found["joint_flag_recall"] == pytest.approx(1 / 2)
    assert found["joint_flag_f1"] == pytest.approx(1 / 2)
    assert found["joint_flags_true"] == 2


def test_near_a_border_the_band_is_not_scored() -> None:
    other = Found(heads=[HEAD], band="x", subject_rank=0)
    near = a_case(near_border=True, band="medium", found=other)
    sure = a_case(band="medium", found=Found(heads=[HEAD], band="medium", subject_rank=0))
    assert figures([near, sure])["band_right"] == 1.0


def test_no_cases_are_no_number() -> None:
    found = figures([])
    assert math.isnan(found["subject_found"])
    assert math.isnan(found["crop_level_error_median"])
    assert math.isnan(found["joint_flag_f1"])
