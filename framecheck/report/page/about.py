"""What made the results: settings, thresholds, vocabulary, models, version."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from framecheck.catalog.sources import Source
from framecheck.classify.room import RoomRanges
from framecheck.classify.vocabulary import Region, Span, Vocabulary
from framecheck.report.page.text import shown_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """One group of settings that measured something of the page.

    Attributes:
        version, models, vocabularies: in words; "" and () when the catalog does not say.
        thresholds: by name.
        fingerprint: of all of it. sources: how many files were measured so.
    """

    version: str
    models: str
    vocabularies: tuple[str, ...]
    thresholds: Mapping[str, float]
    fingerprint: str
    sources: int


def read_made(sources: Sequence[Source]) -> tuple[Made, ...]:
    """The groups of settings behind the sources, the most frequent first."""
    counts: dict[str, int] = {}
    described: dict[str, str] = {}
    for source in sources:
        counts[source.fingerprint] = counts.get(source.fingerprint, 0) + 1
        described[source.fingerprint] = source.described
    ordered = sorted(counts, key=lambda fingerprint: -counts[fingerprint])
    return tuple(_made(described[mark], mark, counts[mark]) for mark in ordered)


def size_list(vocabulary: Vocabulary | None, rows: Sequence[Mapping[str, Any]]) -> list[list[str]]:
    """Name, abbreviation and meaning of the sizes, from wide to tight.

    Those of the vocabulary, then any that the rows have beyond it.
    """
    bands = vocabulary.bands if vocabulary is not None else ()
    sizes = [
        [band.name, band.abbr, f"{_regions_text(band.regions)}. {band.note}"] for band in bands
    ]
    known = {name for name, _, _ in sizes}
    others = {str(row.get("size")): str(row.get("size_abbr") or "") for row in rows}
    return sizes + [
        [shown_text(name), shown_text(abbr), ""]
        for name, abbr in sorted(others.items())
        if name not in known and name not in {"", "None"}
    ]


def room_list(ranges: RoomRanges) -> list[list[float]]:
    """Crop level, least and greatest headroom, least looking room, by rising crop level."""
    return [
        [row.crop_level, row.headroom_min, row.headroom_max, row.look_ratio_min]
        for row in ranges.rows
    ]


def _made(described: str, fingerprint: str, sources: int) -> Made:
    content = _parse(described)
    thresholds = content.get("thresholds")
    names = content.get("vocabularies")
    return Made(
        version=shown_text(str(content.get("framecheck") or "")),
        models=shown_text(str(content.get("models") or "")),
        vocabularies=tuple(shown_text(str(name)) for name in names)
        if isinstance(names, list)
        else (),
        thresholds={
            shown_text(str(name)): float(value)
            for name, value in (thresholds if isinstance(thresholds, dict) else {}).items()
            if isinstance(value, int | float)
        },
        fingerprint=fingerprint,
        sources=sources,
    )


def _parse(described: str) -> dict[str, Any]:
    try:
        content = json.loads(described or "{}")
    except ValueError:
        return {}
    return content if isinstance(content, dict) else {}


def _regions_text(regions: Sequence[Region]) -> str:
    return ", or ".join(
        "; ".join(
            text
            for text in (
                _span_text("cut", region.crop),
                _span_text("figure", region.figure),
                _span_text("extent", region.extent),
            )
            if text
        )
        or "everything else"
        for region in regions
    )


def _span_text(axis: str, span: Span) -> str:
    start, stop = asdict(span).values()
    low, high = start > float("-inf"), stop < float("inf")
    if low and high:
        return f"{axis} {start:g} to {stop:g}"
    if low:
        return f"{axis} from {start:g}"
    return f"{axis} under {stop:g}" if high else ""
