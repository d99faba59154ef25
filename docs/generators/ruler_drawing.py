"""The drawing of the body ruler: a figure at handbook proportions, its marks, and size names."""

from __future__ import annotations

from collections.abc import Iterator

from framecheck.geometry.ruler import BODY_LEVELS, MARK_LEVELS
from framecheck.pipeline.settings import load_vocabulary

_WIDTH, _HEIGHT = 560, 590
_TOP, _FIGURE = 46, 520  # where the crown is, and how high the figure stands
_MIDDLE = 238
_RULER_X, _BARS_X = 140, 354
_ACCENT = "var(--color-brand-primary, #0a5fb4)"

_HALF_SHOULDERS, _HALF_HIPS = 0.1295, 0.0955
_HEAD_HALF = 0.045
"""Half of the breadths of shoulders, hips and head over stature (Drillis & Contini 1966, in Winter;
head breadth of ANSUR II)."""
_ROUND = 0.018
"""How round the corners of the trunk are."""
_LIMBS = (
    ("shoulder", "elbow", _HALF_SHOULDERS - 0.02, 0.150, 0.044),
    ("elbow", "wrist", 0.150, 0.158, 0.036),
    ("wrist", "fingertips", 0.158, 0.160, 0.034),
    ("hip", "knee", 0.052, 0.050, 0.078),
    ("knee", "ankle", 0.050, 0.048, 0.054),
    ("ankle", "sole", 0.048, 0.060, 0.040),
)
"""Upper and lower mark, how far from the middle each lies, and how thick the limb is."""


def ruler_drawing() -> str:
    """An SVG that takes its ink from the page around it."""
    parts = [*_figure(), *_ruler(), *_bars(), *_headings()]
    title = "The body ruler: heights on the body, and the size that a cut there gives"
    return (
        f'<svg class="body-ruler" role="img" aria-label="{title}" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
        f'xmlns="http://www.w3.org/2000/svg" font-size="16" fill="currentColor">\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _y(level: float) -> str:
    return f"{_TOP + (1 - level) * _FIGURE:.1f}"


def _figure() -> Iterator[str]:
    levels = {**MARK_LEVELS, **BODY_LEVELS}
    yield '<g opacity="0.3" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round">'
    for upper, lower, from_off, to_off, thick in _LIMBS:
        # Round ends stand out by half their thickness: drawn in where a limb ends.
        start = levels[upper] - (thick / 2 if upper == "shoulder" else 0)
        stop = levels[lower] + (thick / 2 if lower in {"sole", "fingertips"} else 0)
        for side in (-1, 1):
            yield (
                f'<line x1="{_x(side * from_off)}" y1="{_y(start)}" x2="{_x(side * to_off)}" '
                f'y2="{_y(stop)}" stroke-width="{thick * _FIGURE:.1f}"/>'
            )
    head = (MARK_LEVELS["crown"] - MARK_LEVELS["chin"]) / 2
    yield (
        f'<ellipse cx="{_MIDDLE}" cy="{_y(MARK_LEVELS["chin"] + head)}" stroke="none" '
        f'rx="{_HEAD_HALF * _FIGURE:.1f}" ry="{head * _FIGURE:.1f}"/>'
    )
    yield f'<path d="{_trunk()}" stroke-width="{2 * _ROUND * _FIGURE:.1f}"/></g>'


def _trunk() -> str:
    outline = (
        (0.032, 0.885), (0.034, 0.842), (_HALF_SHOULDERS - 0.03, 0.825),
        (_HALF_SHOULDERS - 0.028, 0.76), (0.080, 0.62), (_HALF_HIPS - 0.003, 0.53), (0.082, 0.50),
        (0.0, 0.485),
    )  # fmt: skip
    inside = [(max(0.0, off - _ROUND), level) for off, level in outline]
    right = [f"{_x(off)} {_y(level)}" for off, level in inside]
    left = [f"{_x(-off)} {_y(level)}" for off, level in reversed(inside[:-1])]
    return f"M{' L'.join([*right, *left])}Z"


def _x(off: float) -> str:
    return f"{_MIDDLE + off * _FIGURE:.1f}"


def _ruler() -> Iterator[str]:
    yield (
        f'<line x1="{_RULER_X}" y1="{_y(1)}" x2="{_RULER_X}" y2="{_y(0)}" stroke="{_ACCENT}" '
        'stroke-width="2"/>'
    )
    for name, level in MARK_LEVELS.items():
        y = float(_y(level))
        yield (
            f'<line x1="{_RULER_X - 5}" y1="{y}" x2="{_MIDDLE + 90}" y2="{y}" stroke="{_ACCENT}" '
            'stroke-dasharray="2 4"/>'
            f'<text x="{_RULER_X - 10}" y="{y + 5:.1f}" text-anchor="end">{name} {level:.3f}</text>'
        )


def _bars() -> Iterator[str]:
    bands = [band for band in load_vocabulary("trade").bands if band.abbr not in {"EWS", "WS"}]
    for place, band in enumerate(bands):
        span = band.regions[-1].crop  # what an edge alone gives; others ask for the top edge too
        start, stop = max(0.0, span.start), min(1.0, span.stop)
        top, low = float(_y(stop)), float(_y(start))
        yield (
            f'<rect x="{_BARS_X}" y="{top + 1:.1f}" width="9" height="{low - top - 2:.1f}" '
            f'fill="{_ACCENT}" opacity="{0.9 if place % 2 else 0.5}"/>'
            f'<text x="{_BARS_X + 16}" y="{(top + low) / 2 + 5:.1f}">{band.abbr} {band.name}</text>'
        )


def _headings() -> Iterator[str]:
    yield f'<text x="{_RULER_X - 10}" y="18" text-anchor="end" font-weight="600">mark</text>'
    yield f'<text x="{_BARS_X}" y="18" font-weight="600">bottom edge here</text>'
