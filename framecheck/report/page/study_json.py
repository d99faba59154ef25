"""Studies of sequences as the page draws them: cuts with their verdicts, matching angles."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any, TypeAlias

from framecheck.catalog.layout import Row
from framecheck.catalog.sequences import SequenceRows
from framecheck.export.cut_columns import PAIR_MEASURES
from framecheck.report.page.entries import Entry
from framecheck.report.page.text import shown_text

Json: TypeAlias = dict[str, Any]

_CUT_WORDS = ("verdict", "why", "advice", "person_from", "person_to", "line_crossed", "line_note")
_CUT_NUMBERS = ("time_s", "size_ratio", "angle_deg", "place_change_wfrac", "height_change_frac")
_PAIR_WORDS = ("person_one", "person_other", "kind", "matches", "advice", "notes")


def study_json(study: SequenceRows, entries: Sequence[Entry]) -> Json:
    """One study: its shots, cuts and pairs, shots and stills by the keys of their entries."""
    keys = _Keys(entries)
    shots = [
        {
            "key": keys.find(row.get("file"), row.get("shot")),
            "start": row.get("start_s"),
            "length": row.get("duration_s"),
            **_words(row, ("size", "size_abbr", "person", "looks", "shot_type")),
        }
        for row in study.scene
    ]
    return {
        "name": shown_text(study.name),
        "shots": shots,
        "cuts": [_cut(row) for row in study.cuts],
        "pairs": _each_once([_pair(row, shots) for row in study.pairs]),
    }


def _each_once(pairs: Sequence[Json]) -> list[Json]:
    """Without pairs that were named and found as well."""
    return [pair for number, pair in enumerate(pairs) if pair not in pairs[:number]]


class _Keys:
    """Entries by the names that a study calls their files."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._by_name: dict[tuple[str, object], list[Entry]] = {}
        for entry in entries:
            shot = entry.shot.get("shot") if entry.shot is not None else None
            self._by_name.setdefault((entry.source.place.name, shot), []).append(entry)

    def find(self, file: object, shot: object) -> str | None:
        """The entry whose place ends in the name; of several that do, the longest agreement."""
        wanted = PurePath(str(file or "")).parts
        found = self._by_name.get((wanted[-1] if wanted else "", shot), [])
        return max(found, key=lambda entry: _agreement(entry, wanted)).key if found else None


def _agreement(entry: Entry, wanted: tuple[str, ...]) -> int:
    own = entry.source.place.parts
    count = 0
    for one, other in zip(reversed(own), reversed(wanted), strict=False):
        if one != other:
            break
        count += 1
    return count


def _cut(row: Row) -> Json:
    return {
        "cut": row.get("cut"),
        **_words(row, _CUT_WORDS),
        **{name: row.get(name) for name in _CUT_NUMBERS},
    }


def _pair(row: Row, shots: Sequence[Mapping[str, Any]]) -> Json:
    return {
        **_words(row, _PAIR_WORDS),
        "one": _first_key(row.get("shots_one"), shots),
        "other": _first_key(row.get("shots_other"), shots),
        "measures": [
            {
                "name": name,
                "unit": unit,
                "one": row.get(f"{stem}_one"),
                "other": row.get(f"{stem}_other"),
                "difference": row.get(f"{stem}_difference"),
                "matches": str(row.get(f"{stem}_matches") or ""),
            }
            for stem, name, unit, _decimals, _meaning in PAIR_MEASURES
        ],
    }


def _first_key(numbers: object, shots: Sequence[Mapping[str, Any]]) -> str | None:
    words = str(numbers or "").replace(";", " ").replace(",", " ").split()
    for word in words:
        if word.isdigit() and int(word) < len(shots) and shots[int(word)]["key"]:
            return str(shots[int(word)]["key"])
    return None


def _words(row: Row, names: Sequence[str]) -> dict[str, str]:
    return {name: shown_text(str(row.get(name) or "")) for name in names}
