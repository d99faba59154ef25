"""framecheck measures framing: where the frame edge cuts the body, and what follows.

`measure_still` is the door; the records it returns are documented where they are defined, in
`framecheck.records`. Importing this package loads nothing: each name is loaded when it is used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from framecheck.errors import (
        ConfigError,
        ExportError,
        FramecheckError,
        MediaError,
        ModelError,
        WorkerError,
    )
    from framecheck.measure.camera_place import locate_camera
    from framecheck.pipeline.api import draw_still, measure_still
    from framecheck.pipeline.cuts_api import study_catalog, study_cuts
    from framecheck.pipeline.settings import Settings
    from framecheck.records.coverage import CutThresholds, SequenceStudy
    from framecheck.records.framing import FrameMeasurement, PersonFraming
    from framecheck.records.judged import Advice, Flag, FrameJudgement, FrameResult, SizeName
    from framecheck.records.lens import CameraPlace, Estimate, Lens, Stature
    from framecheck.records.values import NotMeasured

__version__ = "0.1.0"

__all__ = [
    "Advice",
    "CameraPlace",
    "ConfigError",
    "CutThresholds",
    "Estimate",
    "ExportError",
    "Flag",
    "FrameJudgement",
    "FrameMeasurement",
    "FrameResult",
    "FramecheckError",
    "Lens",
    "MediaError",
    "ModelError",
    "NotMeasured",
    "PersonFraming",
    "SequenceStudy",
    "Settings",
    "SizeName",
    "Stature",
    "WorkerError",
    "__version__",
    "draw_still",
    "locate_camera",
    "measure_still",
    "study_catalog",
    "study_cuts",
]

_HOMES = {
    "framecheck.errors": (
        "ConfigError", "ExportError", "FramecheckError", "MediaError", "ModelError", "WorkerError",
    ),
    "framecheck.measure.camera_place": ("locate_camera",),
    "framecheck.pipeline.api": ("draw_still", "measure_still"),
    "framecheck.pipeline.cuts_api": ("study_catalog", "study_cuts"),
    "framecheck.pipeline.settings": ("Settings",),
    "framecheck.records.coverage": ("CutThresholds", "SequenceStudy"),
    "framecheck.records.framing": ("FrameMeasurement", "PersonFraming"),
    "framecheck.records.judged": ("Advice", "Flag", "FrameJudgement", "FrameResult", "SizeName"),
    "framecheck.records.lens": ("CameraPlace", "Estimate", "Lens", "Stature"),
    "framecheck.records.values": ("NotMeasured",),
}  # fmt: skip
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


if not TYPE_CHECKING:  # else every name would seem to be there

    def __getattr__(name: str) -> object:
        """A public name, loaded when it is first asked for: so the commands start fast (PEP 562).

        Raises:
            AttributeError: there is no such name.
        """
        if name not in _HOME_OF:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        value = getattr(import_module(_HOME_OF[name]), name)
        globals()[name] = value
        return value


def __dir__() -> list[str]:
    """The public names, whether they are loaded or not."""
    return sorted(__all__)
