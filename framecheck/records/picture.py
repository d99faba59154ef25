"""A decoded picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.records.values import Box


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A decoded still or frame, upright.

    Attributes:
        rgb: (height, width, 3) uint8, sRGB order, read-only; not copied, as it is large.
        active: the part without black bars, pixels of the whole file.
        name: the file, or words for an array.
        notes: what was done on the way in ("16 bit reduced to 8", "turned by its EXIF mark").
    """

    rgb: npt.NDArray[np.uint8]
    active: Box
    name: str = "array"
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.rgb.ndim != 3 or self.rgb.shape[2] != 3 or self.rgb.dtype != np.uint8:
            raise ValueError(
                "rgb needs shape (height, width, 3) and uint8, "
                f"got {self.rgb.shape} {self.rgb.dtype}"
            )
        view = self.rgb.view()
        view.setflags(write=False)  # a view, so that the caller's own array stays writable
        object.__setattr__(self, "rgb", view)
