"""The networks on a machine that the run was not started on: provided there, and checked."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.errors import ModelBroken
from framecheck.pipeline.measurer import OpenMediaPipe, StillMeasurer

if TYPE_CHECKING:
    from framecheck.pose.models import ModelPaths

_CHUNK_BYTES = 1024**2


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvideMediaPipe:
    """Provides the model files on the machine where it is called, and opens them; picklable.

    Attributes:
        version: what they must come to.
        source: where missing ones are, as the user said; left out where it is not there.
        pose_task: a bundle of the user's own, on a path that all machines share.
    """

    version: str
    source: Path | None = None
    pose_task: Path | None = None

    def elsewhere(self) -> ProvideMediaPipe:
        """It is made for that."""
        return self

    def __call__(self) -> StillMeasurer:
        """Provide, check and load them.

        Raises:
            ModelError: they cannot be had, or are others than those of the run.
        """
        from framecheck.pose.models import provide_models

        source = self.source if self.source is not None and self.source.exists() else None
        paths = provide_models(source, pose_task=self.pose_task)
        if version_of(paths) != self.version:
            raise ModelBroken(
                "the models there are not those that the run was started with; "
                "'framecheck models' says which they are"
            )
        return OpenMediaPipe(paths=paths, version=self.version)()


def version_of(paths: ModelPaths) -> str:
    """A checksum of what the files hold, and not of where they lie."""
    files = (getattr(paths, name) for name in paths.__slots__)
    return _checksum(file for file in files if isinstance(file, Path))


def _checksum(files: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for file in files:
        with file.open("rb") as content:
            while chunk := content.read(_CHUNK_BYTES):
                digest.update(chunk)
    return digest.hexdigest()[:16]
