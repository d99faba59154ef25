"""A cut order from an OpenTimelineIO timeline: the clips of its video tracks, as they are seen."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname

from framecheck.errors import ConfigError
from framecheck.media.names import shown_name
from framecheck.records.cut_order import CutEntry, CutOrder

DEEPEST = 120
"""Nested brackets that a timeline may have; the library's reader is in C++ and would overflow."""

MOST = 1e12
"""Frames, or frames a second, beyond which a number is no time."""

# one that is never closed runs to the end, so that a hostile text is gone through once and not
# again from each of its quotes
_STRINGS = re.compile(r'"[^"\\]*(?:\\.?[^"\\]*)*(?:"|\Z)', re.DOTALL)
_LONGEST_NAME = 200
_BRACKETS = re.compile(r"[\[{]|[\]}]")


def parse_timeline(text: str, path: Path, find_file: Callable[[str, Path], str]) -> CutOrder:
    """The order that a timeline holds.

    Raises:
        ConfigError: it is no timeline, or the library for it is not installed.
    """
    where = shown_name(path)
    if _depth(text) > DEEPEST:
        raise ConfigError(f"{where} is nested too deep to be a timeline", where=where)
    _check_json(text, where)
    try:
        import opentimelineio as otio
    except ImportError as error:
        raise ConfigError(
            'timelines need OpenTimelineIO: pip install "framecheck[timeline]"', where=where
        ) from error
    try:
        timeline = otio.adapters.read_from_string(text, "otio_json")
        tracks = timeline.video_tracks()
        seen = otio.algorithms.flatten_stack(tracks) if len(tracks) > 1 else tracks[0]
        entries, notes = _walk(seen, otio, path.parent, find_file)
    except Exception as error:  # whatever the library raises for a text that is no timeline
        reason = " ".join(str(error).split())[:200] or type(error).__name__
        raise ConfigError(
            f"{where} is no timeline that can be read ({reason}); export it once more",
            where=where,
        ) from error
    name = shown_name(timeline.name)[:_LONGEST_NAME] if timeline.name else path.stem
    return CutOrder(name=name, entries=entries, notes=notes)


def _check_json(text: str, where: str) -> None:
    """Refuse what is no JSON, before the library sees it: some of it makes its reader crash."""
    try:
        json.loads(text)
    except (ValueError, RecursionError) as error:
        reason = " ".join(str(error).split())[:200]
        raise ConfigError(
            f"{where} is no timeline that can be read ({reason}); export it once more", where=where
        ) from error


def _walk(
    track: Any,  # noqa: ANN401  # the library has no types
    otio: Any,  # noqa: ANN401
    folder: Path,
    find_file: Callable[[str, Path], str],
) -> tuple[tuple[CutEntry, ...], tuple[str, ...]]:
    entries, unnamed = [], 0
    for number, clip in enumerate(track.find_clips(), start=1):
        media = clip.media_reference
        url = getattr(media, "target_url", "") if media is not None else ""
        if isinstance(media, otio.schema.ImageSequenceReference):
            unnamed += 1
            continue
        file = _file_of(url) if url else clip.name
        if not file:
            unnamed += 1
            continue
        start_s, length_s = _range_of(clip, media)
        entries.append(
            CutEntry(
                file=file,
                path=find_file(file, folder),
                where=f"clip {number}",
                from_s=start_s,
                to_s=None if start_s is None or length_s is None else start_s + length_s,
                duration_s=length_s,
            )
        )
    notes = (f"{unnamed} clips of the timeline name no single file and were left out",)
    return tuple(entries), notes if unnamed else ()


def _range_of(clip: Any, media: Any) -> tuple[Fraction | None, Fraction | None]:  # noqa: ANN401
    """Start from the first frame of the file, and length, in seconds; None when not stated."""
    wanted = clip.source_range
    if wanted is None:
        return None, None
    start_s, length_s = _seconds(wanted.start_time), _seconds(wanted.duration)
    available = getattr(media, "available_range", None)
    if available is not None:
        start_s -= _seconds(available.start_time)
    return max(start_s, Fraction(0)), length_s if length_s > 0 else None


def _seconds(time: Any) -> Fraction:  # noqa: ANN401
    from framecheck.units import snap_rate

    if not max(abs(time.value), abs(time.rate)) <= MOST:
        raise ValueError(f"{time.value:g} frames at {time.rate:g} a second are no time")
    return Fraction(time.value).limit_denominator(1000) / snap_rate(time.rate)


def _file_of(url: str) -> str:
    """The path in a file URL; anything else as it stands."""
    parts = urlsplit(url)
    if parts.scheme != "file":
        return unquote(url) if "%" in url and not parts.scheme else url
    return url2pathname(parts.path)


def _depth(text: str) -> int:
    deep = deepest = 0
    for bracket in _BRACKETS.findall(_STRINGS.sub("", text)):
        deep += 1 if bracket in "[{" else -1
        deepest = max(deepest, deep)
    return deepest
