"""A measured picture in a delivery frame: who is left in it, what it cuts, where it fits best."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from framecheck.classify.flags import find_flags
from framecheck.classify.reread import reread
from framecheck.classify.room import RoomRanges
from framecheck.classify.thresholds import Thresholds
from framecheck.geometry.boxes import holds
from framecheck.geometry.extraction import extract, spare_px
from framecheck.geometry.safe_areas import SafeArea, is_within, safe_area
from framecheck.records.delivery import Delivery, DeliveryReading, Extraction, Placed
from framecheck.records.framing import Edge, FrameMeasurement, PersonFraming, Role
from framecheck.records.judged import Flag, FrameJudgement, Severity
from framecheck.records.values import Box, Measured, NotMeasured

LEAST_BODY_SHARE = 0.1
"""Somebody whose head is outside still counts when this much of what was seen is inside."""
FACE_HALF_WIDTH, BROW = 0.36, 0.30
"""A face on its head, in head heights: half its width, and the brow under the crown. The width is
the head's breadth over its height (ANSUR II: 0.154 m over 0.236 m), with 10 % around it."""
SAME_EDGE_PX = 1.0
ACROSS_STEPS = 20
"""Places that are tried to either side of the middle."""
_ROOM_PARTS = ("headroom", "looking room")
_COSTS = {Severity.HIGH: 4, Severity.MEDIUM: 2, Severity.LOW: 1}
_NO_RULER = NotMeasured(reason="no body ruler to read in another frame")
_NOT_READ = NotMeasured(reason="the sides of a delivery frame are not read")

Judge = Callable[[FrameMeasurement], FrameJudgement]


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryRules:
    """What delivery frames are judged by.

    Attributes:
        judge: names and flags for a measurement.
        thresholds, ranges: what its flags are found by.
    """

    judge: Judge
    thresholds: Thresholds
    ranges: RoomRanges


def read_delivery(
    measurement: FrameMeasurement,
    delivery: Delivery,
    rules: DeliveryRules,
    *,
    best: Placed | None = None,
) -> DeliveryReading:
    """One picture judged in one delivery frame, and the place where the frame would do best.

    Args:
        measurement: the picture.
        delivery: the frame.
        rules: what it is judged by.
        best: where the frame does best, when that is known, as it is for all pictures of a shot;
            None to search for it. What it costs there is told of this picture alone.
    """
    place = best or best_place([measurement], delivery, rules)
    extraction = extract(measurement.picture, delivery)
    inside = measure_in(measurement, extraction.frame)
    faces = faces_of(measurement)
    return DeliveryReading(
        delivery=delivery,
        extraction=extraction,
        measurement=inside,
        judgement=rules.judge(inside),
        faces=len(faces),
        faces_inside=_count_within(faces, extraction.frame),
        faces_safe=_count_within(faces, safe_area(extraction.frame, SafeArea.ACTION)),
        asked=rate_place([measurement], delivery, rules),
        best=rate_place([measurement], at_place(delivery, place), rules),
    )


def measure_in(measurement: FrameMeasurement, frame: Box) -> FrameMeasurement:
    """The measurement as it would be in another frame: those outside are left out.

    The main subject stays the main subject as long as its head is inside; else the next whose head
    is. What the new sides cut is told by the flags of joints, not as a height on the body.
    """
    moved = reread(measurement, frame)
    kept = [
        _with_new_edges(person, measurement.picture, frame)
        for person in moved.people
        if _is_in(person, frame)
    ]
    kept.sort(key=lambda person: not holds(frame, person.nose_px))  # keeps the order otherwise
    people = tuple(replace(person, person=i) for i, person in enumerate(kept))
    if people and people[0].role is Role.BACKGROUND:
        people = (replace(people[0], role=Role.SUBJECT), *people[1:])
    return replace(moved, people=people)


def best_place(
    measurements: Sequence[FrameMeasurement], delivery: Delivery, rules: DeliveryRules
) -> Placed:
    """The offset at which faces are inside, then joints are clear, then the room is right.

    Args:
        measurements: one picture, or those of a shot, which get one frame for all.
        delivery: its own offset is kept when no other one is better.
        rules: what the flags are found by.

    Returns:
        Of places that are as good, the one nearest to what was asked for.
    """
    asked = rate_place(measurements, delivery, rules)
    if _cost(asked) == (0, 0, 0) or not measurements:
        return asked
    places = [rate_place(measurements, moved, rules) for moved in _moved(measurements[0], delivery)]
    return min([asked, *places], key=lambda place: (*_cost(place), _distance(place, asked)))


def at_place(delivery: Delivery, place: Placed) -> Delivery:
    """The same delivery frame at another place."""
    if delivery.fixed_frac is None:
        return replace(
            delivery, offset_x_frac=place.offset_x_frac, offset_y_frac=place.offset_y_frac
        )
    old_x, old_y, w, h = delivery.fixed_frac
    x, y = 0.5 + place.offset_x_frac - w / 2, 0.5 + place.offset_y_frac - h / 2
    outside = delivery.protected_frac
    if outside is not None:
        outside = (outside[0] + x - old_x, outside[1] + y - old_y, *outside[2:])
    return replace(delivery, fixed_frac=(x, y, w, h), protected_frac=outside)


def faces_of(measurement: FrameMeasurement) -> list[Box]:
    """The faces of the people whom the picture is about, as far as the picture shows them."""
    boxes = []
    for person in measurement.people:
        if person.role is Role.FOREGROUND or not holds(measurement.picture, person.nose_px):
            continue
        face = _face_of(person)
        if face is not None:
            boxes.append(_cut_to(face, measurement.picture))
    return boxes


def rate_place(
    measurements: Sequence[FrameMeasurement], delivery: Delivery, rules: DeliveryRules
) -> Placed:
    """What a delivery frame costs where it was asked for, over all pictures of a shot."""
    joint_cost = room_cost = faces_out = 0
    x = y = 0.0
    for measurement in measurements:
        extraction = extract(measurement.picture, delivery)
        inside = measure_in(measurement, extraction.frame)
        flags = find_flags(inside, rules.thresholds, rules.ranges)
        joint_cost += _sum(flag for flag in flags if flag.part not in _ROOM_PARTS)
        room_cost += _sum(flag for flag in flags if flag.part in _ROOM_PARTS)
        faces = faces_of(measurement)
        faces_out += len(faces) - _count_within(faces, extraction.frame)
        x, y = offset_of(extraction, measurement.picture)
    return Placed(
        offset_x_frac=x,
        offset_y_frac=y,
        faces_out=faces_out,
        joint_cost=joint_cost,
        room_cost=room_cost,
    )


def offset_of(extraction: Extraction, picture: Box) -> tuple[float, float]:
    """From the middle of the picture to the middle of the frame, fractions of the picture."""
    (x_px, y_px), (middle_x_px, middle_y_px) = extraction.frame.centre_px, picture.centre_px
    return (x_px - middle_x_px) / picture.w_px, (y_px - middle_y_px) / picture.h_px


def _moved(measurement: FrameMeasurement, delivery: Delivery) -> Iterable[Delivery]:
    """The frame at places along the way that is free, edge to edge."""
    picture = measurement.picture
    spare_x_px, spare_y_px = spare_px(extract(picture, delivery).protected, picture)
    most_x, most_y = spare_x_px / picture.w_px, spare_y_px / picture.h_px
    asked = extract(picture, delivery)
    x_now, y_now = offset_of(asked, picture)
    for step in range(-ACROSS_STEPS, ACROSS_STEPS + 1):
        share = step / ACROSS_STEPS
        ways = [(share * most_x, y_now)] if most_x > 0 else []
        ways += [(x_now, share * most_y)] if most_y > 0 else []
        for x, y in ways:
            place = Placed(offset_x_frac=x, offset_y_frac=y, faces_out=0, joint_cost=0, room_cost=0)
            yield at_place(delivery, place)


def _cost(place: Placed) -> tuple[int, int, int]:
    return (place.faces_out, place.joint_cost, place.room_cost)


def _distance(one: Placed, other: Placed) -> float:
    return abs(one.offset_x_frac - other.offset_x_frac) + abs(
        one.offset_y_frac - other.offset_y_frac
    )


def _sum(flags: Iterable[Flag]) -> int:
    return sum(_COSTS[flag.severity] for flag in flags)


def _count_within(boxes: Iterable[Box], frame: Box) -> int:
    return sum(is_within(box, frame, slack_px=SAME_EDGE_PX) for box in boxes)


def _is_in(person: PersonFraming, frame: Box) -> bool:
    if holds(frame, person.nose_px):
        return True
    shown = _cut_to(person.box, frame).area_px2
    return shown > 0 and shown >= LEAST_BODY_SHARE * person.box.area_px2


def _with_new_edges(person: PersonFraming, old: Box, new: Box) -> PersonFraming:
    kept = {edge for edge in person.cut_edges if abs(_side(old, edge) - _side(new, edge)) <= 1}
    crossed = {edge for edge in Edge if _crosses(person.box, new, edge)}
    edges = tuple(edge for edge in Edge if edge in kept | crossed)
    left, right = (_same_cut(person, edge, (old, new)) for edge in (Edge.LEFT, Edge.RIGHT))
    person = replace(
        person, cut_edges=edges, left_cut=left, right_cut=right, box=_cut_to(person.box, new)
    )
    if person.ruler is None and old != new:
        person = replace(person, crop_level=_NO_RULER, top_level=_NO_RULER, figure_frac=_NO_RULER)
    return person


def _same_cut(person: PersonFraming, edge: Edge, boxes: tuple[Box, Box]) -> Measured:
    old, new = boxes
    cut = person.left_cut if edge is Edge.LEFT else person.right_cut
    return cut if abs(_side(old, edge) - _side(new, edge)) <= SAME_EDGE_PX else _NOT_READ


def _crosses(box: Box, frame: Box, edge: Edge) -> bool:
    at = _side(frame, edge)
    low, high = (box.x_px, box.right_px) if edge in (Edge.LEFT, Edge.RIGHT) else (
        box.y_px, box.bottom_px,
    )  # fmt: skip
    return low + SAME_EDGE_PX < at < high - SAME_EDGE_PX


def _side(box: Box, edge: Edge) -> float:
    return {
        Edge.LEFT: box.x_px,
        Edge.RIGHT: box.right_px,
        Edge.TOP: box.y_px,
        Edge.BOTTOM: box.bottom_px,
    }[edge]


def _face_of(person: PersonFraming) -> Box | None:
    crown, chin, head = person.crown_y_px, person.chin_y_px, person.head_height_px
    if any(isinstance(value, NotMeasured) for value in (crown, chin, head)):
        return None
    assert isinstance(crown, float)
    assert isinstance(chin, float)
    assert isinstance(head, float)
    top, half = min(crown, chin) + BROW * head, FACE_HALF_WIDTH * head
    return Box(
        x_px=person.nose_px[0] - half,
        y_px=top,
        w_px=2 * half,
        h_px=max(0.0, max(crown, chin) - top),
    )


def _cut_to(box: Box, frame: Box) -> Box:
    left, top = max(box.x_px, frame.x_px), max(box.y_px, frame.y_px)
    right, bottom = min(box.right_px, frame.right_px), min(box.bottom_px, frame.bottom_px)
    return Box(x_px=left, y_px=top, w_px=max(0.0, right - left), h_px=max(0.0, bottom - top))
