"""How likely two pictures show the same person: by the colours of hair, face and clothes alone.

Only within one sequence, where people keep their clothes on. The weights were fitted on rendered
sequences of the tuning seeds (`tests/bench/fit_likeness.py`), and then drawn a little towards two
people, so that whoever is in doubt is not called the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from framecheck.records.looks import LOOK_PARTS, PersonLook
from framecheck.records.sequence import PersonShown

FloatArray = npt.NDArray[np.float64]

LIGHT_SHARE = 0.8
"""How much a step of lightness counts beside one of hue."""
MAIN_SHARE = 0.5
"""How much of a distance is that of each main colour to the nearest one of the other part."""
MOST_LIGHT = 0.3
"""One light may be stronger than the other by up to this, as the logarithm of L* + 16: a step of
exposure. So much is taken out before colours are compared."""
MOST_CAST = 4.0
"""And warmer or cooler by up to this, in steps of a* and b*; so much is taken out as well."""
CAPS = (45.0, 45.0, 45.0, 45.0, 45.0)
"""Distances beyond say no more, in the order of the parts."""
WEIGHTS = (0.228, 0.153, 0.308, 0.06, 0.12)
OFFSETS = (2.0, 0.9, 4.4, 0.5, 1.6)
PRIOR = 0.0
"""Each part that both show speaks for one person by its offset, and against by weight times
distance, all in log odds; the prior stands for the cut itself."""
SIDE_ODDS = 1.2
"""Who looks left in one shot and right in the other is rather two people who look at each other
than one whom the camera has crossed over: so much against, in log odds."""
SIDE_FROM_DEG = 8.0
"""Nearer to the lens axis than this nobody looks to a side."""
MOST = 9.0
"""Log odds beyond are not believed."""

_PLACES = {part: place for place, part in enumerate(LOOK_PARTS)}
_CAPS, _WEIGHTS, _OFFSETS = np.array(CAPS), np.array(WEIGHTS), np.array(OFFSETS)
_AXES, _DARK = np.array([LIGHT_SHARE, 1.0, 1.0]), np.array([16.0, 0.0, 0.0])


def look_array(looks: Sequence[PersonLook | None]) -> FloatArray:
    """(N, parts, 8): light, green-red, blue-yellow and share of both colours; NaN where unseen."""
    found = np.full((len(looks), len(LOOK_PARTS), 8), np.nan)
    for row, look in enumerate(looks):
        for part in () if look is None else look.parts:
            one, other = part.colours
            found[row, _PLACES[part.part]] = (*one, *other)
    return found


def part_distances(one: FloatArray, other: FloatArray) -> FloatArray:
    """How unlike the parts are.

    Half of it is the work of turning one pair of colours into the other (the earth mover's
    distance), half how far each main colour is from the nearest one of the other part.

    Args:
        one: (..., parts, 8) as from `look_array`.
        other: the same, of a shape that fits.

    Returns:
        (..., parts) in steps of colour; NaN where one was not seen.
    """
    p, q = one[..., 3], other[..., 3]
    near = _steps(one, other)
    low, high = np.maximum(0.0, p + q - 1.0), np.minimum(p, q)
    gain = near[..., 0, 0] + near[..., 1, 1] - near[..., 0, 1] - near[..., 1, 0]
    # The work falls or rises evenly with what stays in its own colour: the best lies at an end.
    flow = np.where(gain < 0, high, low)
    work = (
        flow * near[..., 0, 0]
        + (p - flow) * near[..., 0, 1]
        + (q - flow) * near[..., 1, 0]
        + (1.0 - p - q + flow) * near[..., 1, 1]
    )
    # An open coat shows more or less of what is under it: the main colour alone speaks as well.
    main = near[..., 0, 0]
    found = (np.minimum(main, near[..., 0, 1]) + np.minimum(main, near[..., 1, 0])) / 2
    return np.asarray((1.0 - MAIN_SHARE) * work + MAIN_SHARE * found)


def log_odds(distances: FloatArray) -> FloatArray:
    """Natural logarithm of the odds that two people are one; 0 where no part was seen in both."""
    seen = np.isfinite(distances)
    spoken = np.where(seen, _OFFSETS - _WEIGHTS * np.minimum(distances, _CAPS), 0.0)
    summed = np.where(seen.any(axis=-1), spoken.sum(axis=-1) + PRIOR, 0.0)
    return np.asarray(np.clip(summed, -MOST, MOST))


def side_of(person: PersonShown) -> float:
    """-1 who looks left, +1 who looks right, 0 when neither can be told."""
    yaw_deg = person.head_yaw_deg
    if yaw_deg is None or not SIDE_FROM_DEG < abs(yaw_deg) < 180.0 - SIDE_FROM_DEG:
        return 0.0
    return math.copysign(1.0, yaw_deg)


def probability(odds: float) -> float:
    """0..1 of log odds."""
    return 1.0 / (1.0 + math.exp(-max(-MOST, min(MOST, odds))))


def _steps(one: FloatArray, other: FloatArray) -> FloatArray:
    """(..., parts, 2, 2) steps of colour from each of the two colours to each of the other two."""
    colours = _in_one_light(one, other)
    gap = (colours[0][..., :, None, :] - colours[1][..., None, :, :]) * _AXES
    return np.asarray(np.sqrt(np.einsum("...i,...i->...", gap, gap)))


def _in_one_light(one: FloatArray, other: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(..., parts, 2, 3) colours of both under one light, each moved half the way.

    Twice the light multiplies L* + 16, a* and b* alike (CIE 1976, but for the dark end of its
    curve); a cast moves a* and b*. Both are medians over the parts that both show.
    """
    light = _middle(np.log(_mean(other)[..., 0] / _mean(one)[..., 0]), MOST_LIGHT)
    half = np.exp(light / 2)[..., None, None, None]
    cast = [
        _middle(_mean(other)[..., axis] / half[..., 0, 0] - _mean(one)[..., axis] * half[..., 0, 0],
                MOST_CAST)
        for axis in (1, 2)
    ]  # fmt: skip
    shift = np.stack([np.zeros_like(cast[0]), *cast], axis=-1)[..., None, None, :] / 2
    return _colours(one) * half + shift, _colours(other) / half - shift


def _colours(looks: FloatArray) -> FloatArray:
    """(..., parts, 2, 3) L* + 16, a* and b* of both colours."""
    return np.asarray(looks.reshape((*looks.shape[:-1], 2, 4))[..., :3] + _DARK)


def _mean(looks: FloatArray) -> FloatArray:
    """(..., parts, 3) the mean colour of each part, L* + 16."""
    share = looks[..., 3:4]
    return np.asarray(looks[..., :3] * share + looks[..., 4:7] * (1.0 - share) + _DARK)


def _middle(gaps: FloatArray, most: float) -> FloatArray:
    """(...) the median over the parts, NaN left out, within +-`most`; 0 where all are NaN."""
    ordered = np.sort(gaps, axis=-1)  # NaN comes last
    count = np.isfinite(ordered).sum(axis=-1)[..., None]
    low = np.take_along_axis(ordered, np.maximum(count - 1, 0) // 2, axis=-1)
    high = np.take_along_axis(ordered, count // 2, axis=-1)
    middle = np.where(count > 0, (low + high) / 2, 0.0)[..., 0]
    return np.asarray(np.clip(middle, -most, most))
