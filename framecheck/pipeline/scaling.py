"""From the pixels of a picture scaled for analysis to those of the whole file."""

from __future__ import annotations

from dataclasses import replace

from framecheck.records.framing import BodyRuler, FrameMeasurement, PersonFraming
from framecheck.records.values import Box, Measured, NotMeasured, PointPx


def in_file_pixels(measurement: FrameMeasurement, size_wh_px: tuple[int, int]) -> FrameMeasurement:
    """The same measurement in pixels of the whole file.

    Args:
        measurement: of the scaled picture.
        size_wh_px: width and height of the file, upright and with square pixels.
    """
    if (measurement.width_px, measurement.height_px) == size_wh_px:
        return measurement
    scale = _Scale(size_wh_px[0] / measurement.width_px, size_wh_px[1] / measurement.height_px)
    return replace(
        measurement,
        width_px=size_wh_px[0],
        height_px=size_wh_px[1],
        picture=scale.box(measurement.picture),
        people=tuple(scale.person(person) for person in measurement.people),
    )


class _Scale:
    """Two factors that differ by the rounding of the small picture's sides alone."""

    def __init__(self, across: float, down: float) -> None:
        self._across, self._down = across, down

    def person(self, person: PersonFraming) -> PersonFraming:
        return replace(
            person,
            box=self.box(person.box),
            nose_px=self.point(person.nose_px),
            crown_y_px=self.down(person.crown_y_px),
            chin_y_px=self.down(person.chin_y_px),
            head_height_px=self.down(person.head_height_px),
            ruler=None if person.ruler is None else self.ruler(person.ruler),
            joints=tuple(
                replace(joint, x_px=joint.x_px * self._across, y_px=joint.y_px * self._down)
                for joint in person.joints
            ),
            skeleton_px=tuple((self.point(a), self.point(b)) for a, b in person.skeleton_px),
        )

    def ruler(self, ruler: BodyRuler) -> BodyRuler:
        marks = tuple(
            replace(mark, x_px=mark.x_px * self._across, y_px=mark.y_px * self._down)
            for mark in ruler.marks
        )
        return replace(ruler, marks=marks, figure_px=ruler.figure_px * self._down)

    def box(self, box: Box) -> Box:
        return Box(
            x_px=box.x_px * self._across,
            y_px=box.y_px * self._down,
            w_px=box.w_px * self._across,
            h_px=box.h_px * self._down,
        )

    def point(self, point: PointPx) -> PointPx:
        return point[0] * self._across, point[1] * self._down

    def down(self, value: Measured) -> Measured:
        return value if isinstance(value, NotMeasured) else value * self._down
