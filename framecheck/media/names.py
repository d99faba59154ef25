"""File names as they can be shown and stored."""

from __future__ import annotations

import os


def shown_name(path: str | os.PathLike[str]) -> str:
    """The name on one line and in valid Unicode; most names come out as they went in.

    Control characters and bytes that are no text in the file system's encoding are written as
    escapes (a newline as backslash n, a stray byte 0xE9 as backslash xe9), so that a name can
    neither break a table nor a terminal.
    """
    return "".join(map(_shown_character, os.fspath(path)))


def _shown_character(char: str) -> str:
    code = ord(char)
    if 0xDC80 <= code <= 0xDCFF:  # how Python holds a byte that it could not decode
        return f"\\x{code - 0xDC00:02x}"
    if 0xD800 <= code <= 0xDFFF or char in "\u2028\u2029\u202a\u202b\u202d\u202e":
        return f"\\u{code:04x}"
    if code < 0x20 or 0x7F <= code <= 0x9F:
        return char.encode("unicode_escape").decode()
    return char
