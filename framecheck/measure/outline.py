"""A person of whom only an outline was found: counted and placed, but not measured on the ruler."""

from __future__ import annotations

from framecheck.measure.silhouette import find_touches, mask_box
from framecheck.records.framing import Edge, PersonFraming, Role
from framecheck.records.seen import MaskSeen
from framecheck.records.values import Box, NotMeasured, PointPx

NO_JOINTS = NotMeasured(reason="only an outline was found")


def frame_outline(
    outline: MaskSeen, picture: Box, *, person: int, role: Role, head_px: PointPx | None = None
) -> PersonFraming:
    """The framing of a near back or of a figure that fills the picture.

    Args:
        outline: its pixels.
        picture: the active picture.
        person: its number.
        role: its part.
        head_px: middle of its head; taken to be at the top of the outline when it is not known.
    """
    box = mask_box(outline, picture) or picture
    near = role is Role.FOREGROUND
    cut_edges = tuple(find_touches(outline, picture))
    return PersonFraming(
        person=person,
        role=role,
        choice="a near outline without a face, cut by the side"
        if near
        else "the only person found, an outline without a face",
        box=box,
        nose_px=head_px or (box.centre_px[0], box.y_px),
        crown_y_px=NO_JOINTS,
        chin_y_px=NO_JOINTS,
        head_height_px=NO_JOINTS,
        ruler=None,
        crop_level=NO_JOINTS,
        top_level=NO_JOINTS,
        left_cut=_cut(Edge.LEFT, cut_edges),
        right_cut=_cut(Edge.RIGHT, cut_edges),
        headroom_frac=NO_JOINTS,
        look_room_frac=NO_JOINTS,
        look_ahead_wfrac=NO_JOINTS,
        eye_line_frac=NO_JOINTS,
        head_yaw_deg=NO_JOINTS,
        head_pitch_deg=NO_JOINTS,
        head_roll_deg=NO_JOINTS,
        facing=None,
        posture=None,
        figure_frac=NO_JOINTS,
        joints=(),
        skeleton_px=(),
        confidence=0.5,
        cut_edges=cut_edges,
        notes=("found by the people mask alone",),
    )


def _cut(edge: Edge, cut_edges: tuple[Edge, ...]) -> NotMeasured:
    how = "cuts it at an unknown height" if edge in cut_edges else "is clear of it"
    return NotMeasured(reason=f"only an outline was found; the {edge.value} edge {how}")
