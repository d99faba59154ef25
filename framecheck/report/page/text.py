"""Texts that nobody vouches for, made safe to show and to put into a script element."""

from __future__ import annotations

import json
import os
import unicodedata
from collections.abc import Sequence

_JOINERS = "\u200c\u200d"  # parts of words and of signs in many scripts
_ESCAPES = str.maketrans({"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"})


def shown_text(text: str) -> str:
    r"""The text on one line, with what cannot be seen written out.

    Marks that turn the direction of reading, line breaks and other controls would let a file name
    pass for another one: they become escapes as \u202e. Stray bytes of a name likewise.
    """
    if text.isprintable():  # nothing of the above; most texts are so, and a page has many
        return text
    return "".join(_shown(char) for char in text)


def json_island(value: object) -> str:
    """JSON that can stand inside a script element: no tag, comment or entity can begin in it.

    Raises:
        ValueError: a number in it is not finite.
    """
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.translate(_ESCAPES)


def shared_folder(places: Sequence[str]) -> str:
    """The folder that all places lie in, without a separator at its end; "" when there is none."""
    try:
        return os.path.commonpath([os.path.dirname(place) for place in places])  # noqa: PTH120
    except ValueError:  # none at all, or on several drives
        return ""


def _shown(char: str) -> str:
    code = ord(char)
    if 0xDC80 <= code <= 0xDCFF:  # how Python holds a byte that it could not decode
        return f"\\x{code - 0xDC00:02x}"
    if char not in _JOINERS and unicodedata.category(char) in {"Cc", "Cf", "Cs", "Zl", "Zp"}:
        return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
    return char
