"""One shot in a line, as markers, comments and chapters say it."""

from __future__ import annotations

from framecheck.records.edit import EditShot


def shot_title(shot: EditShot) -> str:
    """What the shot is: "MCU single", or its type where it has no size."""
    words = [shot.size_abbr or shot.size, str(shot.values.get("shot_type", ""))]
    return " ".join(word for word in words if word) or f"shot {shot.number}"


def shot_line(shot: EditShot) -> str:
    """Size in full, people, what becomes of the size, flags, and whether a person confirmed any.

    The type stands in the title.
    """
    pieces = [shot.size or "no size"]
    people = shot.values.get("people")
    if isinstance(people, int):
        pieces.append(
            "nobody" if people == 0 else f"{people} {'person' if people == 1 else 'people'}"
        )
    change = str(shot.values.get("size_change", ""))
    if change and change != "steady":
        pieces.append(change)
    if shot.flags:
        pieces.append(f"flagged: {', '.join(shot.flags)}")
    if shot.values.get("confirmed"):
        pieces.append("confirmed")
    return ", ".join(dict.fromkeys(piece for piece in pieces if piece))
