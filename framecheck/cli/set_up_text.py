"""A set-up and its alternatives as text for terminals, as CSV and as JSON."""

from __future__ import annotations

import dataclasses
import json
import math

from framecheck.cli.text import columns_of, padded, table_lines, terminal_width, wrapped
from framecheck.export.columns import Column, Kind
from framecheck.export.rows import Row
from framecheck.export.writers import encode_csv
from framecheck.geometry.set_ups import SizeRow
from framecheck.pipeline.lensing import NOTICE, SetUpAnswer
from framecheck.records.lens import CameraPlace, Estimate
from framecheck.records.values import NotMeasured

_ZOOM_LEAST_MM, _ZOOM_MOST_MM = 4.0, 2000.0  # what lenses there are


def set_up_lines(answer: SetUpAnswer, title: str) -> list[str]:
    """The answer for reading."""
    width = terminal_width()
    behind = answer.now.behind_m
    facts = [*_lens_facts(answer), *(_place_facts(answer.place) if answer.place else [])]
    return [
        *(wrapped(title, width, "") if title else []),
        *table_lines([*facts, *_other_facts(answer)], width),
        "",
        *wrapped(
            f"As large on other lenses; somebody {behind:.1f} m behind looks smaller:", width, ""
        ),
        *aligned(_lens_rows(answer)),
        "",
        *wrapped("Other sizes, on this lens by walking or from here by zooming:", width, ""),
        *aligned(_size_rows(answer)),
        "",
        *wrapped(NOTICE, width, ""),
    ]


def aligned(rows: list[list[str]]) -> list[str]:
    """Columns side by side, numbers at the right."""
    sizes = [max(columns_of(row[index]) for row in rows) for index in range(len(rows[0]))]
    lines = []
    for row in rows:
        first, *others = zip(row, sizes, strict=True)
        cells = [padded(*first), *(" " * (size - columns_of(cell)) + cell for cell, size in others)]
        lines.append("  " + "  ".join(cells).rstrip())
    return lines


def _lens_facts(answer: SetUpAnswer) -> list[tuple[str, str]]:
    now, stature = answer.now, answer.question.stature
    width_mm, height_mm = now.used_wh_mm
    diagonal_mm = math.hypot(width_mm, height_mm)
    tall = f"{stature.mean_m:.2f} m tall"
    if stature.sd_m:
        tall = f"taken as {tall}, give or take {stature.sd_m:.2f}"
    return [
        (
            "lens",
            f"{now.focal_mm:g} mm on {width_mm:.1f} x {height_mm:.1f} mm "
            f"(diagonal {diagonal_mm:.1f})",
        ),
        ("subject", tall),
        ("distance", f"{_metres(answer.distance_m)} from the lens to the eyes"),
    ]


def _place_facts(place: CameraPlace) -> list[tuple[str, str]]:
    height = place.height_m
    if isinstance(height, Estimate):
        lens_height = f"lens {_metres(height)} over the floor"
    else:
        reason = height.reason if isinstance(height, NotMeasured) else ""
        lens_height = f"lens {_metres(place.over_eyes_m)} over the eyes; floor not known: {reason}"
    tilt = place.tilt_deg
    across, down, corner = place.view_deg
    return [
        ("height", lens_height),
        (
            "tilt",
            f"{round(tilt.value):+d} degrees ({round(tilt.low):+d} to {round(tilt.high):+d}); "
            "+ looks up",
        ),
        ("view", f"{across:.1f} x {down:.1f} degrees, {corner:.1f} corner to corner"),
        ("rests on", f"{', '.join(place.marks)}; nine of ten intervals hold the truth"),
        *(("note", note) for note in place.notes),
    ]


def _other_facts(answer: SetUpAnswer) -> list[tuple[str, str]]:
    return [
        (
            f"person {other.person}",
            f"about {abs(other.behind_m):.1f} m {'behind' if other.behind_m >= 0 else 'in front'}; "
            f"somebody as tall looks {other.looks:.2f} as large there",
        )
        for other in answer.others
    ]


def _lens_rows(answer: SetUpAnswer) -> list[list[str]]:
    room = answer.now.most_distance_m is not None
    head = ["lens", "view", "from", "move", "looks", "background", *(["in the room"] * room)]
    rows = [head]
    for row in answer.lenses:
        mark = " *" if row.focal_mm == answer.now.focal_mm else ""
        across, down = row.view_wh_deg
        rows.append(
            [
                f"{row.focal_mm:g} mm{mark}",
                f"{across:.1f} x {down:.1f}",
                f"{row.distance_m:.2f} m",
                f"{row.move_m:+.2f}",
                f"{row.behind_size:.2f}",
                f"{row.background_m:.2f} m wide",
                *(["yes" if row.fits else "no"] * room),
            ]
        )
    return rows


def _size_rows(answer: SetUpAnswer) -> list[list[str]]:
    room = answer.now.most_distance_m is not None
    rows = [["size", "walk to", "between", "move", "or zoom to", *(["in the room"] * room)]]
    for row in answer.sizes:
        zoom = f"{row.zoom_mm:.0f} mm"
        if not _ZOOM_LEAST_MM <= row.zoom_mm <= _ZOOM_MOST_MM:
            zoom = "no lens"
        rows.append(
            [
                f"{row.abbr} {row.name}" if row.abbr != row.name else row.name,
                f"{row.walk_m:.2f} m",
                f"{row.walk_low_m:.2f} to {row.walk_high_m:.2f}",
                f"{row.move_m:+.2f}",
                zoom,
                *([_in_room(row)] * room),
            ]
        )
    return rows


def _in_room(row: SizeRow) -> str:
    """The longest lens at hand for which the room is deep enough, or what it takes instead."""
    if row.longest_mm is not None:
        return f"to {row.longest_mm:g} mm"
    if row.room_mm is None or row.room_mm < _ZOOM_LEAST_MM:
        return "no lens"
    return f"needs {row.room_mm:.0f} mm"


def _metres(estimate: Estimate) -> str:
    if estimate.low == estimate.high:
        return f"{estimate.value:.2f} m"
    return f"{estimate.value:.2f} m ({estimate.low:.2f} to {estimate.high:.2f})"


def set_up_json(answer: SetUpAnswer) -> bytes:
    """The whole answer as JSON."""
    place = None if answer.place is None else _plain(answer.place)
    content = {
        "distance_m": _plain(answer.distance_m),
        "camera": place,
        "set_up": _plain(answer.now),
        "lenses": [_plain(row) for row in answer.lenses],
        "sizes": [_plain(row) for row in answer.sizes],
        "people": [_plain(other) for other in answer.others],
        "stature": _plain(answer.question.stature),
        "notice": NOTICE,
    }
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()


def _plain(record: object) -> object:
    """A record as plain JSON values, metres and degrees to a tenth of a thousandth."""
    if isinstance(record, NotMeasured):
        return {"not_measured": record.reason}
    if dataclasses.is_dataclass(record) and not isinstance(record, type):
        names = (field.name for field in dataclasses.fields(record))
        return {name: _plain(getattr(record, name)) for name in names}
    if isinstance(record, tuple | list):
        return [_plain(item) for item in record]
    return round(record, 4) if isinstance(record, float) else record


def set_up_csv(answer: SetUpAnswer) -> bytes:
    """Both tables, one under the other in the same columns; `row` says which one it is of."""
    rows: list[Row] = []
    for lens in answer.lenses:
        across, down = lens.view_wh_deg
        rows.append(
            {
                "row": "lens", "lens_mm": lens.focal_mm, "distance_m": lens.distance_m,
                "move_m": lens.move_m, "view_across_deg": across, "view_down_deg": down,
                "behind_looks": lens.behind_size, "background_m": lens.background_m,
                "in_room": "yes" if lens.fits else "no",
            }
        )  # fmt: skip
    for size in answer.sizes:
        fits = "no" if size.longest_mm is None else "yes"
        rows.append(
            {
                "row": "size", "size": size.name, "size_abbr": size.abbr,
                "lens_mm": answer.now.focal_mm, "distance_m": size.walk_m,
                "distance_low_m": size.walk_low_m, "distance_high_m": size.walk_high_m,
                "move_m": size.move_m, "zoom_mm": size.zoom_mm,
                "longest_mm": size.longest_mm, "room_mm": size.room_mm, "in_room": fits,
            }
        )  # fmt: skip
    return encode_csv(_COLUMNS, rows)


def _column(name: str, unit: str = "") -> Column:
    kind = Kind.NUMBER if unit else Kind.TEXT
    return Column(name=name, kind=kind, unit=unit, meaning=name, decimals=3 if unit else 0)


_COLUMNS = (
    _column("row"), _column("size"), _column("size_abbr"), _column("lens_mm", "mm"),
    _column("distance_m", "m"), _column("distance_low_m", "m"), _column("distance_high_m", "m"),
    _column("move_m", "m"), _column("zoom_mm", "mm"), _column("longest_mm", "mm"),
    _column("room_mm", "mm"),
    _column("view_across_deg", "degrees"), _column("view_down_deg", "degrees"),
    _column("behind_looks", "ratio"), _column("background_m", "m"), _column("in_room"),
)  # fmt: skip
