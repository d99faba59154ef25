"""Every threshold of flags, advice, shot types and room, in one frozen record.

Values are ours, placed on the ruler's marks by common practice; both ends of a zone belong to it.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from framecheck.classify.toml_text import check_keys, parse_toml, read_number
from framecheck.errors import ConfigError

_ZONES = ("ankle", "mid_calf", "knee", "chin")


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """Where an opinion begins. Levels are fractions of stature, 0 at the sole, 1 at the crown.

    Below the knee the zones touch: each part takes what is nearer to it than to its neighbour,
    as a cut between two bad places is no good place either.

    Attributes:
        ankle_from_level, ankle_to_level: zone of the bottom edge; starts at the sole.
        mid_calf_from_level, mid_calf_to_level: the same for the middle of the lower leg.
        knee_from_level, knee_to_level: ends a hand above the kneecap; mid-thigh (0.41) is free.
        chin_from_level, chin_to_level: from just under the chin to under the mouth.
        joint_core_level: a leg cut this near to its mark, or nearer, is severe; else medium.
        crown_from_level: top edge from here up to the crown trims the head slightly.
        crown_accepted_level: tighter than this crop level a trimmed crown is accepted practice.
        elbow_reach_level, wrist_reach_level, fingertips_reach_level: an edge that crosses the arm
            this near to the joint, or nearer, is flagged.
        limb_error_level: standard deviation of a seen arm joint's distance to the edge.
        limb_guess_error_level: the same for a joint outside the picture, placed by proportion.
        body_half_width_level: the bottom edge cuts a body whose ruler crosses it no farther than
            this outside the picture's sides.
        room_figure_min_frac: headroom and looking room are judged from this figure height over
            the picture height on; smaller figures belong to their surroundings.
        headroom_error_frac: standard deviation of the headroom, picture heights.
        look_error_ratio: standard deviation of the looking room, as a share of itself.
        look_aspect_min: narrower pictures (width over height) have no width to give, and looking
            room is not judged in them.
        room_medium_frac: room off its range by more than this is of medium severity, else low.
        three_quarter_look_share: a face turned by three quarters needs this share of a profile's
            looking room.
        subject_head_ratio: a further subject counts from this head height over the main
            subject's on; smaller people are never flagged.
        background_head_ratio: a person in the background counts from this one on.
        behind_yaw_deg: a head turned from the lens by this much or more is seen from behind;
            half-way from profile to three-quarter back.
        insert_top_level: with the top edge under this level the head is out of the picture.
        advice_max_frac: largest change that is advised, picture heights or field sizes.
    """

    ankle_from_level: float = 0.0
    ankle_to_level: float = 0.1005
    mid_calf_from_level: float = 0.1005
    mid_calf_to_level: float = 0.2235
    knee_from_level: float = 0.2235
    knee_to_level: float = 0.33
    chin_from_level: float = 0.86
    chin_to_level: float = 0.90
    joint_core_level: float = 0.045
    crown_from_level: float = 0.97
    crown_accepted_level: float = 0.769
    elbow_reach_level: float = 0.025
    wrist_reach_level: float = 0.03
    fingertips_reach_level: float = 0.03
    limb_error_level: float = 0.02
    limb_guess_error_level: float = 0.04
    body_half_width_level: float = 0.10
    room_figure_min_frac: float = 0.45
    headroom_error_frac: float = 0.008
    look_error_ratio: float = 0.08
    look_aspect_min: float = 1.2
    room_medium_frac: float = 0.08
    three_quarter_look_share: float = 0.7
    subject_head_ratio: float = 0.5
    background_head_ratio: float = 0.6
    behind_yaw_deg: float = 112.5
    insert_top_level: float = 0.87
    advice_max_frac: float = 0.25

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            if not math.isfinite(value) or value < 0:
                raise ValueError(f"{field.name} must be a finite number >= 0, got {value}")
        for zone in _ZONES:
            start = getattr(self, f"{zone}_from_level")
            stop = getattr(self, f"{zone}_to_level")
            if start > stop:
                raise ValueError(
                    f"{zone}_from_level must not be above {zone}_to_level, got {start} and {stop}"
                )
        if self.advice_max_frac >= 1:
            raise ValueError(f"advice_max_frac must be below 1, got {self.advice_max_frac}")


def parse_thresholds(text: str, where: str) -> Thresholds:
    """The thresholds that a TOML text asks for; what it leaves out keeps its default.

    Args:
        text: lines such as `knee_to_level = 0.34`, keys as in `Thresholds`.
        where: the file as the user named it, for messages.

    Raises:
        ConfigError: not TOML, an unknown key, not a number, or a value that makes no sense.
    """
    table = parse_toml(text, where)
    check_keys(table, [field.name for field in dataclasses.fields(Thresholds)], where)
    values = {key: read_number(table, key, where) for key in table}
    try:
        return Thresholds(**values)
    except ValueError as error:
        raise ConfigError(f"{where}: {error}; correct the value", where=where) from error
