"""Measurements in words, for drawings and for the summary."""

from __future__ import annotations

from framecheck.geometry.ruler import BODY_LEVELS, MARK_LEVELS
from framecheck.records.framing import FrameMeasurement, PersonFraming
from framecheck.records.judged import Flag, FrameJudgement
from framecheck.records.values import Measured, NotMeasured

_MID_THIGH = (MARK_LEVELS["hip"] + MARK_LEVELS["knee"]) / 2
_WAIST = 0.602  # navel height of men and women alike (ANSUR II, NATICK/TR-15/007)
_NECK = (MARK_LEVELS["chin"] + MARK_LEVELS["shoulder"]) / 2
_PLACES: tuple[tuple[float, str], ...] = tuple(
    sorted(
        [(level, name) for name, level in MARK_LEVELS.items()]
        + [(BODY_LEVELS["chest"], "chest"), (_WAIST, "waist")]
        + [(BODY_LEVELS["mid-calf"], "mid-calf"), (_MID_THIGH, "mid-thigh"), (_NECK, "neck")]
    )
)
_AT = 0.025  # of stature: nearer than this to a place counts as there
_AT_HEAD = 0.012  # the same from the neck up, where the places lie close together


def level_place(level: float) -> str:
    """Where on the body a ruler level lies: "mid-thigh", "above knee", "clear of the feet"."""
    if level < 0:
        return "clear of the feet"
    if level > 1:
        return "over the head"
    nearest, name = min(_PLACES, key=lambda place: abs(place[0] - level))
    if abs(nearest - level) <= (_AT_HEAD if nearest >= _NECK else _AT):
        return name
    return f"{'above' if level > nearest else 'below'} {name}"


def cut_words(level: Measured) -> str:
    """The reading of the bottom edge, "cut 0.41 mid-thigh"."""
    if isinstance(level, NotMeasured):
        return f"cut not measured: {level.reason}"
    if level < 0:
        return f"feet clear by {-level:.2f} figure heights"
    return f"cut {level:.2f} {level_place(level)}"


def percent(share: float) -> str:
    """A share as whole per cent, "8 %"."""
    return f"{share * 100 + 0.0:.0f} %"


def size_words(judgement: FrameJudgement) -> str:
    """The size in the first vocabulary, else the type of shot."""
    return judgement.sizes[0].name if judgement.sizes else judgement.shot_type.value


def measure_words(measurement: FrameMeasurement) -> list[str]:
    """The main subject's measures, one short phrase each."""
    if not measurement.people:
        return []
    subject = measurement.people[0]
    return [_cut_with_error(subject), *_air_words(subject), *_head_words(subject)]


def flag_words(flag: Flag) -> str:
    """One flag in words, "knee: bottom edge cuts 1.2 % of body height above it"."""
    if flag.part in {"headroom", "looking room"}:
        return f"{flag.part}: too {'little' if flag.distance_level < 0 else 'much'}"
    where = "above" if flag.distance_level > 0 else "below"
    share = f"{abs(flag.distance_level) * 100:.1f} % of body height"
    return f"{flag.part}: {flag.edge.value} edge cuts {share} {where} it"


def _cut_with_error(subject: PersonFraming) -> str:
    words = cut_words(subject.crop_level)
    if isinstance(subject.crop_level, NotMeasured) or subject.ruler is None:
        return words
    return f"{words} (± {subject.ruler.error_level:.2f})"


def _air_words(subject: PersonFraming) -> list[str]:
    words = []
    if not isinstance(subject.headroom_frac, NotMeasured):
        cut = subject.headroom_frac < 0
        share = percent(abs(subject.headroom_frac))
        words.append(f"crown {share} over the edge" if cut else f"headroom {share}")
    if not isinstance(subject.eye_line_frac, NotMeasured):
        words.append(f"eyes {percent(subject.eye_line_frac)} down")
    if not isinstance(subject.look_room_frac, NotMeasured):
        words.append(f"looking room {subject.look_room_frac:.1f} : 1")
    return words


def _head_words(subject: PersonFraming) -> list[str]:
    words = [subject.facing.value] if subject.facing else []
    yaw = subject.head_yaw_deg
    if words and not isinstance(yaw, NotMeasured) and round(abs(yaw)) > 0:
        side = "right" if yaw > 0 else "left"
        words = [f"{words[0]}, head {abs(yaw):.0f}° {side}"]
    return words + ([subject.posture.value] if subject.posture else [])
