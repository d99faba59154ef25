"""The annotated still as a file."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image

from framecheck.export.atomic import write_atomically
from framecheck.records.judged import FrameResult
from framecheck.records.picture import Picture
from framecheck.report.overlay import draw_overlay

_QUALITY = 92


def write_overlay(picture: Picture, result: FrameResult, path: Path) -> Path:
    """Write the annotated copy of a picture as a JPEG, whole or not at all.

    Raises:
        ExportError: it cannot be written.
    """
    buffer = io.BytesIO()
    drawn = Image.fromarray(draw_overlay(picture.rgb, result))
    drawn.save(buffer, format="JPEG", quality=_QUALITY, subsampling=0)
    return write_atomically(path, buffer.getvalue())
