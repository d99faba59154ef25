"""Progress on stderr: bars on a terminal, plain lines elsewhere."""

from __future__ import annotations

import contextlib
import sys
import time
from types import TracebackType
from typing import TYPE_CHECKING

import typer

from framecheck.cli.text import duration_text, printable
from framecheck.records.judged import FileStatus

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

    from framecheck.export.rows import Row
    from framecheck.pipeline.order import RunState, Watcher

LOG_EACH_S = 60.0
"""How often a line without an occasion says how far the run is."""


class RunProgress:
    """How far a run is, clip by clip, with the time left."""

    def __init__(self, *, quiet: bool = False) -> None:
        self._stack = contextlib.ExitStack()
        self._quiet = quiet
        self._bars = _RunBars(self._stack) if sys.stderr.isatty() and not quiet else None
        self._logged_s = time.monotonic()
        self._state: RunState | None = None

    def __enter__(self) -> RunProgress:
        """Use as a context manager, so that the bars are cleared."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stack.close()

    @property
    def watcher(self) -> Watcher:
        """What the run tells."""
        from framecheck.pipeline.order import Watcher

        return Watcher(moved=self._moved, ended=self._ended, told=self._told)

    def _moved(self, state: RunState) -> None:
        self._state = state
        if self._bars is not None:
            self._bars.show(state)
        elif time.monotonic() - self._logged_s >= LOG_EACH_S:
            self._log(state_line(state))

    def _ended(self, row: Row, seconds: float) -> None:
        # A line for each of many thousand stills would say nothing.
        clip, failed = row["shots"] is not None, row["status"] != FileStatus.MEASURED.value
        if self._bars is None and (clip or failed):
            self._log(ended_line(row, seconds, self._state))

    def _told(self, words: str) -> None:
        if self._bars is not None:
            self._bars.print(words)
        else:
            self._log(words)

    def _log(self, words: str) -> None:
        self._logged_s = time.monotonic()
        if not self._quiet:
            typer.echo(f"framecheck: {printable(words)}", err=True)


def state_line(state: RunState) -> str:
    """How far the run is, in one line."""
    left = f", about {duration_text(state.left_s)} left" if state.left_s is not None else ""
    line = f"{state.done} of {state.total} done, {state.share * 100:.0f} % of the work{left}"
    clips = [
        f"{clip.file} {clip.share * 100:.0f} %" if clip.share is not None else clip.file
        for clip in state.clips
    ]
    return f"{line}; reading {', '.join(clips)}" if clips else line


def ended_line(row: Row, seconds: float, state: RunState | None) -> str:
    """How one input fared, in one line."""
    line = f"{row['file']}: {row['status']}"
    if row["shots"] is not None:
        line += f", {row['shots']} shots in {duration_text(seconds)}"
    if row["why"]:
        line += f": {row['why']}"
    if state is not None and state.left_s is not None:
        line += f" (about {duration_text(state.left_s)} left)"
    return line


class _RunBars:
    """A bar for the whole run and one for each clip in hand."""

    def __init__(self, stack: contextlib.ExitStack) -> None:
        self._stack = stack
        self._progress: Progress | None = None
        self._whole: TaskID | None = None
        self._clips: dict[str, TaskID] = {}

    def show(self, state: RunState) -> None:
        progress = self._start()
        left = "" if state.left_s is None else f"{duration_text(state.left_s)} left"
        if self._whole is None:
            self._whole = progress.add_task("measuring", total=1.0, count="", left="")
        count = f"{state.done}/{state.total}"
        progress.update(self._whole, completed=state.share, count=count, left=left)
        shown = {clip.file: clip.share for clip in state.clips}
        for file in [file for file in self._clips if file not in shown]:
            progress.remove_task(self._clips.pop(file))
        for file, share in shown.items():
            if file not in self._clips:
                name = printable(file)[-40:]
                self._clips[file] = progress.add_task(name, total=None, count="", left="")
            if share is not None:
                progress.update(self._clips[file], completed=share, total=1.0)

    def print(self, words: str) -> None:
        self._start().console.print(printable(words), markup=False, highlight=False)

    def _start(self) -> Progress:
        if self._progress is None:
            self._progress = self._stack.enter_context(_make_bars("{task.fields[count]}"))
        return self._progress


class ModelProgress:
    """What is being fetched, and how far it is; on a terminal alone."""

    def __init__(self, *, quiet: bool = False) -> None:
        self._wanted = sys.stderr.isatty() and not quiet
        self._stack = contextlib.ExitStack()
        self._bar: Progress | None = None
        self._task: TaskID | None = None

    def __enter__(self) -> ModelProgress:
        """Use as a context manager, so that the bar is cleared."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stack.close()

    def show(self, words: str, share: float) -> None:
        """Called by the model store."""
        if not self._wanted:
            return
        if self._bar is None or self._task is None:
            self._bar = self._stack.enter_context(_make_bars("{task.percentage:>3.0f}%"))
            self._task = self._bar.add_task(words, total=1.0, left="")
        self._bar.update(self._task, completed=share, description=words)


def _make_bars(count: str) -> Progress:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    return Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn(count),
        TextColumn("{task.fields[left]}"),
        console=Console(stderr=True),
        transient=True,
    )
