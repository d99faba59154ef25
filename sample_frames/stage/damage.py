"""What happens to a picture after the lens: movement, noise, night, flat contrast, back light."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_frames.stage.bodies import Floats

Image = NDArray[np.uint8]

KINDS = (
    "shaken", "moved", "noisy", "night", "flat", "silhouette", "mono", "soft", "squeezed",
)  # fmt: skip


@dataclass(frozen=True)
class Damage:
    """One kind of damage, or none.

    Attributes:
        kind: One of `KINDS`, or empty.
        amount: How much, 0 to 1.
        angle_deg: Direction of a movement.
        seed: Of the noise.
    """

    kind: str = ""
    amount: float = 0.5
    angle_deg: float = 0.0
    seed: int = 0


@dataclass(frozen=True, eq=False)
class Take:
    """What a change works on: the picture, where the people are, and the wish."""

    image: Floats
    people: NDArray[np.bool_]
    damage: Damage
    rng: np.random.Generator


def damage_picture(image: Image, owners: NDArray[np.int32], damage: Damage) -> Image:
    """Return the picture with its damage; marks stay where they were.

    Args:
        image: (H, W, 3) RGB.
        owners: (H, W) number of the person seen, -1 for the set.
        damage: What to do.
    """
    if not damage.kind:
        return image
    rng = np.random.default_rng(damage.seed)
    out = _CHANGES[damage.kind](Take(image.astype(np.float32), owners >= 0, damage, rng))
    return np.asarray(out.clip(0, 255), np.uint8)


def _streak(image: Floats, damage: Damage) -> Floats:
    """Blur along a line, centred on where things are in the middle of the exposure."""
    half = max(2.0, (0.004 + 0.016 * damage.amount) * image.shape[0])
    size = int(2 * np.ceil(half) + 1)
    kernel = np.zeros((size, size), np.float32)
    way = half * np.array(
        [np.cos(np.radians(damage.angle_deg)), np.sin(np.radians(damage.angle_deg))]
    )
    middle = np.array([size // 2, size // 2])
    ends = [tuple(int(v) for v in np.round((middle + s * way) * 16)) for s in (-1, 1)]
    cv2.line(kernel, ends[0], ends[1], 1.0, 1, cv2.LINE_AA, shift=4)
    return cv2.filter2D(image, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REFLECT)


def _grain(image: Floats, sigma: float, rng: np.random.Generator) -> Floats:
    """Sensor noise: some of it a pixel wide, some of it a coarse colour blotch."""
    height, width = image.shape[:2]
    fine = rng.standard_normal((height, width, 1), np.float32) * sigma
    small = rng.standard_normal((height // 3 + 1, width // 3 + 1, 3), np.float32) * sigma
    return image + fine + cv2.resize(small, (width, height), interpolation=cv2.INTER_LINEAR)


def _shaken(take: Take) -> Floats:
    return _streak(take.image, take.damage)


def _moved(take: Take) -> Floats:
    """Only the people moved."""
    mask = take.people.astype(np.float32)[..., None]
    cover = _streak(np.repeat(mask, 3, axis=2), take.damage)
    return _streak(take.image * mask, take.damage) + take.image * (1 - cover)


def _noisy(take: Take) -> Floats:
    return _grain(take.image, 6.0 + 14.0 * take.damage.amount, take.rng)


def _night(take: Take) -> Floats:
    """A dark picture with a cold or a warm cast, noise and a pool of light somewhere."""
    height, width = take.image.shape[:2]
    row, column = np.mgrid[0:height, 0:width].astype(np.float32)
    x, y = take.rng.uniform(0.1, 0.9) * width, take.rng.uniform(0.0, 0.7) * height
    pool = np.exp(-(((column - x) ** 2 + (row - y) ** 2) / (0.45 * width) ** 2))[..., None]
    cast = np.array(
        [0.75, 0.9, 1.15] if take.rng.random() < 0.6 else [1.15, 0.92, 0.62], np.float32
    )
    level = (0.42 - 0.20 * take.damage.amount) * (0.6 + 0.9 * pool)
    return _grain(take.image * level * cast, 2.0 + 4.0 * take.damage.amount, take.rng)


def _flat(take: Take) -> Floats:
    """Contrast and colour of an ungraded logarithmic recording."""
    grey = take.image.mean(axis=2, keepdims=True)
    pale = grey + (take.image - grey) * (0.55 - 0.2 * take.damage.amount)
    curve = np.log1p(pale.clip(0) * 0.06) / np.log1p(255 * 0.06)
    return (0.20 + 0.08 * take.damage.amount + (0.52 - 0.14 * take.damage.amount) * curve) * 255


def _silhouette(take: Take) -> Floats:
    """People dark before a bright ground that blooms around them."""
    mask = cv2.GaussianBlur(take.people.astype(np.float32), (0, 0), 0.9)[..., None]
    behind = 255 * (take.image / 255).clip(0, 1) ** (0.55 - 0.2 * take.damage.amount)
    behind = behind * 0.7 + 80
    dark = take.image * (0.20 - 0.16 * take.damage.amount)
    out = behind * (1 - mask) + dark * mask
    bloom = cv2.GaussianBlur(out, (0, 0), 0.02 * take.image.shape[0])
    return out + 0.12 * bloom * mask


def _mono(take: Take) -> Floats:
    weights = take.rng.dirichlet([3.0, 5.0, 2.0]).astype(np.float32)
    grey = np.repeat((take.image @ weights)[..., None], 3, axis=2)
    return _grain((grey - 128) * (1.0 + 0.4 * take.damage.amount) + 128, 3.0, take.rng)


def _soft(take: Take) -> Floats:
    return cv2.GaussianBlur(
        take.image, (0, 0), (0.0015 + 0.004 * take.damage.amount) * take.image.shape[0]
    )


def _squeezed(take: Take) -> Floats:
    """Coded with too few bits."""
    small = cv2.resize(take.image, None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA)
    small = small.clip(0, 255).astype(np.uint8)
    quality = int(38 - 26 * take.damage.amount)
    _, coded = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, quality])
    back = cv2.imdecode(coded, cv2.IMREAD_COLOR)
    return cv2.resize(back, take.image.shape[1::-1], interpolation=cv2.INTER_LINEAR).astype(
        np.float32
    )


_CHANGES = {
    "shaken": _shaken, "moved": _moved, "noisy": _noisy, "night": _night, "flat": _flat,
    "silhouette": _silhouette, "mono": _mono, "soft": _soft, "squeezed": _squeezed,
}  # fmt: skip
