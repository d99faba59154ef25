"""Results in one page of Markdown, for a report, a ticket or a message."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from framecheck.classify.flag_cells import flagged_parts
from framecheck.export.rows import Row

MOST_LINES = 200
_MARKS = re.compile(r"([\\`*_{}\[\]<>|#!~])")


def encode_summary(
    title: str, tables: Mapping[str, Sequence[Row]], notes: Sequence[str] = ()
) -> bytes:
    """Counts of sizes, types and flags, then the shots and stills with flags, then the failures.

    Args:
        title: of the page.
        tables: rows of frames, shots and files.
        notes: said at the end.
    """
    stills = [row for row in tables["frames"] if row.get("shot") is None]
    shots = tables["shots"]
    seen = [*shots, *stills]
    seconds = sum(float(row.get("duration_s") or 0) for row in shots)
    lines = [f"# {escaped(title)}", ""]
    lines += [f"{len(stills)} stills and {len(shots)} shots ({seconds / 60:.1f} minutes).", ""]
    confirmed = sum(bool(row.get("confirmed")) for row in seen)
    lines += [f"{confirmed} of them confirmed or corrected by a person.", ""] if confirmed else []
    lines += _counted("Sizes", "size", Counter(str(row.get("size") or "no size") for row in seen))
    lines += _counted("Shot types", "type", Counter(str(row.get("shot_type")) for row in seen))
    lines += _counted("Flags", "part", Counter(part for row in seen for part in _parts(row)))
    lines += _flagged(seen)
    lines += _not_measured(tables["files"])
    lines += [f"- {escaped(note)}" for note in notes]
    return ("\n".join(lines).rstrip() + "\n").encode()


def escaped(text: str) -> str:
    """Text that Markdown and HTML take for nothing but text, on one line."""
    return _MARKS.sub(r"\\\1", " ".join(text.split()))


def _counted(title: str, head: str, counts: Counter[str]) -> list[str]:
    if not counts:
        return [f"## {title}", "", "None.", ""]
    whole = sum(counts.values())
    rows = [
        [name, str(count), f"{100 * count / whole:.0f} %"] for name, count in counts.most_common()
    ]
    return [f"## {title}", "", *_table([head, "count", "share"], rows), ""]


def _flagged(rows: Iterable[Row]) -> list[str]:
    flagged = [row for row in rows if row.get("flags")]
    if not flagged:
        return ["## What to look at again", "", "Nothing.", ""]
    cells = [
        [
            str(row.get("file")),
            "" if row.get("shot") is None else str(row.get("shot")),
            str(row.get("start_timecode") or ""),
            str(row.get("size_abbr") or ""),
            ", ".join(_parts(row)),
            str(row.get("advice") or ""),
        ]
        for row in flagged[:MOST_LINES]
    ]
    more = [f"And {len(flagged) - MOST_LINES} more.", ""] if len(flagged) > MOST_LINES else []
    head = ["file", "shot", "from", "size", "flags", "advice"]
    return ["## What to look at again", "", *_table(head, cells), "", *more]


def _not_measured(files: Iterable[Row]) -> list[str]:
    failed = [row for row in files if row.get("status") != "measured"]
    if not failed:
        return []
    cells = [[str(row.get(name) or "") for name in ("file", "status", "why")] for row in failed]
    return ["## Not measured", "", *_table(["file", "status", "why"], cells[:MOST_LINES]), ""]


def _parts(row: Row) -> tuple[str, ...]:
    return flagged_parts(str(row.get("flags") or ""))


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    lines = [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}"]
    return [*lines, *(f"| {' | '.join(map(escaped, row))} |" for row in rows)]
