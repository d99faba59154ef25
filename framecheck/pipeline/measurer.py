"""What measures a decoded picture, and how a worker loads it."""

from __future__ import annotations

from dataclasses import dataclass
from multiprocessing import parent_process
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from framecheck.measure.corrector import Corrector
from framecheck.measure.frame import measure_frame
from framecheck.records.framing import FrameMeasurement
from framecheck.records.picture import Picture

if TYPE_CHECKING:
    from framecheck.pose.estimator import Estimator
    from framecheck.pose.models import ModelPaths


class Measurer(Protocol):
    """Anything that turns a decoded picture into a measurement."""

    def measure(self, picture: Picture) -> FrameMeasurement:
        """The measurement of one picture."""
        ...


class OpenMeasurer(Protocol):
    """Loads a measurer in a worker; picklable."""

    @property
    def version(self) -> str:
        """A text that changes when the models do, the same on every machine."""
        ...

    def elsewhere(self) -> OpenMeasurer:
        """The same for a machine that has to provide the models itself; it checks their version."""
        ...

    def __call__(self) -> Measurer:
        """Load it."""
        ...


class StillMeasurer:
    """Measures decoded pictures with one loaded estimator."""

    def __init__(self, estimator: Estimator, corrector: Corrector) -> None:
        self._estimator = estimator
        self._corrector = corrector

    def measure(self, picture: Picture) -> FrameMeasurement:
        """The measurement of one picture, its reading notes carried along."""
        height_px, width_px = picture.rgb.shape[:2]
        seen = self._estimator.see(picture)
        return measure_frame(
            (width_px, height_px), picture.active, seen, self._corrector,
            notes=picture.notes, rgb=picture.rgb,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenMediaPipe:
    """Opens a measurer with the MediaPipe networks; picklable.

    Attributes:
        paths: the model files.
        version: see `OpenMeasurer`; a checksum of what the files hold.
        source: where the user said that missing model files are.
        one_core: leave the other cores to the other workers; for a fresh process of our own.
    """

    paths: ModelPaths
    version: str = ""
    source: Path | None = None
    one_core: bool = False

    def elsewhere(self) -> OpenMeasurer:
        """The same with the models of the machine where it is called."""
        from framecheck.pipeline.elsewhere import ProvideMediaPipe

        own = self.paths.pose_task.absolute() if self.paths.notes else None  # named by the user
        return ProvideMediaPipe(version=self.version, source=self.source, pose_task=own)

    def __call__(self) -> StillMeasurer:
        """Load the networks."""
        if self.one_core:
            from framecheck.pose.one_core import keep_to_one_core

            keep_to_one_core()
        if parent_process() is not None:
            from framecheck.pose.lean_import import load_mediapipe

            load_mediapipe()
        from framecheck.pose.correction import load_corrector
        from framecheck.pose.estimator import MediaPipeEstimator
        from framecheck.pose.lookout import open_own_networks
        from framecheck.pose.networks import open_networks

        estimator = MediaPipeEstimator(open_networks(self.paths), own=open_own_networks())
        return StillMeasurer(estimator, load_corrector())
