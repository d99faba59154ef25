"""Plans a run: which inputs, which models, which opinions, which adapters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from framecheck.catalog.catalog import CATALOG_NAME
from framecheck.pipeline import process
from framecheck.pipeline.clip import ClipTask, Collect, Collector, Frames, OpenClipWork, OpenFrames
from framecheck.pipeline.clip_bars import FindActive, Pixels
from framecheck.pipeline.elsewhere import version_of
from framecheck.pipeline.measurer import OpenMeasurer, OpenMediaPipe
from framecheck.pipeline.measuring import OpenMeasuring
from framecheck.pipeline.order import Input, MediaKind, Order
from framecheck.pipeline.settings import (
    Settings,
    describe_settings,
    load_judging,
    settings_fingerprint,
)
from framecheck.pipeline.staffing import choose_limits
from framecheck.pipeline.still import ReadPicture, WriteOverlay
from framecheck.records.clips import ClipHeader
from framecheck.records.picture import Picture
from framecheck.records.values import Box

ModelProgress: TypeAlias = Callable[[str, float], None]

STEP_S = 0.25
"""Frames are kept so far apart, so that the start, the middle and the end of each shot are met to
an eighth of a second. Keeping costs memory alone; pictures are made of what is sent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """The adapters of a run; tests put fakes in their place. All but the first two are picklable.

    Attributes:
        find_inputs: what the user named, to inputs.
        provide_measurer: settings and a progress call, to what opens a measurer in a worker.
        read_picture: path to picture.
        write_overlay: draws and writes an annotated copy.
        open_frames: opens a clip.
        collect: the header of a clip to what cuts it into shots.
        find_active: a frame to its picture without black bars.
    """

    find_inputs: Callable[[Sequence[str], Settings], tuple[Input, ...]]
    provide_measurer: Callable[[Settings, ModelProgress | None], OpenMeasurer]
    read_picture: ReadPicture
    write_overlay: WriteOverlay
    open_frames: OpenFrames
    collect: Collect
    find_active: FindActive


def real_tools(write_overlay: WriteOverlay) -> Tools:
    """The adapters for real files and real models.

    Args:
        write_overlay: drawing loads its fonts and colours, which only the command line needs.
    """
    return Tools(
        find_inputs=_find_inputs,
        provide_measurer=_provide_measurer,
        read_picture=read_one_still,
        write_overlay=write_overlay,
        open_frames=open_one_clip,
        collect=collect_shots,
        find_active=find_active_picture,
    )


def plan_order(
    paths: Sequence[str],
    out: Path,
    settings: Settings,
    tools: Tools,
    *,
    progress: ModelProgress | None = None,
) -> Order:
    """The order for measuring, everything checked and the models at hand; catalog in `out`.

    Args:
        paths: what the user named.
        out: the output folder.
        settings: what changes the results.
        tools: the adapters.
        progress: hears of the models' arrival.

    Raises:
        ConfigError: a data file is wrong.
        ModelError: the models cannot be had.
    """
    judging = load_judging(settings)
    inputs = tools.find_inputs(paths, settings)
    measuring = OpenMeasuring(
        open_measurer=tools.provide_measurer(settings, progress),
        read_picture=tools.read_picture,
        write_overlay=tools.write_overlay,
        judging=judging,
    )
    models = measuring.open_measurer.version
    return Order(
        inputs=inputs,
        out=out,
        catalog=out / CATALOG_NAME,
        measuring=measuring,
        reading=OpenClipWork(
            open_frames=tools.open_frames, collect=tools.collect, find_active=tools.find_active
        ),
        limits=choose_limits(None),
        fingerprint=settings_fingerprint(judging, models),
        described=describe_settings(judging, models=models),
        overlays=settings.overlays,
    )


def read_one_still(path: Path) -> Picture:
    """The decoded still, within the default limits."""
    from framecheck.media.stills import read_still

    return read_still(path)


def open_one_clip(task: ClipTask) -> AbstractContextManager[Frames]:
    """The opened clip, or the numbered frames as one, within the default limits."""
    from framecheck.media.clips import ClipLimits, open_clip, open_frames

    limits = ClipLimits(threads=task.threads)
    if task.rate is not None:
        return open_frames(task.path, task.file, task.rate, limits)
    return open_clip(task.path, task.file, limits)


def collect_shots(header: ClipHeader) -> Collector:
    """What cuts a clip into shots and keeps frames of them."""
    from framecheck.shots.finder import BoundaryFinder
    from framecheck.shots.takes import CollectLimits, ShotCollector

    limits = CollectLimits(step_s=STEP_S)
    return ShotCollector(header, BoundaryFinder(header.rate), limits)


def find_active_picture(rgb: Pixels) -> Box:
    """The picture without black bars."""
    from framecheck.media import bars

    return bars.find_active_picture(rgb)


def _find_inputs(paths: Sequence[str], settings: Settings) -> tuple[Input, ...]:
    from framecheck.media.inputs import Found, find_inputs
    from framecheck.media.numbering import pattern_files

    def to_input(found: Found) -> Input:
        kind = MediaKind(found.kind)
        numbered = kind is MediaKind.FRAMES and not found.why
        frames = pattern_files(found.path) if numbered else ()
        return Input(
            file=found.name,
            path=found.path,
            problem=found.why,
            kind=kind,
            frames=tuple(path for _number, path in frames),
            rate=settings.frame_rate if numbered else None,
        )

    return tuple(
        to_input(found) for found in find_inputs(paths, frames_as_clip=settings.frames_as_clip)
    )


def _provide_measurer(settings: Settings, progress: ModelProgress | None) -> OpenMeasurer:
    from framecheck.pose.models import provide_models

    paths = provide_models(settings.models, progress)
    source = settings.models.absolute() if settings.models is not None else None
    # A forked worker would wait for threads of OpenCV that were left behind in its parent.
    fresh = process.START_METHOD == "spawn"
    return OpenMediaPipe(paths=paths, version=version_of(paths), source=source, one_core=fresh)
