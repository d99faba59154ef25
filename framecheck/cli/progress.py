"""Progress on stderr, for terminals alone."""

from __future__ import annotations

import contextlib
import sys
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress, ProgressColumn, TaskID


class _Bar:
    """A bar that is shown on a terminal and is nothing elsewhere."""

    def __init__(self, words: str, columns: str, *, quiet: bool = False) -> None:
        self._bar: Progress | None = None
        self._task: TaskID | None = None
        self._words, self._columns = words, columns
        self._wanted = sys.stderr.isatty() and not quiet
        self._stack = contextlib.ExitStack()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stack.close()

    def _update(self, done: float, total: float, words: str) -> None:
        if not self._wanted:
            return
        if self._bar is None or self._task is None:
            self._bar = self._stack.enter_context(_make_bar(self._columns))
            self._task = self._bar.add_task(words, total=total)
        self._bar.update(self._task, completed=done, total=total, description=words)


class RunProgress(_Bar):
    """Pictures done, a bar, and the time left."""

    def __init__(self, *, quiet: bool = False) -> None:
        super().__init__("measuring", "count", quiet=quiet)

    def __enter__(self) -> RunProgress:
        """Use as a context manager, so that the bar is cleared."""
        return self

    def show(self, done: int, total: int) -> None:
        """Called by the run."""
        self._update(done, total, self._words)


class ModelProgress(_Bar):
    """What is being fetched, and how far it is."""

    def __init__(self, *, quiet: bool = False) -> None:
        super().__init__("providing the models", "share", quiet=quiet)

    def __enter__(self) -> ModelProgress:
        """Use as a context manager, so that the bar is cleared."""
        return self

    def show(self, words: str, share: float) -> None:
        """Called by the model store."""
        self._update(share, 1.0, words)


def _make_bar(columns: str) -> Progress:
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TaskProgressColumn,
        TextColumn,
        TimeRemainingColumn,
    )

    count: ProgressColumn = MofNCompleteColumn() if columns == "count" else TaskProgressColumn()
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        count,
        TimeRemainingColumn(),
        TextColumn("left"),
        console=Console(stderr=True),
        transient=True,
    )
