"""Writes the plan of a set-up."""

from __future__ import annotations

from pathlib import Path

from framecheck.errors import ConfigError
from framecheck.export.atomic import write_atomically
from framecheck.pipeline.lensing import NOTICE, SetUpAnswer
from framecheck.report.plan_view import PlanView, draw_plan


def check_plan_name(path: Path) -> None:
    """Refuse a name that does not say what the file will be.

    Raises:
        ConfigError: the name ends in something else than .svg.
    """
    if path.suffix.lower() != ".svg":
        raise ConfigError(f"{path} is to be a drawing; end its name in .svg", where=str(path))


def write_plan(answer: SetUpAnswer, path: Path, title: str) -> Path:
    """The plan as an SVG file.

    Raises:
        ConfigError: the name ends in something else.
        ExportError: it cannot be written.
    """
    check_plan_name(path)
    place = answer.question.place
    depth = None
    if place.depth_m is not None:
        depth = (place.depth_m, place.behind_camera_m, place.behind_subject_m)
    view = PlanView(
        title=f"{title or 'Set-up'}: {answer.now.focal_mm:g} mm, {answer.distance_m.value:.2f} m",
        now=answer.now,
        distance_m=answer.distance_m,
        lenses=answer.lenses,
        people=[(f"person {p.person}", p.behind_m, p.aside_m) for p in answer.others],
        subject_aside_m=answer.place.aside_m if answer.place else 0.0,
        depth_m=depth,
        notice=NOTICE,
    )
    return write_atomically(path, draw_plan(view).encode())
