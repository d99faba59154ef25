"""Plans a run over stills: which inputs, which models, which opinions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from framecheck.pipeline.pool import PoolLimits
from framecheck.pipeline.run import Input, Order
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.pipeline.staffing import choose_workers
from framecheck.pipeline.still import (
    OpenMeasurer,
    OpenStillWork,
    ReadPicture,
    StillMeasurer,
    WriteOverlay,
)
from framecheck.records.picture import Picture

if TYPE_CHECKING:
    from framecheck.pose.models import ModelPaths

ModelProgress: TypeAlias = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """The adapters of a run; tests put fakes in their place.

    Attributes:
        find_inputs: what the user named, to inputs.
        provide_measurer: settings and a progress call, to what opens a measurer in a worker.
        read_picture: path to picture; picklable.
        write_overlay: draws and writes an annotated copy; picklable.
    """

    find_inputs: Callable[[Sequence[str]], tuple[Input, ...]]
    provide_measurer: Callable[[Settings, ModelProgress | None], OpenMeasurer]
    read_picture: ReadPicture
    write_overlay: WriteOverlay


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenMediaPipe:
    """Opens a measurer with the MediaPipe networks; picklable.

    Attributes:
        paths: the model files.
        marks: names, sizes and dates of the files, so that results of other models are not
            taken over.
    """

    paths: ModelPaths
    marks: tuple[tuple[str, int, int], ...]

    def __call__(self) -> StillMeasurer:
        """Load the networks."""
        from framecheck.pose.correction import load_corrector
        from framecheck.pose.estimator import MediaPipeEstimator
        from framecheck.pose.networks import open_networks

        return StillMeasurer(MediaPipeEstimator(open_networks(self.paths)), load_corrector())


def real_tools(write_overlay: WriteOverlay) -> Tools:
    """The adapters for real files and real models.

    Args:
        write_overlay: drawing lies on the same floor as this module, so it is handed in.
    """
    return Tools(
        find_inputs=_find_inputs,
        provide_measurer=_provide_measurer,
        read_picture=read_one_still,
        write_overlay=write_overlay,
    )


def plan_order(
    paths: Sequence[str],
    out: Path,
    settings: Settings,
    tools: Tools,
    *,
    progress: ModelProgress | None = None,
) -> Order:
    """The order for measuring stills, everything checked and the models at hand.

    Raises:
        ConfigError: a data file is wrong.
        ModelError: the models cannot be had.
    """
    judging = load_judging(settings)
    inputs = tools.find_inputs(paths)
    work = OpenStillWork(
        open_measurer=tools.provide_measurer(settings, progress),
        read_picture=tools.read_picture,
        write_overlay=tools.write_overlay,
        judging=judging,
    )
    return Order(
        inputs=inputs,
        out=out,
        work=work,
        limits=PoolLimits(workers=choose_workers(None)),
        overlays=settings.overlays,
    )


def read_one_still(path: Path) -> Picture:
    """The decoded still, within the default limits."""
    from framecheck.media.stills import read_still

    return read_still(path)


def _find_inputs(paths: Sequence[str]) -> tuple[Input, ...]:
    from framecheck.media.inputs import find_inputs

    return tuple(
        Input(file=found.name, path=found.path, problem=found.why) for found in find_inputs(paths)
    )


def _provide_measurer(settings: Settings, progress: ModelProgress | None) -> OpenMeasurer:
    from framecheck.pose.models import provide_models

    paths = provide_models(settings.models, progress)
    files = [getattr(paths, name) for name in paths.__slots__]
    marks = tuple(
        (file.name, file.stat().st_size, file.stat().st_mtime_ns)
        for file in files
        if isinstance(file, Path)
    )
    return OpenMediaPipe(paths=paths, marks=marks)
