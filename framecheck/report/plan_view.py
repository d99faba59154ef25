"""A plan of set-ups seen from above, as SVG: lenses on the left, the subject on the right."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from framecheck.geometry.set_ups import LensRow, SetUp
from framecheck.records.lens import Estimate

WIDTH = 960.0
MARGIN = 48.0
MOST_HALF_HEIGHT = 190.0
_ROW = 17.0  # lines of labels
_LEAST_BAR = 60.0  # length of the bar that tells the scale
_LETTER = 7.0  # about the width of a letter of 12 px
_STYLE = """
  .paper{fill:#fbfaf6} text{font:12px system-ui,sans-serif;fill:#22252b}
  .title{font-size:15px;font-weight:600} .quiet{fill:#5b616b}
  .axis,.wall{stroke:#8b9099;stroke-width:1} .wall{stroke-width:3}
  .now{stroke:#14508c;stroke-width:2;fill:#14508c;fill-opacity:.08}
  .other{stroke:#6d7178;stroke-width:1;stroke-dasharray:5 4;fill:none}
  .camera{fill:#14508c} .camera.other{fill:#fbfaf6;stroke-dasharray:none;stroke-width:1.4}
  .camera.far{stroke:#b3400e} .far{fill:#b3400e} .doubt{stroke:#14508c;stroke-width:5;opacity:.35}
  .subject{fill:#22252b} .person{fill:#fbfaf6;stroke:#22252b;stroke-width:1.6}
  .behind{stroke:#22252b;stroke-width:1;stroke-dasharray:2 3}
  @media (prefers-color-scheme:dark){.paper,.camera.other,.person{fill:#191b20}
  text,.subject{fill:#e8e6df} .quiet{fill:#a3a8b1} .now{stroke:#7cb7f2;fill:#7cb7f2}
  .camera{fill:#7cb7f2} .doubt{stroke:#7cb7f2} .person,.behind{stroke:#e8e6df}
  .far{fill:#f0906a} .camera.far{stroke:#f0906a}}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanView:
    """What the plan shows.

    Attributes:
        title: the first line.
        now: the set-up in use. distance_m: its distance with its interval.
        lenses: the same size on each lens; the one in use among them.
        people: label, metres behind the subject, metres to the right seen from the lens.
        subject_aside_m: how far right of the middle of the view the subject stands.
        depth_m: of the room, with what is kept free behind the lens and behind the subject.
        notice: the last line.
    """

    title: str
    now: SetUp
    distance_m: Estimate
    lenses: Sequence[LensRow]
    people: Sequence[tuple[str, float, float]] = ()
    subject_aside_m: float = 0.0
    depth_m: tuple[float, float, float] | None = None
    notice: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """From metres to the drawing; the subject is the origin, the lenses lie at negative x."""

    scale: float
    subject_x: float
    middle_y: float

    def x(self, metres: float) -> float:
        return self.subject_x + metres * self.scale

    def y(self, metres: float) -> float:
        return self.middle_y + metres * self.scale


def draw_plan(view: PlanView) -> str:
    """The plan as an SVG document; text stays text, and light and dark are both looked after."""
    frame = _frame(view)
    rows = _label_rows([(_label_x(row, frame), _lens_label(row)) for row in view.lenses])
    label_y = frame.middle_y + _half_height(view, frame) + 30
    depth = max(rows, default=0) + 1
    height = label_y + depth * _ROW + 70
    parts = [
        f'<rect class="paper" width="{WIDTH:g}" height="{height:.0f}"/>',
        _text(MARGIN, 30, view.title, "title"),
        *_wedges(view, frame),
        *_room(view, frame),
        *_background(view, frame),
        *_people(view, frame),
        *_cameras(view, frame, rows, label_y),
        *_scale_bar(frame, height - 44),
        *_lines(MARGIN, height - 14, view.notice),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {height:.0f}" '
        f'role="img" aria-label="{escape(_said(view))}">\n<style>{_STYLE}</style>\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _frame(view: PlanView) -> _Frame:
    left_m = max([row.distance_m for row in view.lenses] + [view.distance_m.high])
    right_m = max([view.now.behind_m] + [behind for _, behind, _ in view.people] + [0.3])
    if view.depth_m is not None:
        left_m = max(left_m, view.depth_m[0] - view.depth_m[2])
        right_m = max(right_m, view.depth_m[2])
    half_m = max([row.background_m / 2 for row in view.lenses] + [0.5])
    scale = min((WIDTH - 2 * MARGIN - 40) / (left_m + right_m), MOST_HALF_HEIGHT / half_m)
    spare = WIDTH - 2 * MARGIN - (left_m + right_m) * scale
    half = min(MOST_HALF_HEIGHT, half_m * scale)
    return _Frame(scale=scale, subject_x=MARGIN + spare / 2 + left_m * scale, middle_y=70 + half)


def _half_height(view: PlanView, frame: _Frame) -> float:
    return max([row.background_m / 2 for row in view.lenses] + [0.5]) * frame.scale


def _wedges(view: PlanView, frame: _Frame) -> Iterator[str]:
    """What each lens sees, as far as the background; the one in use last, on top."""
    for row in sorted(view.lenses, key=lambda row: row.focal_mm == view.now.focal_mm):
        kind = "now" if row.focal_mm == view.now.focal_mm else "other"
        x, far_x = frame.x(-row.distance_m), frame.x(view.now.behind_m)
        top, bottom = frame.y(-row.background_m / 2), frame.y(row.background_m / 2)
        points = f"{x:.1f},{frame.middle_y:.1f} {far_x:.1f},{top:.1f} {far_x:.1f},{bottom:.1f}"
        yield f'<polygon class="{kind}" points="{points}"/>'


def _room(view: PlanView, frame: _Frame) -> Iterator[str]:
    if view.depth_m is None:
        return
    depth_m, _, behind_subject_m = view.depth_m
    for metres in (behind_subject_m - depth_m, behind_subject_m):
        x, half = frame.x(metres), _half_height(view, frame) + 10
        yield _line(x, frame.middle_y - half, x, frame.middle_y + half, "wall")


def _background(view: PlanView, frame: _Frame) -> Iterator[str]:
    x, half = frame.x(view.now.behind_m), _half_height(view, frame)
    yield _line(x, frame.middle_y - half, x, frame.middle_y + half, "behind")
    label = f"{view.now.behind_m:.1f} m behind"
    yield _text(min(x, WIDTH - MARGIN), frame.middle_y - half - 8, label, "quiet", "end")


def _people(view: PlanView, frame: _Frame) -> Iterator[str]:
    subject_y = frame.y(view.subject_aside_m)
    yield f'<circle class="subject" cx="{frame.x(0):.1f}" cy="{subject_y:.1f}" r="7"/>'
    yield _text(frame.x(0), subject_y + 22, "subject", "", "middle")
    for label, behind_m, aside_m in view.people:
        x, y = frame.x(behind_m), frame.y(aside_m)
        yield f'<circle class="person" cx="{x:.1f}" cy="{y:.1f}" r="6"/>'
        yield _text(x, y - 12, label, "quiet", "middle")


def _cameras(view: PlanView, frame: _Frame, rows: Sequence[int], label_y: float) -> Iterator[str]:
    low, high = frame.x(-view.distance_m.low), frame.x(-view.distance_m.high)
    yield _line(high, frame.middle_y, low, frame.middle_y, "doubt")
    for row, level in zip(view.lenses, rows, strict=True):
        x, y = frame.x(-row.distance_m), label_y + level * _ROW
        kind = "camera" if row.focal_mm == view.now.focal_mm else "camera other"
        far = "" if row.fits else " far"
        yield _line(x, frame.middle_y + 8, x, y - 11, "axis")
        yield (
            f'<rect class="{kind}{far}" x="{x - 9:.1f}" y="{frame.middle_y - 5:.1f}" '
            'width="12" height="10" rx="2"/>'
        )
        yield _text(_label_x(row, frame), y, _lens_label(row), far.strip(), "middle")


def _label_x(row: LensRow, frame: _Frame) -> float:
    """Under the lens, or as near to that as the paper allows."""
    half = len(_lens_label(row)) * _LETTER / 2 + 4
    return min(max(frame.x(-row.distance_m), half), WIDTH - half)


def _lens_label(row: LensRow) -> str:
    label = f"{row.focal_mm:g} mm {row.distance_m:.2f} m"
    return label if row.fits else f"{label} (no room)"


def _label_rows(labels: Sequence[tuple[float, str]]) -> list[int]:
    """The line on which each label stands, so that none runs into another one."""
    ends: list[float] = []
    rows = [0] * len(labels)
    for index in sorted(range(len(labels)), key=lambda index: labels[index][0]):
        x, label = labels[index]
        half = len(label) * _LETTER / 2 + 8
        row = next((row for row, end in enumerate(ends) if end < x - half), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row], rows[index] = x + half, row
    return rows


def _scale_bar(frame: _Frame, y: float) -> Iterator[str]:
    steps = (step * 10**power for power in range(-1, 12) for step in (1, 2, 5))
    metres = next(step for step in steps if step * frame.scale >= _LEAST_BAR)
    right = WIDTH - MARGIN
    yield _line(right - metres * frame.scale, y, right, y, "wall")
    yield _text(right, y - 7, f"{metres:g} m", "quiet", "end")


def _lines(x: float, y: float, text: str) -> Iterator[str]:
    width = math.floor((WIDTH - 2 * MARGIN) / 6.3)
    words, lines = text.split(), [""]
    for word in words:
        if len(lines[-1]) + len(word) > width:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    for number, line in enumerate(lines):
        yield _text(x, y - (len(lines) - 1 - number) * 14, line, "quiet")


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _text(x: float, y: float, words: str, kind: str = "", anchor: str = "start") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" class="{kind}" text-anchor="{anchor}">'
        f"{escape(words)}</text>"
    )


def _said(view: PlanView) -> str:
    """The plan in words, for those who hear it."""
    lenses = ", ".join(_lens_label(row) for row in view.lenses)
    return f"{view.title}. Distances from the subject for the same size: {lenses}."
