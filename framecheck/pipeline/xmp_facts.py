"""What the XMP metadata of a measured still or clip shall say."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache

from framecheck.classify.flag_cells import flagged_parts
from framecheck.classify.size import SizeReading, name_size, read_size
from framecheck.classify.size_fields import translate_size
from framecheck.errors import ConfigError
from framecheck.export.columns import frame_columns, people_columns
from framecheck.export.from_rows import measurement_of_rows
from framecheck.export.rows import Row, rounded_cell
from framecheck.pipeline.results import FileResult
from framecheck.pipeline.settings import Judging, Settings, load_judging
from framecheck.records.edit import EditClip
from framecheck.records.framing import Facing
from framecheck.records.judged import ShotType
from framecheck.records.xmp import XmpFacts, XmpMarker

OVER_THE_SHOULDER = "Over the Shoulder"
"""As xmpDM:cameraAngle has it. Low, high and other angles are left to those who were there."""
SCENE_PROFILE, SCENE_REAR, SCENE_CLOSE_UP = "010400", "010500", "011800"
SCENES_BY_COUNT = {1: "010600", 2: "010800"}
SCENE_GROUP = "010900"
"""IPTC Scene codes. 010700, couple, is never given: it says what two people are to each other."""
_CLOSE = ("CU", "ECU")
_NUMBERS = (
    "people", "shot_type", "size", "size_abbr", "size_confidence", "vocabulary", "crop_level",
    "top_level", "crop_error", "headroom_frac", "look_room_frac", "eye_line_frac", "flags",
    "confirmed",
)  # fmt: skip
_OF_SUBJECT = ("figure_frac", "head_yaw_deg", "head_pitch_deg", "head_roll_deg", "facing")
_FACING_WORDS = {
    Facing.TO_LENS: "facing the lens",
    Facing.THREE_QUARTER: "three-quarter",
    Facing.PROFILE: "profile",
    Facing.AWAY: "seen from behind",
}
_SAID = re.compile(r"(?:.*; )?size \(measured ")
"""In `confirmed`, where a person has put another size than was measured."""
_COLUMNS = {column.name: column for column in (*people_columns(), *frame_columns())}


def facts_of_still(frame: Row, people: Sequence[Row]) -> XmpFacts:
    """What is said of one picture.

    Raises:
        ExportError: its rows tell no measurement.
    """
    reading = _reading(frame, people)
    size, scene = (_abbr(name, reading, frame) for name in ("metadata-sizes", "scene-codes"))
    return XmpFacts(
        shot_size=size,
        camera_angle=_angle(str(frame.get("shot_type") or "")),
        keywords=tuple(dict.fromkeys(_keywords(frame, people))),
        description=_description(frame),
        scenes=_scenes(frame, people, (scene, size)),
        numbers=_numbers(frame, people),
    )


def facts_of_clip(file: FileResult, clip: EditClip) -> XmpFacts:
    """What is said of a clip: its shots as markers, and the size of a clip of one shot.

    Raises:
        ExportError: its rows tell no measurement.
    """
    from framecheck.export.edit_words import shot_line, shot_title

    best = {(row["shot"], row["frame"]): (row, people) for row, people in file.pictures()}
    told = [
        facts_of_still({**row, **_of_shot(shot)}, people)
        for shot in file.shots
        if (found := best.get((shot["shot"], shot["frame"]))) is not None
        for row, people in [found]
    ]
    sizes = Counter(facts.shot_size for facts in told if facts.shot_size)
    angles = {facts.camera_angle for facts in told}
    return XmpFacts(
        shot_size=next(iter(sizes)) if len(sizes) == 1 else "",
        camera_angle=angles.pop() if len(angles) == 1 else "",
        keywords=tuple(dict.fromkeys(word for facts in told for word in facts.keywords)),
        description=_clip_description(clip),
        scenes=tuple(sorted({code for facts in told for code in facts.scenes})),
        numbers={"shots": str(len(clip.shots))} | (dict(told[0].numbers) if len(told) == 1 else {}),
        markers=tuple(
            XmpMarker(
                start_frame=shot.start_frame,
                frames=shot.end_frame - shot.start_frame,
                name=shot_title(shot),
                comment=shot_line(shot),
            )
            for shot in clip.shots
        ),
        rate=clip.rate,
    )


def _of_shot(shot: Row) -> Row:
    """What the whole shot says goes before what its best frame says."""
    names = ("people", "shot_type", "size", "size_abbr", "vocabulary", "confirmed")
    said = {name: shot[name] for name in names if shot.get(name) not in {None, ""}}
    return {**said, "flags": shot.get("flags")}  # none is said of the shot as well


def _reading(frame: Row, people: Sequence[Row]) -> SizeReading | None:
    measured = measurement_of_rows(frame, people)
    if not measured.people:
        return None
    reading = read_size(measured.people[0])
    return reading if isinstance(reading, SizeReading) else None


def _abbr(vocabulary: str, reading: SizeReading | None, frame: Row) -> str:
    """The size in another vocabulary: by the reading, or by the word that a person has put."""
    wanted = _judging(vocabulary)
    said = _SAID.match(str(frame.get("confirmed") or ""))
    if said and frame.get("size"):
        try:
            own = _judging(str(frame.get("vocabulary") or vocabulary))
        except ConfigError:  # a vocabulary of the user's own, which is known by its file alone
            return ""
        band = translate_size(
            str(frame["size"]), own.vocabularies[0], wanted.vocabularies[0], own.ranges
        )
        return "" if band is None else band.abbr
    named = None if reading is None else name_size(reading, wanted.vocabularies[0])
    return "" if named is None else named.abbr


@lru_cache(maxsize=8)
def _judging(vocabulary: str) -> Judging:
    return load_judging(Settings(vocabularies=(vocabulary,)))


def _angle(shot_type: str) -> str:
    return OVER_THE_SHOULDER if shot_type == ShotType.OVER_THE_SHOULDER.value else ""


def _keywords(frame: Row, people: Sequence[Row]) -> Iterator[str]:
    for name in ("size", "shot_type"):
        if frame.get(name):
            yield str(frame[name])
    facing = _facing(people)
    if facing:
        yield _FACING_WORDS[Facing(facing)]
    for part in flagged_parts(str(frame.get("flags") or "")):
        yield f"flagged: {part}"


def _facing(people: Sequence[Row]) -> str:
    subject = next((row for row in people if row["person"] == 0), None)
    return "" if subject is None else str(subject.get("facing") or "")


def _scenes(frame: Row, people: Sequence[Row], sizes: tuple[str, str]) -> tuple[str, ...]:
    scene, size = sizes
    codes = {scene} if scene else set()
    count = frame.get("people")
    if isinstance(count, int) and count > 0:
        codes.add(SCENES_BY_COUNT.get(count, SCENE_GROUP))
    facing = _facing(people)
    if facing == Facing.PROFILE.value:
        codes.add(SCENE_PROFILE)
    if facing == Facing.AWAY.value:
        codes.add(SCENE_REAR)
    if size in _CLOSE:
        codes.add(SCENE_CLOSE_UP)
    return tuple(sorted(codes))


def _description(frame: Row) -> str:
    size = str(frame.get("size") or "")
    kind = str(frame.get("shot_type") or "")
    words = ", ".join(word for word in (size, kind) if word)
    crop, headroom = frame.get("crop_level"), frame.get("headroom_frac")
    if isinstance(crop, int | float):
        words += f"; the bottom edge cuts at {crop:.3f} of the stature"
    if isinstance(headroom, int | float):
        words += f"; headroom {100 * headroom:.0f} % of the height"
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def _clip_description(clip: EditClip) -> str:
    sizes = Counter(shot.size_abbr or shot.size or "no size" for shot in clip.shots)
    told = ", ".join(f"{count} {name}" for name, count in sizes.most_common(6))
    return f"{len(clip.shots)} {'shot' if len(clip.shots) == 1 else 'shots'}: {told}."


def _numbers(frame: Row, people: Sequence[Row]) -> dict[str, str]:
    subject = next((row for row in people if row["person"] == 0), {})
    found = {}
    for row, names in ((frame, _NUMBERS), (subject, _OF_SUBJECT)):
        for name in names:
            column = _COLUMNS[name]
            value = rounded_cell(column, row.get(name))
            if isinstance(value, float):
                value = f"{value:.{column.decimals}f}"
            if value is not None and value != "":
                found[_camel(name)] = str(value)
    return found


def _camel(name: str) -> str:
    first, *others = name.split("_")
    return first + "".join(word.capitalize() for word in others)
