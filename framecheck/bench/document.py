"""The JSON of a bench run, and what a later run makes of it."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from framecheck.bench.figures import Curve, Figure, Findings
from framecheck.errors import ConfigError

FORMAT = 1
SURE = 2.0
"""Standard errors of the difference from which on a figure has moved."""
SAME = 5e-7
"""Difference that is rounding, of figures that come out the same in every run."""

Json: TypeAlias = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of the bench, made now or stored.

    Attributes:
        written: the day and time, as ISO 8601 has it.
        quick: whether it was the short one.
        machine, versions: what it ran on.
        findings: by part of the bench.
    """

    written: str
    quick: bool
    machine: Mapping[str, str | int | float]
    versions: Mapping[str, str]
    findings: Mapping[str, Findings]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures, the exponents of the curves among them."""
        plain = [figure for found in self.findings.values() for figure in found.figures]
        curves = [curve for found in self.findings.values() for curve in found.curves]
        return (*plain, *map(_exponent, curves))


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A figure in two runs.

    Attributes:
        name, unit: of the figure. before, now: its values.
        moved: whether it differs by more than the noise; None when the two cannot be compared.
        why: why not.
    """

    name: str
    unit: str
    before: float
    now: float
    moved: bool | None
    why: str = ""


def run_json(run: Run) -> str:
    """The run as JSON, the same text for the same run."""
    document = {
        "format": FORMAT,
        "written": run.written,
        "quick": run.quick,
        "machine": dict(run.machine),
        "versions": dict(run.versions),
        "parts": {name: _findings_json(found) for name, found in run.findings.items()},
    }
    return json.dumps(document, indent=1, allow_nan=False) + "\n"


def _findings_json(found: Findings) -> Json:
    return {
        "figures": [_figure_json(figure) for figure in found.figures],
        "curves": [
            {
                "name": curve.name, "unit_x": curve.unit_x, "x": list(curve.x),
                "seconds": list(curve.y), "exponent": curve.exponent, "noise": curve.noise,
            }
            for curve in found.curves
        ],
        "notes": list(found.notes),
    }  # fmt: skip


def _figure_json(figure: Figure) -> Json:
    beside = figure.beside
    return {
        "name": figure.name,
        "value": _number(figure.value),
        "unit": figure.unit,
        "noise": _number(figure.noise),
        "aim": figure.aim,
        "met": figure.met,
        "under": figure.under,
        "beside": None if beside is None else _number(beside),
    }


def _number(value: float) -> float | None:
    return None if math.isnan(value) or math.isinf(value) else float(value)


def read_run(path: Path) -> Run:
    """A stored run.

    Raises:
        ConfigError: it is not there, or no run of this bench.
    """
    try:
        document = json.loads(path.read_text("utf-8"))
        if document["format"] != FORMAT:
            raise ConfigError(
                f"{path} is of format {document['format']}, not {FORMAT}; run the bench of the "
                "version that wrote it, or store a new run",
                where=str(path),
            )
        return _run_of(document)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ConfigError(f"cannot read {path}: {reason}", where=str(path)) from error
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise ConfigError(
            f"{path} holds no run of the bench ({error!r}); name a file that --out has written",
            where=str(path),
        ) from error


def _run_of(document: Json) -> Run:
    return Run(
        written=str(document["written"]),
        quick=bool(document["quick"]),
        machine=dict(document["machine"]),
        versions=dict(document["versions"]),
        findings={name: _findings_of(part) for name, part in document["parts"].items()},
    )


def _findings_of(part: Json) -> Findings:
    return Findings(
        figures=tuple(_figure_of(item) for item in part["figures"]),
        curves=tuple(
            Curve(
                name=item["name"], unit_x=item["unit_x"], x=tuple(item["x"]),
                y=tuple(item["seconds"]), exponent=item["exponent"], noise=item["noise"],
            )
            for item in part["curves"]
        ),
        notes=tuple(part["notes"]),
    )  # fmt: skip


def _figure_of(item: Json) -> Figure:
    value, noise, beside = item["value"], item["noise"], item["beside"]
    return Figure(
        name=item["name"],
        value=math.nan if value is None else float(value),
        unit=item["unit"],
        noise=float(noise or 0.0),
        aim=item["aim"],
        under=item["under"],
        beside=None if beside is None else float(beside),
    )


def _exponent(curve: Curve) -> Figure:
    name = f"exponent of {curve.name}"
    under = ", ".join(f"{x:g}" for x in curve.x)
    return Figure(name=name, value=curve.exponent, noise=curve.noise, under=under)


def compare_runs(before: Run, now: Run) -> tuple[Change, ...]:
    """Each figure that both runs have, in the order of the later one."""
    known = {figure.name: figure for figure in before.figures}
    same_machine = all(
        before.machine.get(name) == now.machine.get(name) for name in ("processor", "cores")
    )
    return tuple(
        _change(known[figure.name], figure, same_machine=same_machine)
        for figure in now.figures
        if figure.name in known
    )


def _change(before: Figure, now: Figure, *, same_machine: bool) -> Change:
    why = ""
    if before.under != now.under:
        why = f"measured on other things: {before.under}"
    elif now.unit in {"s", "1/s"} and not same_machine:
        why = "seconds of another machine"
    elif math.isnan(before.value) or math.isnan(now.value):
        why = "" if math.isnan(before.value) and math.isnan(now.value) else "not given by both"
    limit = max(SAME, SURE * math.hypot(before.noise, now.noise))
    return Change(
        name=now.name, unit=now.unit, before=before.value, now=now.value, why=why,
        moved=None if why else abs(now.value - before.value) > limit,
    )  # fmt: skip


def moved_only(changes: Sequence[Change]) -> tuple[Change, ...]:
    """Those that moved by more than the noise."""
    return tuple(change for change in changes if change.moved)
