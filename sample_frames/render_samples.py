"""Render the sample frames and their truth: `python -m sample_frames.render_samples`.

Needs the optional rendering packages. Without arguments it writes next to this file.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from sample_frames.stage import compose, scenes
from sample_frames.stage.boat_shed import CAST, LAMPS, build_shed
from sample_frames.stage.cameras import Camera
from sample_frames.stage.coverage import SETUPS, Setup
from sample_frames.stage.draw import Finish
from sample_frames.stage.people import Person, make_person
from sample_frames.stage.solids import floor_shadow

SCHEMA = "framecheck-truth-1"
SCENE = "The boat shed"
PIXELS = 1280.0 * 720.0


def setup_camera(setup: Setup, people: list[Person]) -> Camera:
    """Return the camera of a setup, placed for its framing."""
    camera = compose.make_camera(setup.lens_mm, setup.aspect, pixels=_pixels(setup))
    camera = replace(
        camera, pitch_deg=setup.pitch_deg, roll_deg=setup.roll_deg, heading_deg=setup.heading_deg
    )
    crop = compose.Crop(setup.bottom, setup.headroom, setup.across)
    return compose.frame_people(camera, [people[i] for i in setup.framed], crop)


def _pixels(setup: Setup) -> float:
    if setup.bars == "letterbox":
        return 1280.0 * 1280.0 / setup.aspect
    if setup.bars == "pillarbox":
        return 720.0 * 720.0 * setup.aspect
    return PIXELS * (0.4 if setup.file.endswith(("png", "tiff")) else 1.0)


def _bars(setup: Setup, camera: Camera) -> tuple[int, int]:
    width, height = camera.picture_wh_px
    if setup.bars == "letterbox":
        return 0, (720 - height) // 2
    return ((1280 - width) // 2, 0) if setup.bars == "pillarbox" else (0, 0)


def build_setup(setup: Setup, seed: int) -> scenes.Shot:
    """Return the shot of a setup."""
    people = [make_person(CAST[p.name], p.pose).moved(p.x_m, p.y_m) for p in setup.cast]
    camera = setup_camera(setup, people)
    stage = build_shed().plus(*(floor_shadow(p, np.array(LAMPS[0].toward), 0.5) for p in people))
    for person in people:
        if person.pose.posture == "seated":
            stage = stage.plus(*compose.seat_of(person, back=False, colour=(150, 112, 74)))
    return scenes.Shot(
        name=setup.file,
        shot_type=setup.shot_type,
        people=tuple(people),
        stage=stage,
        camera=camera,
        tags=("sample",),
        subject=0 if setup.foreground else None,
        foreground=setup.foreground,
        bars_px=_bars(setup, camera),
        seed=seed,
        finish=Finish(noise=0.8, supersample=3, soft_px=setup.soft_px, exposure=1.05),
    )


def render_samples(folder: Path, only: str = "") -> None:
    """Render all setups (or those whose file name contains `only`) into a folder."""
    frames: list[dict[str, Any]] = []
    for seed, setup in enumerate(SETUPS):
        if only not in setup.file:
            continue
        result = scenes.render_shot(build_setup(setup, seed))
        scenes.save_image(result.image, folder / setup.file, quality=90)
        names = [p.name for p in setup.cast]
        frames.append(
            result.truth
            | {
                "scene": SCENE,
                "character": " and ".join(names),
                "note": setup.note,
                "fault": setup.fault,
            }
        )
        print(setup.file, file=sys.stderr)
    if not only:
        text = json.dumps({"schema": SCHEMA, "seed": 0, "frames": frames}, indent=1, sort_keys=True)
        (folder / "truth.json").write_text(text + "\n", encoding="utf-8")


def main(arguments: list[str] | None = None) -> int:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=Path(__file__).resolve().parent)
    parser.add_argument("--only", default="", help="render only files whose name contains this")
    options = parser.parse_args(arguments)
    render_samples(options.out, options.only)
    return 0


if __name__ == "__main__":
    sys.exit(main())
