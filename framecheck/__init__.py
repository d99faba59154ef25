"""framecheck measures framing: where the frame edge cuts the body, and what follows.

`measure_still` is the door; the records it returns are documented where they are defined, in
`framecheck.records`. Importing this package loads no network and no picture library.
"""

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
