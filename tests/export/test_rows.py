"""Records to rows: the contract of the columns, rounding, reasons and texts."""

import dataclasses
from fractions import Fraction

import pytest

from framecheck.export.columns import (
    FRAME_COLUMNS,
    PEOPLE_COLUMNS,
    Kind,
    describe_columns,
    file_columns,
    frame_columns,
    people_columns,
    shot_columns,
)
from framecheck.export.rows import (
    flag_text,
    flags_text,
    row_of_file,
    row_of_shot,
    rows_of_frame,
    writable_text,
)
from framecheck.export.writers import encode_csv
from framecheck.records.clips import (
    ClipHeader,
    ShotResult,
    ShotSpan,
    ShotSummary,
    SizeChange,
    Transition,
)
from framecheck.records.framing import Edge
from framecheck.records.judged import FileReport, FileStatus, Severity, ShotType, SizeName
from framecheck.records.values import NotMeasured
from tests.report.figures import AN_ADVICE, a_flag, a_result

FRAMES_CONTRACT = """file shot frame time_s timecode width_px height_px picture_x_px picture_y_px
picture_w_px picture_h_px people shot_type size size_abbr size_confidence size_second crop_level
top_level headroom_frac look_room_frac eye_line_frac flags advice notes""".split()  # noqa: SIM905  # reads better than a list
PEOPLE_CONTRACT = """file shot frame person role box_x_px box_y_px box_w_px box_h_px nose_x_px
nose_y_px crown_y_px chin_y_px head_height_px crop_level top_level left_cut right_cut headroom_frac
look_room_frac head_yaw_deg head_pitch_deg head_roll_deg facing posture figure_frac flags
confidence""".split()  # noqa: SIM905
SHOTS_CONTRACT = {
    "file", "shot", "start_frame", "end_frame", "start_timecode", "end_timecode", "duration_s",
    "transition", "size", "size_abbr", "size_confidence", "size_start", "size_middle", "size_end",
    "size_change", "stability", "subject_moves", "people", "shot_type", "flags", "frame", "notes",
    "vocabulary", "crop_level",
}  # fmt: skip


def test_the_promised_columns_come_first_in_the_promised_order():
    assert [column.name for column in frame_columns()][: len(FRAMES_CONTRACT)] == FRAMES_CONTRACT
    assert [column.name for column in people_columns()][: len(PEOPLE_CONTRACT)] == PEOPLE_CONTRACT
    assert [column.name for column in file_columns()][:4] == ["file", "status", "why", "where"]
    assert {column.name for column in shot_columns()} >= SHOTS_CONTRACT


@pytest.mark.parametrize(
    "columns", [frame_columns(3), people_columns(), shot_columns(), file_columns()]
)
def test_no_column_comes_twice(columns):
    names = [column.name for column in columns]
    assert len(names) == len(set(names))


def test_every_number_has_a_unit_and_every_column_a_meaning():
    for columns in describe_columns().values():
        for column in columns:
            assert column.meaning.strip()
            assert bool(column.unit) == (column.kind in {Kind.NUMBER, Kind.WHOLE}), column.name


def test_every_row_has_exactly_the_columns():
    frame, people = rows_of_frame(a_result(people=[{}, {"x": 0.8}]), further=2)
    assert list(frame) == [column.name for column in frame_columns(2)]
    assert [list(row) for row in people] == [[c.name for c in people_columns()]] * 2
    report = FileReport(file="a.jpg", status=FileStatus.MEASURED)
    assert list(row_of_file(report)) == [column.name for column in file_columns()]


def test_the_numbers_of_a_picture():
    # Crown at 0.1 and stature 2.0 picture heights: the bottom edge cuts at 1 - 0.9 / 2 = 0.55.
    frame, people = rows_of_frame(a_result(people=[{"crown": 0.1, "stature": 2.0}]))
    assert frame["crop_level"] == people[0]["crop_level"] == 0.55
    assert frame["top_level"] == 1.05
    assert frame["headroom_frac"] == 0.1
    assert frame["eye_line_frac"] == pytest.approx(0.228)
    assert people[0]["head_height_px"] == pytest.approx(187.2)
    assert (frame["width_px"], frame["picture_h_px"], frame["people"]) == (1280, 720.0, 1)
    assert (frame["size"], frame["vocabulary"]) == ("cowboy", "common trade usage")


def test_what_was_not_measured_is_empty_and_says_why():
    frame, people = rows_of_frame(a_result(people=[{"yaw": 0.0}]))
    assert frame["look_room_frac"] is None
    assert frame["look_room_frac_why"] == "faces the lens"
    assert people[0]["left_cut"] is None
    assert people[0]["left_cut_why"] == "the left edge does not cut the body"
    assert frame["crop_level_why"] == ""


def test_a_picture_without_people_says_so_in_every_measure():
    frame, people = rows_of_frame(a_result(people=[]))
    assert people == []
    assert frame["size"] == ""
    assert frame["size_confidence"] is None
    assert frame["shot_type"] == "no people"
    for column in FRAME_COLUMNS:
        if column.measured:
            assert frame[column.name] is None
            assert frame[f"{column.name}_why"] == "no people in the picture"


def test_the_error_of_a_reading_that_is_not_there_is_not_there_either():
    result = a_result()
    person = dataclasses.replace(
        result.measurement.people[0], crop_level=NotMeasured(reason="knees not seen")
    )
    measurement = dataclasses.replace(result.measurement, people=(person,))
    frame, _ = rows_of_frame(dataclasses.replace(result, measurement=measurement))
    assert (frame["crop_error"], frame["crop_level_why"]) == (None, "knees not seen")


def test_every_measured_column_of_people_is_a_field_of_the_record():
    person = a_result().measurement.people[0]
    for column in PEOPLE_COLUMNS:
        if column.measured:
            assert hasattr(person, column.name)


def test_flags_in_text():
    assert flag_text(a_flag("knee", 0.012, Severity.HIGH)) == "knee(bottom,+0.012,high)"
    assert flag_text(a_flag("wrist", -0.02, Severity.LOW, Edge.LEFT)) == "wrist(left,-0.020,low)"
    assert flag_text(a_flag("chin", -0.0001)) == "chin(bottom,+0.000,high)"
    both = (a_flag("knee"), a_flag("elbow", -0.01, Severity.LOW, Edge.RIGHT, person=2))
    assert flags_text(both) == "knee(bottom,+0.012,high); p2:elbow(right,-0.010,low)"


def test_a_person_carries_its_own_flags():
    flags = (a_flag("knee"), a_flag("ankle", person=1))
    _, people = rows_of_frame(a_result(people=[{}, {"x": 0.8}], flags=flags))
    assert [row["flags"] for row in people] == [
        "knee(bottom,+0.012,high)",
        "ankle(bottom,+0.012,high)",
    ]


def test_advice_is_one_cell():
    other = dataclasses.replace(AN_ADVICE, text="Or tilt up.")
    frame, _ = rows_of_frame(a_result(advice=(AN_ADVICE, other)))
    assert frame["advice"] == f"{AN_ADVICE.text} Or tilt up."


def test_further_vocabularies_have_columns_of_their_own():
    result = a_result()
    further = SizeName(vocabulary="nine-class", name="plan", abbr="P", confidence=0.5, second="")
    judgement = dataclasses.replace(result.judgement, sizes=(*result.judgement.sizes, further))
    frame, _ = rows_of_frame(dataclasses.replace(result, judgement=judgement), further=1)
    assert (frame["size_2"], frame["vocabulary_2"], frame["size_confidence_2"]) == (
        "plan",
        "nine-class",
        0.5,
    )


def test_names_that_are_no_text_are_escaped():
    assert writable_text("caf\udce9.jpg") == "caf\\xe9.jpg"
    assert writable_text("café 写真.jpg") == "café 写真.jpg"


def test_a_still_has_no_time_and_a_video_frame_has():
    frame, _ = rows_of_frame(a_result())
    assert (frame["shot"], frame["frame"], frame["time_s"]) == (None, None, None)
    timed = dataclasses.replace(a_result(), shot=2, frame=48, time_s=1.9999996, timecode="01:00")
    frame, people = rows_of_frame(timed)
    assert (frame["shot"], frame["frame"], frame["timecode"]) == (2, 48, "01:00")
    assert (people[0]["shot"], people[0]["frame"]) == (2, 48)


def test_rows_hold_numbers_in_full_and_tables_round_them():
    timed = dataclasses.replace(a_result(), shot=2, frame=48, time_s=1.9999996)
    frame, _ = rows_of_frame(timed)
    assert frame["time_s"] == 1.9999996
    column = [column for column in FRAME_COLUMNS if column.name == "time_s"]
    assert encode_csv(column, [frame]).decode() == "time_s\n2.000\n"


MEDIUM = SizeName(
    vocabulary="trade", name="medium", abbr="MS", confidence=0.8125, second="medium close-up"
)


def a_shot(**changes):
    frames = tuple(
        dataclasses.replace(a_result(), shot=3, frame=number, time_s=number / 24, timecode=code)
        for number, code in ((48, "01:00:02:00"), (96, "01:00:04:00"))
    )
    span = ShotSpan(
        shot=3, start_frame=48, end_frame=120, start_s=Fraction(2), end_s=Fraction(5),
        transition=Transition.DISSOLVE, clean_from_frame=52, clean_to_frame=120,
    )  # fmt: skip
    summary = ShotSummary(
        size=MEDIUM, start_size=None, middle_size=MEDIUM, end_size=MEDIUM,
        size_change=SizeChange.TIGHTENING, stability=0.75, subject_moves=None, people=2,
        shot_type=ShotType.TWO, flags=("knee", "headroom"), frame=96, samples=2,
        notes=("people counted: 1 to 2", "two"),
    )  # fmt: skip
    return ShotResult(
        file="a.mov", span=span, start_timecode="01:00:02:00", end_timecode="01:00:05:00",
        frames=frames, summary=dataclasses.replace(summary, **changes),
    )  # fmt: skip


def test_the_row_of_a_shot():
    row = row_of_shot(a_shot())
    assert list(row) == [column.name for column in shot_columns()]
    told = {
        "file": "a.mov", "shot": 3, "start_frame": 48, "end_frame": 120,
        "start_timecode": "01:00:02:00", "end_timecode": "01:00:05:00", "duration_s": 3.0,
        "transition": "dissolve", "size": "medium", "size_abbr": "MS", "size_confidence": 0.8125,
        "size_second": "medium close-up", "size_start": "", "size_middle": "medium",
        "size_end": "medium", "size_change": "tightening", "stability": 0.75, "subject_moves": "",
        "people": 2, "shot_type": "two", "flags": "knee; headroom", "frame": 96,
        "frame_timecode": "01:00:04:00", "start_s": 2.0, "samples": 2,
        "notes": "people counted: 1 to 2; two", "vocabulary": "trade",
    }  # fmt: skip
    assert {name: row[name] for name in told} == told
    # the reading stands beside the word: it is that of the frame that shows the shot best
    assert row["crop_level"] == rows_of_frame(a_result())[0]["crop_level"]


@pytest.mark.parametrize(("moves", "word"), [(True, "yes"), (False, "no"), (None, "")])
def test_whether_the_subject_moves_is_a_word(moves, word):
    assert row_of_shot(a_shot(subject_moves=moves))["subject_moves"] == word


def test_a_shot_without_a_size_says_why_there_is_no_reading():
    shot = a_shot(size=None, middle_size=None, end_size=None, people=0)
    empty = dataclasses.replace(a_result(people=[]), shot=3, frame=96, time_s=4.0)
    row = row_of_shot(dataclasses.replace(shot, frames=(empty,)))
    assert (row["size"], row["size_confidence"], row["size_end"]) == ("", None, "")
    assert (row["crop_level"], row["crop_level_why"]) == (None, "no people in the picture")


def test_the_row_of_a_clip_has_what_its_header_says():
    header = ClipHeader(
        file="a.mov", width_px=1920, height_px=1080, coded_width_px=1440, coded_height_px=1080,
        pixel_aspect=Fraction(4, 3), rotation_deg=0, rate=Fraction(30000, 1001),
        variable_rate=False, start_timecode="01:00:00;00", drop_frame=True, duration_s=None,
        codec="h264", bits=8, interlaced=False, notes=("pixel aspect 1.3333 squared up",),
    )  # fmt: skip
    report = FileReport(file="a.mov", status=FileStatus.MEASURED, frames=9)
    row = row_of_file(report, header=header, shots=3, duration_s=12.5)
    told = {
        "frames": 9, "shots": 3, "duration_s": 12.5, "rate_fps": 30000 / 1001,
        "start_timecode": "01:00:00;00", "width_px": 1920, "height_px": 1080, "codec": "h264",
        "notes": "pixel aspect 1.3333 squared up",
    }  # fmt: skip
    assert {name: row[name] for name in told} == told
    assert list(row) == [column.name for column in file_columns()]
