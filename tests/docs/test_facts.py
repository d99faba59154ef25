"""Numbers in the sentences of the documentation are those of the code."""

import math
from pathlib import Path

import pytest

from framecheck.classify import delivery, shot_change, shot_summary, size
from framecheck.classify.thresholds import Thresholds
from framecheck.cli.columns import every_table
from framecheck.coverage import changes, line, statistics
from framecheck.geometry import dome, prominence
from framecheck.geometry.ruler import BODY_LEVELS, MARK_LEVELS
from framecheck.geometry.safe_areas import INSET_FRAC, SafeArea
from framecheck.measure import camera_place, crown, face_share, person, posture, ruler_fit
from framecheck.records.coverage import CutThresholds
from framecheck.records.judged import Severity
from framecheck.records.lens import POPULATION

DOCS = Path(__file__).resolve().parents[2] / "docs"
FLAG, CUT = Thresholds(), CutThresholds()

RULER = "body-ruler.md"
FORMULAS = "reference/formulas.md"
FLAGS = "reference/flags.md"
CUTS = "reference/cuts.md"
LENS = "reference/lens.md"

SAID = [
    (RULER, f"never below {ruler_fit.LEAST_ERROR_LEVEL:g}"),
    (RULER, f"above {person.MOST_ERROR_LEVEL:.2f} the cell stays empty"),
    (FORMULAS, f"at least {ruler_fit.LEAST_ERROR_LEVEL:g}"),
    (FORMULAS, "three-quarter up to {1:g}, profile up to {2:g}".format(*posture.FACING_LIMITS_DEG)),
    (FORMULAS, f"to lens up to {posture.FACING_LIMITS_DEG[0]:g} degrees"),
    (FORMULAS, f"thighs lie more than {posture.SEATED_THIGH_DEG:g} degrees"),
    (FORMULAS, f"trunk is more than {posture.LYING_TORSO_DEG:g} degrees"),
    (FORMULAS, f"r^{dome.DOME_POWER:g})^(1/{dome.DOME_POWER:g})` over the eyes"),
    (FORMULAS, f"({crown.BEHIND_EYES:g} eye-to-chin lengths behind the eyes"),
    (FORMULAS, f"expected error is over {person.MOST_HEADROOM_ERROR_FRAC:g}"),
    (FORMULAS, f"empty under {person.LOOK_LEAST_DEG:g} and over 165 degrees"),
    (FORMULAS, f"(1, or {prominence.BACK_WEIGHT:.2f} from behind)"),
    (FORMULAS, f"no more than {face_share.SAME_SIZE:g} times as far"),
    (FORMULAS, f"its eyes {face_share.TELLING_FRAC:g} of the picture's height or more"),
    (FORMULAS, f"less its yaw, at least {face_share.TURNED_LEAST_DEG:g}"),
    (FORMULAS, f"error of the figure height {100 * size.FIGURE_ERROR:g} %"),
    (FORMULAS, f"when that is at least {100 * size.SECOND_MASS:g} %"),
    (FORMULAS, f"at least half as high ({FLAG.background_head_ratio:g} in the background)"),
    (FORMULAS, f"log figure height (from {100 * (math.exp(shot_change.SCALE_CHANGE) - 1):.0f} %)"),
    (FORMULAS, f"from {shot_change.CROP_CHANGE_LEVEL:g}, and from {shot_change.ERRORS:g} times"),
    (FORMULAS, f"a turn of {shot_change.TURN_DEG:g} degrees"),
    (FORMULAS, f"weights {changes.HEAD_WEIGHT:g} and {changes.BODY_WEIGHT:g}"),
    (FORMULAS, f"{statistics.PER} x count / shots"),
    (FORMULAS, f"{100 * INSET_FRAC[SafeArea.ACTION]:g} % of width and height"),
    (FORMULAS, f"{2 * delivery.FACE_HALF_WIDTH:g} head heights wide, from {delivery.BROW:.2f}"),
    (FLAGS, f"sole to {FLAG.ankle_to_level:g}, to {FLAG.mid_calf_to_level:g}, "
            f"to {FLAG.knee_to_level:g}"),
    (FLAGS, f"high within {FLAG.joint_core_level:g} of the joint"),
    (FLAGS, f"{FLAG.chin_from_level:.2f} to {FLAG.chin_to_level:.2f}"),
    (FLAGS, f"less than {1 - FLAG.crown_from_level:.2f} of the head"),
    (FLAGS, f"crop level up to {FLAG.crown_accepted_level:g}"),
    (FLAGS, f"within {FLAG.elbow_reach_level:g} (elbow) or {FLAG.wrist_reach_level:g} of"),
    (FLAGS, f"from a figure of {FLAG.room_figure_min_frac:g} picture heights on"),
    (FLAGS, f"off by more than {FLAG.room_medium_frac:g}"),
    (FLAGS, f"three-quarter with {FLAG.three_quarter_look_share:g} of it"),
    (CUTS, f"changes {CUT.size_ratio_min:g} times or more; or the angle by {CUT.angle_min_deg:g} "
           "degrees or more"),
    (CUTS, f"the size changes {CUT.size_ratio_large:g} times or more"),
    (CUTS, f"| size | {CUT.pair_size_ratio:g} times |"),
    (CUTS, f"| headroom | {CUT.pair_headroom_frac:g} of the height |"),
    (CUTS, f"| eye line | {CUT.pair_eye_line_frac:g} of the height |"),
    (CUTS, f"| looking room | {CUT.pair_look_room_wfrac:.2f} of the width |"),
    (CUTS, f"tells it | {CUT.pair_lens_height_deg:g} degrees |"),
    (CUTS, f"look and lens | {CUT.pair_closeness_deg:g} degrees |"),
    (LENS, f"{POPULATION.mean_m:.2f} m with a standard deviation of {POPULATION.sd_m:g} m"),
    (LENS, f"take {camera_place.USUAL_TILT_SD_DEG:g} degrees"),
]  # fmt: skip


@pytest.mark.parametrize(("page", "words"), SAID)
def test_a_page_says_what_the_code_does(page, words):
    text = " ".join((DOCS / page).read_text("utf-8").split())
    assert words in text


def test_the_marks_are_told_with_their_heights():
    for page in (RULER, FORMULAS):
        text = " ".join((DOCS / page).read_text("utf-8").split()).replace("hip joint", "hip")
        for name in ("eye", "chin", "shoulder", "hip", "knee", "ankle"):
            assert f"{name} {MARK_LEVELS[name]:.3f}" in text, (page, name)
    text = (DOCS / FORMULAS).read_text("utf-8")
    for name, level in BODY_LEVELS.items():
        assert f"{name} {level:.3f}" in text


def test_half_is_half():
    """Words that stand for numbers."""
    assert FLAG.subject_head_ratio == shot_summary.FLAGGED_SHARE == 0.5
    assert shot_change.MOVE_FRAC == 0.2  # "a fifth of the picture's width or height"
    assert FLAG.advice_max_frac == 0.25  # "nothing over a quarter of the height"
    assert FLAG.crown_from_level == 0.97
    assert FLAG.wrist_reach_level == FLAG.fingertips_reach_level
    assert line.FEWEST_TURNS == 2
    assert delivery._COSTS == {Severity.HIGH: 4, Severity.MEDIUM: 2, Severity.LOW: 1}


def test_columns_that_sentences_name_exist():
    names = {column.name for columns in every_table().values() for column in columns}
    text = (DOCS / FORMULAS).read_text("utf-8")
    cells = [line.split("|")[1] for line in text.splitlines() if line.startswith("| `")]
    told = {name.strip(" `") for cell in cells for name in cell.split(",") if "`" in name}
    told = {name.removesuffix("` of a shot").strip("`") for name in told}
    assert len(told) > 20
    assert told <= names
