"""The Python door: one call for one still."""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from framecheck.pipeline.noise import hushed
from framecheck.pipeline.settings import Judging, Settings, load_judging
from framecheck.records.judged import FrameResult

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from framecheck.pipeline.measurer import StillMeasurer
    from framecheck.records.picture import Picture

StillSource: TypeAlias = "str | os.PathLike[str] | npt.NDArray[np.generic]"


def measure_still(source: StillSource, settings: Settings | None = None) -> FrameResult:
    """The framing of one still: who is in it, where the edges cut, its size names and flags.

    The networks are loaded on the first call (and fetched, when they are not in the cache) and
    kept for the next ones. Not to be called from several threads at once.

    Args:
        source: a file, or an array: (height, width, 3) or (height, width, 4) in the order red,
            green, blue, alpha, or (height, width) grey; uint8, uint16, or float in 0..1.
        settings: vocabularies, thresholds, room ranges and models; the defaults when None.

    Returns:
        `measurement` with the people, the main subject first, in pixels of the whole file (x
        right, y down) and fractions of the active picture; `judgement` with names, flags, advice.

    Raises:
        MediaError: the file cannot be used.
        ModelError: the model files cannot be had.
        ConfigError: a vocabulary, threshold or room file is wrong.
        ValueError: the array has another shape or type than stated.

    Note:
        The ruler's marks are the segment heights of Drillis & Contini (1966), as tabled in
        Winter, *Biomechanics and Motor Control of Human Movement*.

    Example:
        >>> import framecheck
        >>> result = framecheck.measure_still("still.jpg")  # doctest: +SKIP
        >>> result.judgement.sizes[0].name, result.measurement.people[0].crop_level
        ... # doctest: +SKIP
        ('medium close-up', 0.713)
    """
    settings = settings or Settings()
    picture = _read(source)
    measurement = _measurer(settings.models).measure(picture)
    return FrameResult(
        file=picture.name, measurement=measurement, judgement=_judging(settings).judge(measurement)
    )


def draw_still(source: StillSource, result: FrameResult) -> Any:  # noqa: ANN401 - NumPy stays unloaded
    """The annotated copy of a measured still.

    Args:
        source: the same file or array that was measured.
        result: what `measure_still` returned for it.

    Returns:
        (height, width, 3) uint8; taller than the source where text needs room of its own.

    Raises:
        MediaError: the file cannot be used.
    """
    from framecheck.report.overlay import draw_overlay

    return draw_overlay(_read(source).rgb, result)


def _read(source: StillSource) -> Picture:
    if isinstance(source, (str, os.PathLike)):
        from framecheck.media.stills import read_still

        return read_still(Path(source))
    from framecheck.media.arrays import picture_from_array

    return picture_from_array(source)


@lru_cache(maxsize=2)
def _measurer(models: Path | None) -> StillMeasurer:
    from framecheck.pipeline.measurer import OpenMediaPipe
    from framecheck.pose.models import provide_models

    paths = provide_models(models)
    with hushed():  # a hundred lines about loading that are of no use to anybody
        return OpenMediaPipe(paths=paths)()


@lru_cache(maxsize=8)
def _judging(settings: Settings) -> Judging:
    return load_judging(settings)
