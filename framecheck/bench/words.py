"""A run of the bench, and its comparison with another, as lines of text."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from framecheck.bench.document import Change, Run
from framecheck.bench.figures import Curve, Figure, Findings

NAME_WIDTH = 36


def heading_lines(run: Run) -> Iterator[str]:
    """Machine and versions."""
    machine = run.machine
    yield (
        f"{machine['processor']} ({machine['architecture']}), {machine['cores']} cores, "
        f"{machine['memory_gb']} GB, {machine['system']}; load {machine['load_before']} before"
    )
    yield ", ".join(f"{name} {number}" for name, number in run.versions.items())


def part_lines(name: str, found: Findings) -> Iterator[str]:
    """One part: its figures, its curves, its notes."""
    yield ""
    yield f"{name}: {found.figures[0].under}" if found.figures else name
    compared = any(figure.beside is not None for figure in found.figures)
    beside = f" {'naive':>10}" if compared else ""
    if found.figures:
        yield f"{'':{NAME_WIDTH}} {'value':>10}{beside}  aim"
    for figure in found.figures:
        yield _figure_line(figure, compared=compared)
    for curve in found.curves:
        yield from _curve_lines(curve)
    yield from (f"  {note}" for note in found.notes)


def _figure_line(figure: Figure, *, compared: bool) -> str:
    beside = f" {_shown(figure.beside):>10}" if compared else ""
    verdict = {True: "met", False: "not met", None: ""}[figure.met]
    aim = f"{figure.aim} {verdict}".strip()
    noise = f"+-{_shown(figure.noise)} " if figure.noise else ""
    unit = f" {figure.unit}" if figure.unit else ""
    line = f"{figure.name:{NAME_WIDTH}} {_shown(figure.value):>10}{beside}{unit}  {noise} {aim}"
    return line.rstrip()


def _curve_lines(curve: Curve) -> Iterator[str]:
    yield f"{curve.name}: exponent {curve.exponent:.2f} +- {curve.noise:.2f}"
    for x, seconds in zip(curve.x, curve.y, strict=True):
        yield f"{x:12.4g} {curve.unit_x:12} {seconds:9.3f} s"


def comparison_lines(before: Run, changes: Sequence[Change]) -> Iterator[str]:
    """Each figure before and now, those that moved by more than the noise marked."""
    yield ""
    kind = "a quick run" if before.quick else "a run"
    yield f"against {kind} of {before.written} on {before.machine.get('processor', 'a machine')}:"
    yield f"{'':{NAME_WIDTH}} {'before':>10} {'now':>10} {'change':>10}"
    for change in changes:
        yield _change_line(change)
    moved = sum(change.moved is True for change in changes)
    compared = sum(change.moved is not None for change in changes)
    yield f"{moved} of {compared} figures moved by more than the noise."


def _change_line(change: Change) -> str:
    cells = f"{_shown(change.before):>10} {_shown(change.now):>10}"
    if change.moved is None:
        return f"{change.name:{NAME_WIDTH}} {cells}  not compared: {change.why}"
    gap = _shown(change.now - change.before, signed=True)
    return f"{change.name:{NAME_WIDTH}} {cells} {gap:>10}{'  moved' if change.moved else ''}"


def _shown(value: float | None, *, signed: bool = False) -> str:
    if value is None or math.isnan(value):
        return "-"
    sign = "+" if signed else ""
    return f"{value:{sign},.0f}" if abs(value) >= 1000 else f"{value:{sign}.4g}"
