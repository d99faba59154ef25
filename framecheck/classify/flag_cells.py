"""What stands in the flags cells of the tables, read back."""

from __future__ import annotations

import re

_FLAG = re.compile(r"(?:p\d+:)?(?P<part>[^(;]+)(?:\([^)]*\))?")


def flagged_parts(flags: str) -> tuple[str, ...]:
    """The parts in the text of a flags cell, each once: "knee(bottom,+0.012,high); p1:chin(..)"."""
    found = (_FLAG.fullmatch(piece.strip()) for piece in flags.split(";"))
    return tuple(dict.fromkeys(match["part"].strip() for match in found if match))
