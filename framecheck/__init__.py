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
from framecheck.pipeline.api import draw_still, measure_still
from framecheck.pipeline.settings import Settings
from framecheck.records.framing import FrameMeasurement, PersonFraming
from framecheck.records.judged import Advice, Flag, FrameJudgement, FrameResult, SizeName
from framecheck.records.values import NotMeasured

__version__ = "0.1.0"

__all__ = [
    "Advice",
    "ConfigError",
    "ExportError",
    "Flag",
    "FrameJudgement",
    "FrameMeasurement",
    "FrameResult",
    "FramecheckError",
    "MediaError",
    "ModelError",
    "NotMeasured",
    "PersonFraming",
    "Settings",
    "SizeName",
    "WorkerError",
    "__version__",
    "draw_still",
    "measure_still",
]
