"""The columns of the tables about cuts, matching angles and the scene."""

from __future__ import annotations

from collections.abc import Mapping

from framecheck.export.columns import Column, Kind, with_reasons


def _text(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.TEXT, unit="", meaning=meaning)


def _path(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.PATH, unit="", meaning=meaning)


def _whole(name: str, unit: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.WHOLE, unit=unit, meaning=meaning)


def _number(name: str, unit: str, decimals: int, meaning: str, *, why: bool = False) -> Column:
    return Column(
        name=name, kind=Kind.NUMBER, unit=unit, meaning=meaning, decimals=decimals, measured=why
    )


_COUNT = "count from 0"
_HEIGHT = "fraction of the picture height"
_WIDTH = "fraction of the picture width"


def _side(side: str, which: str) -> tuple[Column, ...]:
    return (
        _path(f"{side}_file", f"File of the {which} shot."),
        _whole(
            f"{side}_file_shot", _COUNT, f"Number of the {which} shot in it; empty for a still."
        ),
        _whole(f"{side}_frame", _COUNT, f"Measured frame of the {which} shot next to the cut."),
        _text(f"{side}_timecode", "Its timecode; empty for a still."),
    )


CUT_COLUMNS: tuple[Column, ...] = (
    _whole("cut", _COUNT, "Joins shot `cut` and shot `cut` + 1 of the sequence."),
    _number("time_s", "seconds", 3, "Of the cut, from the start; empty without lengths."),
    *_side("from", "outgoing"),
    *_side("to", "incoming"),
    _text("person_from", "Letter of the person compared; ? when nobody can be told apart."),
    _text("person_to", "The same after the cut."),
    _text("same_person", "yes, no, or empty: by clothes, tones, place and size alone."),
    _number("same_confidence", "0.5 to 1", 2, "How sure that is."),
    _text("same_by", "What was compared."),
    _number("size_ratio", "ratio", 3, "Head height after over before; > 1 goes nearer.", why=True),
    _number("angle_deg", "degrees", 1, "How far the camera moved round the same person.", why=True),
    _number("place_change_wfrac", _WIDTH, 3, "How far the face moved; + to the right.", why=True),
    _number("height_change_frac", _HEIGHT, 3, "How far the face moved; + down.", why=True),
    _text("verdict", "comfortable, too similar, very large or not judged."),
    _text("why", "The verdict in one sentence."),
    _text("advice", "What to try; empty when nothing."),
    _text("looks_from", "Where the main subject looks: left, right, to lens or away."),
    _text("looks_to", "The same after the cut."),
    _text("line_crossed", "yes when the camera may have jumped over the line, else no."),
    _number("line_confidence", "0 to 1", 2, "How sure that is; empty when it has not."),
    _text("line_note", "Who looks where, and in which shots."),
)

PAIR_MEASURES: tuple[tuple[str, str, str, int, str], ...] = (
    ("size", "size", _HEIGHT, 3, "Crown to chin; the difference is a ratio, other over one."),
    ("headroom", "headroom", _HEIGHT, 3, "Top edge to the crown."),
    ("eye_line", "eye line", _HEIGHT, 3, "Top edge to the eyes."),
    ("look_ahead", "looking room", _WIDTH, 3, "Room ahead of the face."),
    ("lens_height", "lens height", "degrees", 1, "Lens below (+) or above (-) a level look."),
    ("closeness", "closeness", "degrees", 1, "Between look and lens, seen from above."),
)
"""Column stem, name in the record, unit, decimals and meaning of what a pair is compared by."""


def _measure_columns(measure: tuple[str, str, str, int, str]) -> tuple[Column, ...]:
    stem, _, unit, decimals, meaning = measure
    return (
        _number(f"{stem}_one", unit, decimals, f"{meaning} Side one."),
        _number(f"{stem}_other", unit, decimals, f"{meaning} Side other."),
        _number(f"{stem}_difference", unit if stem != "size" else "ratio", decimals,
                "Other minus one (size: other over one)."),
        _text(f"{stem}_matches", "yes, no, or empty when it cannot be told."),
    )  # fmt: skip


PAIR_COLUMNS: tuple[Column, ...] = (
    _whole("pair", _COUNT, "Number of the pair."),
    _text("person_one", "Letter of the person on side one."),
    _text("person_other", "Letter of the person on side other."),
    _text("shots_one", "Shots of this set-up, numbers in the sequence."),
    _text("shots_other", "Shots of the other set-up."),
    _path("file_one", "File of the first shot of side one."),
    _path("file_other", "File of the first shot of side other."),
    _text("kind", "external (over the shoulder), internal (clean) or mixed."),
    _text("named", "yes when the user named the pair, no when it was found."),
    _text("matches", "yes when no measure is off, else no."),
    *(column for measure in PAIR_MEASURES for column in _measure_columns(measure)),
    _text("advice", "Which side to change and by how much, `;` between them."),
    _text("notes", "What could not be compared, and why."),
)

SCENE_COLUMNS: tuple[Column, ...] = (
    _whole("number", _COUNT, "Place of the shot in the sequence."),
    _path("file", "The file, as it was named."),
    _whole("shot", _COUNT, "Number of the shot in its file; empty for a still."),
    _text("start_timecode", "Where it begins in its file; empty for a still."),
    _number("start_s", "seconds", 3, "Where it begins in the sequence; empty without lengths."),
    _number("duration_s", "seconds", 3, "How long it lasts; empty without a length."),
    _text("size", "Size of the main subject in the words of `vocabulary`."),
    _text("size_abbr", "The same, abbreviated."),
    _text("vocabulary", "Vocabulary that the size names come from."),
    _text("shot_type", "single, two, three, group, over-the-shoulder, insert or no people."),
    _text("person", "Letter of the main subject within the sequence."),
    _text("people", "Letters of all, the main subject first; ? for whom no colours were read."),
    _text("looks", "Where the main subject looks: left, right, to lens or away."),
    _text("faces", "Where the shoulders point."),
    _number("closeness_deg", "degrees", 1, "Between look and lens; 0 into the lens.", why=True),
    _number("lens_height_deg", "degrees", 1, "Lens below (+) or above (-) a level look.", why=True),
    _number("head_frac", _HEIGHT, 4, "Crown to chin, the size as a number.", why=True),
    _number("crop_level", "fraction of stature", 3, "Where the bottom edge cuts the subject."),
    _text("external", "yes when shot over somebody's shoulder, else no."),
)


CUT_TABLES: Mapping[str, tuple[Column, ...]] = {
    "cuts": with_reasons(CUT_COLUMNS),
    "pairs": PAIR_COLUMNS,
    "scene": with_reasons(SCENE_COLUMNS),
}
"""The tables of a study with all their columns, in order."""
