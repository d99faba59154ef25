"""From the entries of a catalog to the content of a page."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.layout import Row
from framecheck.catalog.sequences import SequenceRows
from framecheck.catalog.sources import Source
from framecheck.classify.room import RoomRanges
from framecheck.classify.vocabulary import Vocabulary
from framecheck.report.page.about import read_made, room_list, size_list
from framecheck.report.page.entries import Entry
from framecheck.report.page.entry_json import Json, entry_json
from framecheck.report.page.flag_text import FlagSaid
from framecheck.report.page.pictures import SmallPicture
from framecheck.report.page.render import Card, PageContent, data_address
from framecheck.report.page.study_json import study_json
from framecheck.report.page.text import shared_folder, shown_text


@dataclass(frozen=True, slots=True, kw_only=True)
class PageParts:
    """What a page is made of.

    Attributes:
        title: "" to take the name of the folder that everything lies in.
        entries: what is shown. studies: of sequences, the last one first.
        vocabulary: that of the names; None when its file is not to be had.
        ranges: of headroom and looking room.
        version, written: of the program, and the day.
    """

    title: str
    entries: Sequence[Entry]
    studies: Sequence[SequenceRows]
    vocabulary: Vocabulary | None
    ranges: RoomRanges
    version: str
    written: str


def compose_page(
    parts: PageParts, pictures: Mapping[str, SmallPicture], review: Json | None = None
) -> PageContent:
    """The content of a page.

    Args:
        parts: what it is made of.
        pictures: by key of the entry.
        review: what the page needs for corrections; None when it is only to be read.
    """
    entries = parts.entries
    folder = shared_folder([os.fspath(entry.source.place) for entry in entries])
    files, numbers = _files(entries, folder)
    sizes = size_list(parts.vocabulary, [entry.row for entry in entries])
    studies = [study_json(study, entries) for study in parts.studies]
    title = parts.title or Path(folder).name or "Framing"
    data: Json = {
        "title": shown_text(title),
        "sizes": sizes,
        "room": room_list(parts.ranges),
        "files": files,
        "entries": [entry_json(entry, numbers[entry.source.content]) for entry in entries],
        "studies": [study for study in studies if any(shot["key"] for shot in study["shots"])],
        "review": review,
    }
    cards = [
        card_of(number, item, files[item["file"]]["name"], pictures[entry.key])
        for number, (entry, item) in enumerate(zip(entries, data["entries"], strict=True))
    ]
    return PageContent(
        title=data["title"],
        summary=_summary(entries),
        cards=cards,
        data=data,
        sizes=sizes,
        made=read_made(_sources(entries)),
        vocabulary_source=_vocabulary_source(parts.vocabulary),
        room_source=f"{parts.ranges.title}. {parts.ranges.source}",
        trouble=_trouble(entries, folder),
        version=parts.version,
        written=parts.written,
        review=review is not None,
    )


def card_of(number: int, item: Json, name: str, picture: SmallPicture) -> Card:
    """The card of an entry, from what the page knows of it."""
    crop, top = item["readings"]["crop_level"], item["readings"]["top_level"]
    known = isinstance(crop, float) and isinstance(top, float)
    return Card(
        number=number,
        key=item["key"],
        name=name,
        timecode=item["start_timecode"] if not item["still"] else "",
        size=item["size"] or item["shot_type"] or "not named",
        abbr=item["size_abbr"],
        readings=_readings(item),
        flags=tuple((flag["severity"] or "named", _flag_words(flag)) for flag in item["flags"]),
        picture=data_address(picture.webp) if picture.webp else "",
        width_px=picture.width_px or 16,
        height_px=picture.height_px or 9,
        why=shown_text(picture.why),
        seen=(max(0.0, min(1.0, crop)), max(0.0, min(1.0, top))) if known else None,
        confirmed=item["confirmed"],
    )


def _files(entries: Sequence[Entry], folder: str) -> tuple[list[Json], dict[str, int]]:
    files: list[Json] = []
    numbers: dict[str, int] = {}
    for entry in entries:
        source, row = entry.source, entry.file or {}
        if source.content in numbers:
            continue
        numbers[source.content] = len(files)
        files.append(
            {
                "name": shown_text(_name(os.fspath(source.place), folder)),
                "kind": source.kind,
                "length": row.get("duration_s"),
                "rate": row.get("rate_fps"),
                "timecode": shown_text(str(row.get("start_timecode") or "")),
                "codec": shown_text(str(row.get("codec") or "")),
                "notes": shown_text(str(row.get("notes") or "")),
            }
        )
    return files, numbers


def _name(place: str, folder: str) -> str:
    return os.path.relpath(place, folder) if folder else place


def _sources(entries: Sequence[Entry]) -> list[Source]:
    return list({entry.source.content: entry.source for entry in entries}.values())


def _summary(entries: Sequence[Entry]) -> str:
    stills = sum(entry.shot is None for entry in entries)
    shots = len(entries) - stills
    clips = len({entry.source.content for entry in entries if entry.shot is not None})
    flagged = sum(bool(entry.row.get("flags")) for entry in entries)
    said = [_count(stills, "still")] if stills else []
    said += [f"{_count(shots, 'shot')} of {_count(clips, 'clip')}"] if shots else []
    return f"{', '.join(said) or 'Nothing measured'}; {flagged} with flags."


def _count(number: int, word: str) -> str:
    return f"{number:,} {word}{'' if number == 1 else 's'}"


def _trouble(entries: Sequence[Entry], folder: str) -> list[tuple[str, str]]:
    seen: dict[str, tuple[str, str]] = {}
    for entry in entries:
        row: Row = entry.file or {}
        if str(row.get("status") or "measured") != "measured":
            name = shown_text(_name(os.fspath(entry.source.place), folder))
            seen[entry.source.content] = (name, shown_text(str(row.get("why") or "")))
    return list(seen.values())


def _vocabulary_source(vocabulary: Vocabulary | None) -> str:
    return f"{vocabulary.name}: {vocabulary.title}. {vocabulary.source}" if vocabulary else ""


def _readings(item: Json) -> str:
    readings, words = item["readings"], []
    crop, headroom = readings["crop_level"], readings["headroom_frac"]
    if isinstance(crop, float):
        words.append(f"cut {crop:.2f}" if crop >= 0 else "feet clear")
    if isinstance(headroom, float):
        words.append(_headroom_words(headroom))
    if item["people"] is not None:
        words.append(f"{item['people']}\u00a0{'person' if item['people'] == 1 else 'people'}")
    if item["length"] is not None:
        words.append(f"{item['length']:.1f}\u00a0s")
    return "\u00a0· ".join(words)


def _headroom_words(headroom_frac: float) -> str:
    share = round(headroom_frac * 100)
    return "head\u00a0cut" if share < 0 else f"headroom\u00a0{share}\u00a0%"


def _flag_words(flag: Json) -> str:
    said = FlagSaid(**flag)
    words = said.part
    if said.part in {"headroom", "looking room"} and said.distance_level is not None:
        words += ": too little" if said.distance_level < 0 else ": too much"
    return f"{words} (person {said.person})" if said.person else words
