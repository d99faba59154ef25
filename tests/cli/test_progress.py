"""Progress: bars on a terminal, plain lines elsewhere, nothing when quiet."""

import io

from framecheck.cli import progress as module
from framecheck.cli.progress import RunProgress, ended_line, state_line
from framecheck.export.rows import row_of_file
from framecheck.pipeline.order import ClipState, RunState
from framecheck.records.judged import FileReport, FileStatus


def a_state(**changes):
    clips = (ClipState(file="a.mov", share=0.5), ClipState(file="b.mov", share=None))
    options = {"done": 3, "total": 12, "share": 0.255, "left_s": 4000.0, "clips": clips, **changes}
    return RunState(**options)


def a_row(**changes):
    options = {"file": "a.mov", "status": FileStatus.MEASURED, **changes}
    shots = options.pop("shots", 7)
    return row_of_file(FileReport(**options), shots=shots)


def test_the_state_in_one_line():
    assert state_line(a_state()) == (
        "3 of 12 done, 26 % of the work, about 1 h 06 min left; reading a.mov 50 %, b.mov"
    )
    assert state_line(a_state(left_s=None, clips=())) == "3 of 12 done, 26 % of the work"


def test_the_end_of_an_input_in_one_line():
    assert ended_line(a_row(), 95.0, None) == "a.mov: measured, 7 shots in 1 min 35 s"
    failed = a_row(status=FileStatus.FAILED, why="broken", shots=None)
    line = ended_line(failed, 2.0, a_state())
    assert line == "a.mov: failed: broken (about 1 h 06 min left)"


def test_without_a_terminal_a_line_comes_now_and_then(capsys, monkeypatch):
    clock = iter([0.0, 10.0, 61.0, 61.0, 70.0])
    monkeypatch.setattr(module.time, "monotonic", lambda: next(clock))
    with RunProgress() as progress:
        for _ in range(3):
            progress.watcher.moved(a_state())
    lines = capsys.readouterr().err.splitlines()
    assert lines == [f"framecheck: {state_line(a_state())}"]


def test_quiet_says_nothing_at_all(capsys):
    with RunProgress(quiet=True) as progress:
        watcher = progress.watcher
        watcher.moved(a_state())
        watcher.ended(a_row(status=FileStatus.FAILED, why="broken"), 1.0)
        watcher.told("waiting for another run")
    assert capsys.readouterr() == ("", "")


def test_stills_that_went_well_are_not_told_one_by_one(capsys):
    with RunProgress() as progress:
        progress.watcher.ended(a_row(shots=None), 1.0)
        progress.watcher.told("a word\x1b[2J")
    assert capsys.readouterr().err == "framecheck: a word\\x1b[2J\n"


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_terminal_shows_a_bar_for_the_run_and_one_for_each_clip(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr(module.sys, "stderr", terminal)
    monkeypatch.setenv("COLUMNS", "100")
    with RunProgress() as progress:
        watcher = progress.watcher
        watcher.moved(a_state())
        bars = progress._bars._progress
        assert [task.description for task in bars.tasks] == ["measuring", "a.mov", "b.mov"]
        assert [task.completed for task in bars.tasks] == [0.255, 0.5, 0]
        assert bars.tasks[0].fields == {"count": "3/12", "left": "1 h 06 min left"}
        watcher.moved(a_state(clips=(ClipState(file="b.mov", share=0.1),)))
        assert [task.description for task in bars.tasks] == ["measuring", "b.mov"]
        watcher.ended(a_row(), 3.0)
        watcher.told("one [bold]word[/bold]")
    assert "one [bold]word[/bold]" in terminal.getvalue()
    assert "a.mov: measured" not in terminal.getvalue()  # its bar has gone, that is enough
