"""Work for the pool that misbehaves on command; light, as many processes load it."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from framecheck.errors import ModelBroken
from framecheck.pipeline.worker import Beat

MARKS = "FRAMECHECK_TEST_MARKS"
"""Folder for what fakes leave behind: orders that are to be obeyed once, and what was measured."""


@dataclass(frozen=True)
class OpenObedientWork:
    """The worker's function does what the task says."""

    def __call__(self):
        kept = []

        def work(task):
            order, _, argument = task.partition(" ")
            if order == "die":
                os._exit(7)
            if order == "die-once" and first_time(argument):
                os._exit(7)
            if order == "kill":
                os.kill(os.getpid(), 9)
            if order == "hang":
                time.sleep(600)
            if order == "nap":
                time.sleep(float(argument))
            if order == "eat":
                kept.append(np.ones(int(argument) * 1024 * 1024, dtype=np.uint8))
            return f"{task} by {os.getpid()}" if order == "who" else task

        return work


@dataclass(frozen=True)
class OpenTalker:
    """A work in parts: as many as the task says, with signs of life; some tasks stop half way."""

    def __call__(self):
        def work(task):
            count, _, trouble = task.partition(" ")
            for number in range(int(count)):
                yield Beat(about=number)
                if trouble == "hang" and number == 2:
                    time.sleep(600)
                if trouble == "eat":
                    try:
                        np.ones(700 * 1024**2, dtype=np.uint8)
                    except MemoryError:
                        return "not enough memory"
                yield np.full((600, 500), number, dtype=np.uint8)
            return f"{count} sent"

        return work


class OpenNothing:
    """A worker that cannot load its models."""

    def __call__(self):
        raise ModelBroken("the model file is torn", where="pose.task")


class OpenAndDie:
    """A worker that crashes while it starts."""

    def __call__(self):
        os._exit(9)


def first_time(name):
    """True for the one who asks first, in whatever process."""
    try:
        (Path(os.environ[MARKS]) / name).touch(exist_ok=False)
    except FileExistsError:
        return False
    return True


def note(what):
    """Leave a line for the test to count."""
    if MARKS in os.environ:
        with (Path(os.environ[MARKS]) / "notes").open("a") as file:
            file.write(f"{what}\n")


def noted(kind):
    """What was noted of that kind ("still", "read", "measured"), in order."""
    path = Path(os.environ[MARKS]) / "notes"
    lines = path.read_text("utf-8").splitlines() if path.exists() else []
    return [line.removeprefix(f"{kind} ") for line in lines if line.startswith(f"{kind} ")]
