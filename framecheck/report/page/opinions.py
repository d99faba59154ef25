"""The vocabulary and the ranges that results were judged by, as the catalog has kept them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from framecheck.catalog.sources import Source
from framecheck.classify.room import RoomRange, RoomRanges
from framecheck.classify.vocabulary import Vocabulary, parse_vocabulary
from framecheck.errors import ConfigError


def kept_vocabulary(sources: Sequence[Source]) -> Vocabulary | None:
    """The vocabulary that most of the sources were named by; None where none is kept."""
    for content in _descriptions(sources):
        text = content.get("vocabulary_toml")
        if isinstance(text, str):
            try:
                return parse_vocabulary(text, "the catalog's vocabulary")
            except ConfigError:
                return None
    return None


def kept_ranges(sources: Sequence[Source]) -> RoomRanges | None:
    """The ranges that most of the sources were judged by; None where none are kept."""
    for content in _descriptions(sources):
        room = content.get("room")
        if isinstance(room, dict):
            try:
                rows = tuple(RoomRange(**row) for row in room["rows"])
                return RoomRanges(title=str(room["title"]), source=str(room["source"]), rows=rows)
            except (KeyError, TypeError):
                return None
    return None


def first_vocabulary_name(sources: Sequence[Source]) -> str:
    """The name of the first vocabulary that most of the sources were named by, "" for unknown."""
    for content in _descriptions(sources):
        names = content.get("vocabularies")
        if isinstance(names, list) and names:
            return str(names[0])
    return ""


def _descriptions(sources: Sequence[Source]) -> list[Mapping[str, Any]]:
    """The settings as they are kept, those of most sources first."""
    counts: dict[str, int] = {}
    for source in sources:
        counts[source.described] = counts.get(source.described, 0) + 1
    contents: list[Mapping[str, Any]] = []
    for described in sorted(counts, key=lambda text: -counts[text]):
        try:
            content = json.loads(described or "{}")
        except ValueError:
            continue
        if isinstance(content, dict):
            contents.append(content)
    return contents
