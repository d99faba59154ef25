"""Measured clips as edit decision lists of the CMX 3600 kind, with comments and locators.

A list knows one rate, timecode and eight letters of a reel. The name of the clip stands in a
comment under each event; sizes and flags are locators in the record, at the first frame of the shot
and at the frame that shows it best.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from framecheck.errors import ConfigError
from framecheck.export.edit_words import shot_line, shot_title
from framecheck.records.edit import EditClip, EditShot
from framecheck.units import can_drop, format_timecode, parse_timecode

MOST_EVENTS = 999
"""Events that three digits can number; longer lists are cut into parts."""
REEL_LENGTH = 8
RECORD_START_H = 1
SIZE_COLOUR, FLAG_COLOUR = "YELLOW", "ORANGE"
_ILLEGAL = re.compile(r"[^A-Z0-9]")
_LONGEST_WORDS = 90


def encode_edl(name: str, clips: Sequence[EditClip]) -> tuple[bytes, ...]:
    """The shots of the clips one after the other, in one list or as many as they need.

    Record timecode begins at one hour. Sources without timecode count from zero.

    Raises:
        ConfigError: the clips have different rates, which a list cannot hold.
    """
    rate, drop = _common_rate(name, clips)
    reels = reel_names([clip.file for clip in clips])
    events = [(clip, shot) for clip in clips for shot in clip.shots]
    parts = [events[at : at + MOST_EVENTS] for at in range(0, len(events), MOST_EVENTS)]
    lists = []
    for number, part in enumerate(parts, start=1):
        title = name if len(parts) == 1 else f"{name} part {number}"
        lines = [f"TITLE: {_plain(title)[:70]}", _frame_code_mode(drop=drop), ""]
        lines += _event_lines(part, reels, (rate, drop))
        lists.append(("\r\n".join(lines) + "\r\n").encode("ascii"))
    return tuple(lists)


def reel_names(files: Sequence[str]) -> Mapping[str, str]:
    """A legal reel for each file: eight capital letters and digits at most, no two alike."""
    reels: dict[str, str] = {}
    taken: set[str] = {"AX", "BL"}  # words of the format itself
    for file in files:
        if file in reels:
            continue
        stem = file.replace("\\", "/").rpartition("/")[2].rpartition(".")[0] or file
        legal = _ILLEGAL.sub("", _plain(stem).upper())[:REEL_LENGTH] or "REEL"
        reel, number = legal, 2
        while reel in taken:
            tail = str(number)
            reel, number = f"{legal[: REEL_LENGTH - len(tail)]}{tail}", number + 1
        taken.add(reel)
        reels[file] = reel
    return reels


def _common_rate(name: str, clips: Sequence[EditClip]) -> tuple[Fraction, bool]:
    rates = sorted({clip.rate for clip in clips})
    if len(rates) != 1:
        told = ", ".join(f"{float(rate):.3f}" for rate in rates) or "none"
        raise ConfigError(
            f"an edit decision list holds one frame rate, and {name} has {told}; write one list a "
            "clip, or an OpenTimelineIO timeline"
        )
    drop = can_drop(rates[0]) and any(clip.drop for clip in clips)
    return rates[0], drop


def _frame_code_mode(*, drop: bool) -> str:
    return f"FCM: {'DROP FRAME' if drop else 'NON-DROP FRAME'}"


def _event_lines(
    events: Sequence[tuple[EditClip, EditShot]],
    reels: Mapping[str, str],
    record: tuple[Fraction, bool],
) -> Iterator[str]:
    rate, drop = record
    at = _hour_frame(rate, drop=drop)
    mode = drop
    for number, (clip, shot) in enumerate(events, start=1):
        if clip.drop != mode:  # how the source counts from here on
            mode = clip.drop
            yield _frame_code_mode(drop=mode)
        length = shot.end_frame - shot.start_frame
        codes = (
            _code(clip.first_frame + shot.start_frame, rate, drop=clip.drop),
            _code(clip.first_frame + shot.end_frame, rate, drop=clip.drop),
            _code(at, rate, drop=drop),
            _code(at + length, rate, drop=drop),
        )
        yield f"{number:03d}  {reels[clip.file]:<8} {'V':<5} C        {' '.join(codes)}"
        yield f"* FROM CLIP NAME: {_plain(clip.file.replace(chr(92), '/').rpartition('/')[2])}"
        for note in clip.notes if shot is clip.shots[0] else ():
            yield f"* {_plain(note)[:_LONGEST_WORDS]}"
        yield _locator(codes[2], SIZE_COLOUR, f"{shot_title(shot)}: {shot_line(shot)}")
        if shot.flags:
            best = at + min(max(shot.best_frame - shot.start_frame, 0), length - 1)
            words = f"FLAGGED {', '.join(shot.flags)}"
            yield _locator(_code(best, rate, drop=drop), FLAG_COLOUR, words)
        at += length


def _locator(code: str, colour: str, words: str) -> str:
    return f"* LOC: {code} {colour:<7} {_plain(words)[:_LONGEST_WORDS]}"


def _code(frame: int, rate: Fraction, *, drop: bool) -> str:
    return format_timecode(frame, rate, drop=drop)


def _hour_frame(rate: Fraction, *, drop: bool) -> int:
    mark = ";" if drop else ":"
    digits = "000" if rate > 100 else "00"
    return parse_timecode(f"{RECORD_START_H:02d}:00:00{mark}{digits}", rate)[0]


def _plain(text: str) -> str:
    """ASCII on one line, accents taken off, as the format knows no other letters."""
    bare = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return " ".join(re.sub(r"[\x00-\x1f\x7f]", " ", bare).split())
