"""Shots of a sequence whose every figure is set by hand."""

import math

from framecheck.coverage.changes import BODY_WITNESS, FACE_WITNESSES, FACES_UP_TO_DEG
from framecheck.measure.posture import judge_facing
from framecheck.records.framing import Role
from framecheck.records.judged import ShotType
from framecheck.records.looks import ColourShare, PartLook, PersonLook
from framecheck.records.sequence import Moment, PersonShown, SequenceShot

RED, BLUE, GREEN = (45.0, 60.0, 40.0), (35.0, 15.0, -50.0), (50.0, -45.0, 35.0)
SKIN, DARK = (60.0, 14.0, 18.0), (15.0, 2.0, 3.0)


def a_part(part, colour):
    light, green_red, blue_yellow = colour
    one = ColourShare(light=light, green_red=green_red, blue_yellow=blue_yellow, share=0.7)
    other = ColourShare(light=light - 4, green_red=green_red, blue_yellow=blue_yellow, share=0.3)
    return PartLook(part=part, colours=(one, other))


def a_look(clothes, hair=DARK, face=SKIN):
    parts = (("hair", hair), ("face", face), ("chest", clothes), ("waist", clothes))
    return PersonLook(parts=tuple(a_part(part, colour) for part, colour in parts))


ANNE, BERT, CARL = a_look(RED), a_look(BLUE, hair=(75.0, 4.0, 25.0)), a_look(GREEN)


def read_as(head, yaw):
    """What is read of a bare head of that height, turned so far: hair above, short in profile."""
    return {
        witness.field: head * witness.of_head
        * math.exp(witness.off + witness.off_by_deg * min(abs(yaw), FACES_UP_TO_DEG))
        for witness in (*FACE_WITNESSES, BODY_WITNESS)
    }  # fmt: skip


def shown(look=ANNE, *, head=0.25, yaw=20.0, body=None, x=0.5, eyes=0.35, pitch=0.0, **changes):
    values = {
        "person": 0, "role": Role.SUBJECT, "x_wfrac": x, "y_frac": eyes + 0.03,
        **dict.fromkeys(("head_frac", "face_frac", "figure_frac")),
        **({} if head is None else read_as(head, yaw or 0.0)),
        "headroom_frac": eyes - 0.2,
        "eye_line_frac": eyes, "look_room": 1.5, "head_yaw_deg": yaw, "head_pitch_deg": pitch,
        "body_yaw_deg": yaw if body is None else body,
        "facing": None if yaw is None else judge_facing(yaw), "confidence": 0.9, "look": look,
    }  # fmt: skip
    return PersonShown(**{**values, **changes})


def a_moment(*people, frame=None):
    return Moment(frame=frame, time_s=None, timecode="", people=tuple(people))


def a_shot(
    number, *people, seconds=None, size="medium", abbr="MS", kind=ShotType.SINGLE, **changes
):
    moment = a_moment(*people)
    values = {
        "number": number, "name": f"{number:02d}.jpg", "shot": None, "duration_s": seconds,
        "start_timecode": "", "size": size if people else "", "size_abbr": abbr if people else "",
        "vocabulary": "trade", "shot_type": kind if people else ShotType.NO_PEOPLE,
        "crop_level": 0.55, "first": moment, "best": moment, "last": moment,
    }  # fmt: skip
    return SequenceShot(**{**values, **changes})


def a_talk(*looks, kind=ShotType.SINGLE):
    """Shots of (who, yaw, head) in turn."""
    return [
        a_shot(n, shown(who, yaw=yaw, head=head, x=0.4 if yaw > 0 else 0.6), kind=kind)
        for n, (who, yaw, head) in enumerate(looks)
    ]
