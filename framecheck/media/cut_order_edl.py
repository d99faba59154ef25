"""A cut order from an edit decision list of the CMX 3600 kind: its video events in order.

Such a list names sources by reel, eight characters at most, and often says in a comment which clip
or file it was. Names are looked up beside the list; folders that a list names are those of another
machine and are left out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path, PureWindowsPath

from framecheck.errors import ConfigError
from framecheck.media.names import shown_name
from framecheck.records.cut_order import CutEntry, CutOrder

_TIMECODE = r"[0-9]{2}[:;.,][0-9]{2}[:;.,][0-9]{2}[:;.,][0-9]{2,3}"
_EVENT = re.compile(
    r"(?P<number>[0-9A-Za-z]{1,8})\s+(?P<reel>\S{1,129})\s+(?P<channels>\S{1,16})\s+"
    r"(?P<transition>C|D|W[0-9]{3}|K|KB|KO|E)\s*(?P<length>[0-9]{1,4})?\s+"
    rf"(?P<source_in>{_TIMECODE})\s+(?P<source_out>{_TIMECODE})\s+"
    rf"(?P<record_in>{_TIMECODE})\s+(?P<record_out>{_TIMECODE})\s*",
    re.ASCII,
)
_COMMENT = re.compile(
    r"\*?\s*(?P<key>FROM CLIP NAME|TO CLIP NAME|FROM CLIP|SOURCE FILE)(?:\s+IS)?\s*:"
    r"\s*(?P<name>.+)",
    re.IGNORECASE,
)
_TITLE = re.compile(r"TITLE:\s*(?P<title>.*)", re.IGNORECASE)
_MODE = re.compile(r"FCM:\s*(?P<mode>(?:NON)?[ -]*DROP[ -]*FRAME)", re.IGNORECASE)
_NO_SOURCE = frozenset({"BL", "BLACK", "AX"})
_LONGEST_LINE = 2000
_MOST_LINES = 1_000_000


@dataclass(slots=True)
class _Event:
    """One line of the list, with the comments under it."""

    line: int
    match: re.Match[str]
    drop: bool
    names: dict[str, str] = field(default_factory=dict)

    @property
    def is_picture(self) -> bool:
        channels = self.match["channels"].upper()
        return "V" in channels or channels.startswith("B")

    @property
    def is_empty(self) -> bool:
        return self.match["source_in"] == self.match["source_out"]


def parse_edl(text: str, path: Path, find_file: Callable[[str, Path], str]) -> CutOrder:
    """The order that an edit decision list holds.

    Args:
        text: the whole list.
        path: where it came from; sources are looked for beside it.
        find_file: as of `cut_order`.

    Raises:
        ConfigError: it holds no event, or too many lines.
    """
    where = shown_name(path)
    title, events = _read_events(text, where)
    if not events:
        raise ConfigError(
            f"{where} is no edit decision list that can be read: no line looks like "
            "'001  REEL  V  C  01:00:00:00 01:00:02:00 00:00:00:00 00:00:02:00'",
            where=where,
        )
    stems = _files_beside(path.parent)
    entries: list[CutEntry] = []
    left_out = 0
    for event in events:
        if not event.is_picture or event.is_empty:
            continue
        file = _file_of(event, stems)
        if not file:
            left_out += 1
            continue
        entries.append(_entry(event, file, find_file(file, path.parent)))
    return CutOrder(name=title or path.stem, entries=tuple(entries), notes=_notes(left_out, events))


def _entry(event: _Event, file: str, path: str) -> CutEntry:
    return CutEntry(
        file=file,
        path=path,
        where=f"line {event.line}",
        from_timecode=_plain(event.match["source_in"], drop=event.drop),
        to_timecode=_plain(event.match["source_out"], drop=event.drop),
    )


def _notes(left_out: int, events: list[_Event]) -> tuple[str, ...]:
    notes = []
    if left_out:
        notes.append(f"{left_out} events of black or of an unknown source were left out")
    if any("M2" in event.names for event in events):
        notes.append("changes of speed were not followed")
    return tuple(notes)


def _read_events(text: str, where: str) -> tuple[str, list[_Event]]:
    lines = text.splitlines()
    if len(lines) > _MOST_LINES:
        raise ConfigError(f"{where} has more than {_MOST_LINES} lines", where=where)
    title, events, drop = "", list[_Event](), False
    for number, line in enumerate(lines, start=1):
        words = line.strip()[:_LONGEST_LINE]
        match = _EVENT.fullmatch(" ".join(words.split()))  # long runs of blanks would take long
        if match:
            events.append(_Event(number, match, drop))
        elif mode := _MODE.fullmatch(words):
            drop = not mode["mode"].upper().startswith("NON")
        elif events:
            events[-1].names.update(_comment(words))
        elif not title and (found := _TITLE.fullmatch(words)):
            title = shown_name(found["title"].strip())[:200]
    return title, events


def _comment(words: str) -> Iterator[tuple[str, str]]:
    match = _COMMENT.fullmatch(words)
    if match:
        yield match["key"].upper(), match["name"].strip()
    elif words.upper().startswith("M2 "):
        yield "M2", words


def _file_of(event: _Event, beside: dict[str, str]) -> str:
    """The name of the source: a file beside the list if there is one, else what is told of it."""
    names = event.names
    dissolves = event.match["transition"] != "C"
    clip = names.get("TO CLIP NAME", "") if dissolves else ""
    told = [clip, names.get("FROM CLIP NAME", ""), names.get("SOURCE FILE", "")]
    told += [names.get("FROM CLIP", ""), event.match["reel"]]
    reel = event.match["reel"].upper()
    candidates = [_base(name) for name in told if name]
    for name in candidates:
        if name.casefold() in beside:
            return beside[name.casefold()]
    unknown = reel in _NO_SOURCE and len(candidates) == 1
    return "" if unknown else next((name for name in candidates if name), "")


def _files_beside(folder: Path) -> dict[str, str]:
    """File names in the folder by their name and by their name without its ending."""
    try:
        files = sorted(item.name for item in folder.iterdir() if item.is_file())
    except OSError:
        return {}
    names = {Path(name).stem.casefold(): name for name in reversed(files)}
    return names | {name.casefold(): name for name in files}


def _base(name: str) -> str:
    """The last part of a path as any system writes it."""
    return PureWindowsPath(name.replace("/", "\\")).name


def _plain(timecode: str, *, drop: bool) -> str:
    """A timecode as this project writes it: a semicolon before the frames of drop-frame.

    Args:
        timecode: of an event; its own marks, or the frame code mode of the list, tell drop-frame.
        drop: that mode.
    """
    digits = re.split("[:;.,]", timecode)
    drop = drop or any(mark in timecode for mark in ";.,")
    return f"{digits[0]}:{digits[1]}:{digits[2]}{';' if drop else ':'}{digits[3]}"
