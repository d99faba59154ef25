"""A vocabulary as the text of its file, so that it can be kept beside results and changed."""

from __future__ import annotations

import math

from framecheck.classify.vocabulary import AXES, Band, Region, Vocabulary

_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}


def vocabulary_toml(vocabulary: Vocabulary) -> str:
    """The TOML text that `parse_vocabulary` reads back as the same vocabulary."""
    head = [
        f"{name} = {_quoted(getattr(vocabulary, name))}" for name in ("name", "title", "source")
    ]
    return "\n".join([*head, *(_band_text(band) for band in vocabulary.bands)]) + "\n"


def _band_text(band: Band) -> str:
    lines = ["", "[[band]]", f"name = {_quoted(band.name)}", f"abbr = {_quoted(band.abbr)}"]
    if band.note:
        lines.append(f"note = {_quoted(band.note)}")
    regions = ", ".join(map(_region_text, band.regions))
    return "\n".join([*lines, f"region = [{regions}]"])


def _region_text(region: Region) -> str:
    ends = []
    for axis in AXES:
        span = getattr(region, axis)
        if math.isfinite(span.start):
            ends.append(f"{axis}_from = {float(span.start)!r}")
        if math.isfinite(span.stop):
            ends.append(f"{axis}_to = {float(span.stop)!r}")
    return f"{{ {', '.join(ends)} }}" if ends else "{}"


def _quoted(text: str) -> str:
    return f'"{"".join(map(_escaped, text))}"'


def _escaped(char: str) -> str:
    if char in _ESCAPES:
        return _ESCAPES[char]
    return f"\\u{ord(char):04x}" if ord(char) < 0x20 or ord(char) == 0x7F else char
