"""Reads lens and camera settings from the EXIF block of a still.

Tags and their meaning: Exif 2.32 (CIPA DC-008). Files state nonsense often enough (0 for unknown,
fractions over 0), so that a value counts only within what can be.
"""

from __future__ import annotations

import logging
import math
import warnings
from collections.abc import Mapping
from pathlib import Path

from framecheck.errors import CannotDecode, CannotOpen
from framecheck.media.files import read_bytes
from framecheck.media.headers import READABLE, kind_of, open_header
from framecheck.media.limits import DEFAULT_LIMITS, Limits
from framecheck.media.names import shown_name
from framecheck.records.lens_data import LensData

LOG = logging.getLogger(__name__)

_EXIF_IFD, _ORIENTATION = 0x8769, 0x0112
_ON_ITS_SIDE = (5, 6, 7, 8)
_F_NUMBER, _FOCAL, _FOCAL_35 = 0x829D, 0x920A, 0xA405
_DISTANCE, _LENS_MODEL = 0x9206, 0xA434
_PLANE_X, _PLANE_Y, _PLANE_UNIT = 0xA20E, 0xA20F, 0xA210
_WIDTH, _HEIGHT = 0xA002, 0xA003
_UNIT_MM = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}
_LONGEST_NAME = 200


def read_lens_data(path: Path, limits: Limits = DEFAULT_LIMITS) -> LensData:
    """What the still says of its lens; all empty when it says nothing.

    Args:
        path: any still that `read_still` reads.
        limits: as there.

    Raises:
        CannotOpen: not there, not readable, or not a picture.
        OverLimit: larger than the limits.
        CannotDecode: its header is broken.
    """
    name = shown_name(path)
    data = read_bytes(path, limits.max_file_bytes)
    kind = kind_of(data)
    if not kind:
        raise CannotOpen(f"{name} is not a picture that can be read ({READABLE})", where=name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            picture = open_header(data, kind)
    except Exception as error:  # parsers fail on broken bytes in every way there is
        raise CannotDecode(f"{name} is broken in its header; export it again", where=name) from (
            error
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            block = picture.getexif()
            tags = {**block.get_ifd(_EXIF_IFD), _ORIENTATION: block.get(_ORIENTATION)}
            size = picture.size
    except Exception as error:
        LOG.debug("broken EXIF in %s: %s", name, error)
        return LensData()
    return lens_data_of(tags, size)


def lens_data_of(tags: Mapping[int, object], size_wh_px: tuple[int, int]) -> LensData:
    """The settings that EXIF tags state.

    Args:
        tags: of the Exif sub-IFD, by number, and the orientation.
        size_wh_px: of the picture as stored, where the tags leave it out.
    """
    return LensData(
        focal_mm=_number(tags.get(_FOCAL), 1.0, 5000.0),
        focal_35_mm=_number(tags.get(_FOCAL_35), 1.0, 10_000.0),
        sensor_wh_mm=_sensor(tags, size_wh_px),
        aperture=_number(tags.get(_F_NUMBER), 0.3, 200.0),
        subject_distance_m=_number(tags.get(_DISTANCE), 0.01, 10_000.0),
        lens=_name(tags.get(_LENS_MODEL)),
        turned=tags.get(_ORIENTATION) in _ON_ITS_SIDE,
    )


def _sensor(tags: Mapping[int, object], size_wh_px: tuple[int, int]) -> tuple[float, float] | None:
    unit = _number(tags.get(_PLANE_UNIT, 2), 2, 5)
    across = _number(tags.get(_PLANE_X), 1e-3, 1e9)
    down = _number(tags.get(_PLANE_Y), 1e-3, 1e9)
    if unit is None or across is None or down is None:
        return None
    width = _number(tags.get(_WIDTH), 1, 1e6) or size_wh_px[0]
    height = _number(tags.get(_HEIGHT), 1, 1e6) or size_wh_px[1]
    unit_mm = _UNIT_MM.get(round(unit), 25.4)
    sides_mm = (width / across * unit_mm, height / down * unit_mm)
    return sides_mm if all(1 <= side <= 500 for side in sides_mm) else None


def _number(value: object, least: float, most: float) -> float | None:
    try:
        number = float(value)  # type: ignore[arg-type]  # whatever the file holds
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) and least <= number <= most else None


def _name(value: object) -> str:
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    if not isinstance(value, str):
        return ""
    return shown_name(value.strip("\0 "))[:_LONGEST_NAME]
