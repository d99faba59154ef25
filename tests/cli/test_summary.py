"""The lines of the summary for results of many kinds."""

from dataclasses import replace
from pathlib import Path

import pytest

from framecheck.cli.shot_lines import MOST_SHOTS
from framecheck.cli.summary import MOST_PICTURES, closing_lines, flags_in_words, summary_lines
from framecheck.cli.text import columns_of
from framecheck.export.rows import row_of_file, rows_of_frame
from framecheck.pipeline.order import FINDING, RunSummary
from framecheck.records.judged import FileReport, FileStatus
from tests.report.figures import AN_ADVICE, a_flag, a_result


def a_summary(results, troubles=(), **changes):
    reports = [FileReport(file=r.file, status=FileStatus.MEASURED, frames=1) for r in results]
    stills = tuple(rows_of_frame(result)[0] for result in results)
    options = {
        "interrupted": False, "taken_over": 0, "left": 0, "shots": (), "shot_count": 0, "sizes": {},
        "flagged_shots": 0, "flagged_stills": sum(bool(row["flags"]) for row in stills), **changes,
    }  # fmt: skip
    clips = options.pop("clips", ())
    return RunSummary(
        files=(*(row_of_file(report) for report in [*reports, *troubles]), *clips),
        stills=stills,
        tables=(Path("out/frames.csv"),),
        **options,
    )


def texts(summary, width=80):
    return [line.text for line in summary_lines(summary, width)]


def test_folders_that_all_share_are_said_once():
    lines = texts(a_summary([a_result(file="/day/one/a.jpg"), a_result(file="/day/two/b.jpg")]))
    assert lines[0] == "In /day/"
    assert lines[2].startswith("one/a.jpg ")
    assert lines[3].startswith("two/b.jpg ")


def test_a_name_is_never_cut_in_the_middle_of_a_folder_name():
    lines = texts(a_summary([a_result(file="day1/a.jpg"), a_result(file="day2/b.jpg")]))
    assert lines[1].startswith("day1/a.jpg ")


@pytest.mark.parametrize(
    ("frac", "words"),
    [(0.12, "12 %"), (-0.004, "0 %"), (-0.74, "cut"), (None, "-")],
)
def test_air_over_a_head_that_is_cut_is_no_share(frac, words):
    summary = a_summary([a_result(file="/day/a.jpg")])
    (row,) = summary.stills
    told = replace(summary, stills=({**row, "headroom_frac": frac},))
    assert f"  {words:>5}  1 single" in texts(told)[2]


def test_flags_and_advice_stand_under_their_picture():
    result = a_result(flags=[a_flag()], advice=[AN_ADVICE], second="medium full")
    lines = texts(a_summary([result]), width=70)
    assert lines[3].startswith("    ? or medium full")
    assert lines[4] == "    ! knee at the bottom edge (+0.012, high)"
    assert lines[5].startswith("    > Move the bottom edge up by 6 %")
    assert lines[6].startswith("      ")
    advice = lines[5 : lines.index("")]
    assert " ".join(" ".join(advice).split()) == f"> {AN_ADVICE.text}"


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        ("", []),
        ("p1:wrist(left,-0.025,medium)", ["wrist of person 1 at the left edge (-0.025, medium)"]),
        (
            "headroom(top,+0.148,medium); looking room(left,-0.289,low)",
            ["headroom: too much (+0.148, medium)", "looking room: too little (-0.289, low)"],
        ),
    ],
)
def test_flags_are_told_in_words(flags, words):
    assert flags_in_words(flags) == words


@pytest.mark.parametrize("width", [50, 60, 80, 110])
def test_every_width_is_kept_by_names_of_every_script(width):
    names = ["a.jpg", "写真" * 30 + ".jpg", "very-long-name-" * 9 + ".jpg", "e\u0301" * 20 + ".jpg"]
    results = [a_result(file=name, flags=[a_flag()], advice=[AN_ADVICE]) for name in names]
    lines = texts(a_summary(results), width)
    assert max(map(columns_of, lines)) <= width
    # The numbers of all pictures stand in the same columns.
    numbers = [line for line in lines if line.endswith("single")]
    assert len({columns_of(line[: line.index(" %")]) for line in numbers}) == 1
    assert len(numbers) == len(names)


def test_what_the_user_named_wrongly_is_told_without_a_stage():
    trouble = FileReport(file="x", status=FileStatus.FAILED, why="no such file", where=FINDING)
    assert texts(a_summary([], [trouble])) == ["failed: x: no such file"]


def test_a_long_list_shows_only_what_needs_a_look():
    many = [a_result(file=f"{n}.jpg") for n in range(MOST_PICTURES + 1)]
    many[7] = a_result(file="flagged.jpg", flags=[a_flag()])
    lines = texts(a_summary(many))
    assert lines[0] == "Only those with flags are listed:"
    assert sum(".jpg" in line for line in lines) == 1
    assert any(line.startswith("flagged.jpg") for line in lines)


def test_troubles_are_told_whatever_the_length():
    trouble = FileReport(file="b.jpg", status=FileStatus.FAILED, why="torn", where="reading")
    skipped = FileReport(file="c.jpg", status=FileStatus.SKIPPED, why="ours", where="")
    lines = texts(a_summary([a_result()], [trouble, skipped]))
    assert lines[-2:] == ["failed: b.jpg: torn (reading)", "skipped: c.jpg: ours"]


@pytest.mark.parametrize(
    ("seconds", "words"), [(3.24, "3.2 s"), (125, "2 min 05 s"), (7500, "2 h 05 min")]
)
def test_the_closing_line_counts(seconds, words):
    summary = a_summary([a_result(flags=[a_flag()]), a_result()], taken_over=1)
    closing = " ".join(line.text.strip() for line in closing_lines(summary, Path("o"), seconds, 80))
    assert closing == (
        f"2 measured (1 of them in an earlier run), 1 with flags in {words}. "
        "Tables in o: frames.csv"
    )


def a_clip(file, shots, duration_s=12.5):
    report = FileReport(file=file, status=FileStatus.MEASURED, frames=9)
    return row_of_file(report, shots=shots, duration_s=duration_s)


def a_shot(file="a.mov", shot=0, **changes):
    return {
        "file": file, "shot": shot, "start_timecode": "01:00:06:04", "duration_s": 4.25,
        "size": "medium close-up", "size_abbr": "MCU", "size_change": "steady", "stability": 1.0,
        "subject_moves": "no", "flags": "", "shot_type": "single", **changes,
    }  # fmt: skip


def test_a_clip_has_its_shots_under_it():
    shots = (a_shot(), a_shot(shot=1, size_change="tightening", stability=0.675, flags="knee"),
             a_shot(shot=2, size="", subject_moves="yes"))  # fmt: skip
    summary = a_summary([], clips=[a_clip("a.mov", 3)], shots=shots, shot_count=3)
    assert texts(summary) == [
        "a.mov: 3 shots, 12.5 s",
        "   shot  from           length  size             change",
        "      0  01:00:06:04     4.2 s  medium close-up  steady",
        "      1  01:00:06:04     4.2 s  medium close-up  tightening, 68 %",
        "         ! knee",
        "      2  01:00:06:04     4.2 s  single           steady, moving",
    ]


def test_many_shots_are_counted_by_size():
    clips = [a_clip("a.mov", MOST_SHOTS + 2, 3725), a_clip("empty.mov", None)]
    sizes = {"a.mov": {"FS": 14, "CU": 28}}
    lines = texts(a_summary([], clips=clips, sizes=sizes, shot_count=MOST_SHOTS + 2))
    assert lines == ["a.mov: 42 shots, 1 h 02 min", "  CU 28, FS 14"]


def test_a_clip_that_failed_is_told_with_the_place():
    trouble = FileReport(
        file="a.mov", status=FileStatus.FAILED, why="broken", where="frame 9 (00:00:00:09)"
    )
    row = row_of_file(trouble, shots=1, duration_s=0.375)
    summary = a_summary([], clips=[row], shots=(a_shot(),), shot_count=1)
    assert texts(summary)[0] == "a.mov: 1 shot, 0.4 s"
    assert texts(summary)[-1] == "failed: a.mov: broken (frame 9 (00:00:00:09))"


def test_shots_stand_in_the_closing_line():
    summary = a_summary([], clips=[a_clip("a.mov", 3)], shot_count=3, flagged_shots=2)
    closing = " ".join(line.text.strip() for line in closing_lines(summary, Path("o"), 3.24, 80))
    assert closing == "1 measured, 3 shots, 2 with flags in 3.2 s. Tables in o: frames.csv"


@pytest.mark.parametrize("width", [50, 80])
def test_lines_of_clips_keep_the_width(width):
    name = "very long name of a clip " * 8 + ".mov"
    flags = "; ".join(["knee", "wrist", "headroom", "looking room"] * 6)
    shots = (a_shot(name, flags=flags, size_change="tightening", subject_moves="yes"),)
    summary = a_summary([], clips=[a_clip(name, 1)], shots=shots, shot_count=1)
    assert max(map(columns_of, texts(summary, width))) <= width
