"""Work that misbehaves on command, and an estimator-free way to measure; all picklable."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from framecheck.errors import CannotDecode, ModelBroken
from framecheck.pipeline.run import Input
from framecheck.pipeline.stills import Tools
from framecheck.records.picture import Picture
from framecheck.records.values import Box
from framecheck.report.overlay_file import write_overlay
from tests.report.figures import a_result


@dataclass(frozen=True)
class OpenObedientWork:
    """The worker's function does what the task says."""

    def __call__(self):
        kept = []

        def work(task):
            order, _, argument = task.partition(" ")
            if order == "die":
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


class OpenNothing:
    """A worker that cannot load its models."""

    def __call__(self):
        raise ModelBroken("the model file is torn", where="pose.task")


class OpenAndDie:
    """A worker that crashes while it starts."""

    def __call__(self):
        os._exit(9)


def read_fake(path: Path) -> Picture:
    """A picture whose first sample carries the number in the file; the file's text can hang it."""
    text = Path(path).read_text("utf-8")
    if text.startswith("slow"):
        time.sleep(float(text.split()[1]))
    if text.startswith("die"):
        os._exit(7)
    if text.startswith("torn"):
        raise CannotDecode("the data ends too early", where=str(path))
    if text.startswith("odd"):
        raise KeyError("surprise")
    number = int(text) if text.isdigit() else 1
    rgb = np.full((90, 160, 3), number, dtype=np.uint8)
    return Picture(rgb=rgb, active=Box(x_px=0, y_px=0, w_px=160, h_px=90), name=str(path))


@dataclass(frozen=True)
class FakeMeasurer:
    """Stands for the networks and the measuring: a figure whose size follows the first sample."""

    def measure(self, picture):
        share = float(picture.rgb[0, 0, 0]) / 10
        people = [] if share == 0 else [{"stature": share, "x": 0.4}]
        return a_result(160, 90, people=people).measurement


@dataclass(frozen=True)
class OpenFakeMeasurer:
    """For `OpenStillWork.open_measurer`."""

    def __call__(self):
        return FakeMeasurer()


def find_fakes(paths):
    """Every path is an input; a missing one is a problem; a folder is listed."""
    found = []
    for path in map(Path, paths):
        files = sorted(path.iterdir()) if path.is_dir() else [path]
        found += [
            Input(file=file.name, path=file, problem="" if file.exists() else "no such file")
            for file in files
        ]
    return tuple(found)


def provide_fake(settings, progress):
    return OpenFakeMeasurer()


FAKE_TOOLS = Tools(
    find_inputs=find_fakes,
    provide_measurer=provide_fake,
    read_picture=read_fake,
    write_overlay=write_overlay,
)
