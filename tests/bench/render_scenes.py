"""Render random scenes with exact ground truth.

`python -m tests.bench.render_scenes --seed 1 --count 40 --out DIR` writes `DIR/*.jpg` and
`DIR/truth.json`. The same seed gives the same scenes.
"""

from __future__ import annotations

import argparse
import json
import logging
import sys
from pathlib import Path
from typing import Any

import numpy as np

from sample_frames.stage import scenes
from sample_frames.stage.builder import build_shot
from sample_frames.stage.hard_builder import build_hard_shot
from sample_frames.stage.hard_plans import HardPlan, accepts_hard, draw_hard_plans, relaxed_hard
from sample_frames.stage.plans import Plan, accepts, draw_plans, relaxed

LOG = logging.getLogger("render_scenes")
SCHEMA = "framecheck-truth-1"
MAX_TRIES = 30


def render_plan(
    plan: Plan, seed: int, *, coarse: bool = False
) -> tuple[scenes.Shot, scenes.Result]:
    """Render one planned scene; impossible layouts are drawn again with the next random numbers.

    Args:
        plan: What to show.
        seed: Number of the set.
        coarse: Whether the truth may be coarse, see `truth.silhouette`.

    Raises:
        RuntimeError: no layout was found.
    """
    for attempt in range(MAX_TRIES):
        rng = np.random.default_rng([seed, plan.index, attempt])
        try:
            shot = _build(plan, attempt, rng)
        except ValueError as reason:
            LOG.debug("scene %d, try %d: %s", plan.index, attempt, reason)
            continue
        result = scenes.render_shot(shot, coarse=coarse)
        if _accepts(plan, result.truth):
            return shot, result
    msg = f"scene {plan.index} ({plan.kind}) found no valid layout in {MAX_TRIES} tries"
    raise RuntimeError(msg)


def _build(plan: Plan, attempt: int, rng: np.random.Generator) -> scenes.Shot:
    if isinstance(plan, HardPlan):
        return build_hard_shot(relaxed_hard(plan, attempt), rng)
    return build_shot(relaxed(plan, attempt), rng)


def _accepts(plan: Plan, truth: dict[str, Any]) -> bool:
    return accepts_hard(plan, truth) if isinstance(plan, HardPlan) else accepts(plan, truth)


def render_set(
    seed: int,
    count: int,
    folder: Path,
    *,
    height_px: int = 720,
    quality: int = 85,
    hard: bool = False,
) -> dict[str, Any]:
    """Render a whole set and return its truth document.

    Args:
        seed: Number of the set.
        count: Scenes to render.
        folder: Where the pictures and `truth.json` go.
        height_px: Height class; a 16:9 scene gets this height, others the same area.
        quality: JPEG quality.
        hard: Hard scenes instead of the plain ones.
    """
    folder.mkdir(parents=True, exist_ok=True)
    frames = []
    plans = (draw_hard_plans if hard else draw_plans)(seed, count, height_px)
    for plan in plans:
        try:
            shot, result = render_plan(plan, seed)
        except RuntimeError as reason:  # one plan without a layout must not cost the whole set
            LOG.warning("left out: %s", reason)
            continue
        scenes.save_image(result.image, folder / shot.name, quality=quality)
        frames.append(result.truth)
        LOG.info("%d/%d %s", len(frames), count, plan.kind)
    document = {"schema": SCHEMA, "seed": seed, "frames": frames}
    text = json.dumps(document, indent=1, sort_keys=True) + "\n"
    (folder / "truth.json").write_text(text, encoding="utf-8")
    return document


def main(arguments: list[str] | None = None) -> int:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--height", type=int, default=720, dest="height_px")
    parser.add_argument("--quality", type=int, default=85)
    parser.add_argument("--hard", action="store_true", help="the hard scenes")
    options = parser.parse_args(arguments)
    logging.basicConfig(level=logging.INFO, format="%(message)s", stream=sys.stderr)
    render_set(
        options.seed,
        options.count,
        options.out,
        height_px=options.height_px,
        quality=options.quality,
        hard=options.hard,
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
