"""A complete shot: people, set, camera and file format, and its rendering with truth."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image as PillowImage

from sample_frames.stage import truth
from sample_frames.stage.cameras import Camera
from sample_frames.stage.damage import Damage, damage_picture
from sample_frames.stage.draw import (
    Finish,
    draw_owners,
    draw_picture,
    finish_picture,
    soften_set,
)
from sample_frames.stage.people import Person
from sample_frames.stage.sets import StageSet

Image = NDArray[np.uint8]
FACE_LIMIT_DEG = 100.0


@dataclass(frozen=True, eq=False)
class Shot:
    """One frame to render.

    Attributes:
        subject: Index of the main subject, or None to take the largest clear face.
        foreground: Indices of people who are only foreground.
        bars_px: Black bars, (at each side, above and below).
        kind: Stratum of the bench that the shot belongs to; kept in the truth when given.
        person_tags: Tags of each person, kept in the truth when given.
        damage: What happened to the picture after the lens.
    """

    name: str
    shot_type: str
    people: tuple[Person, ...]
    stage: StageSet
    camera: Camera
    tags: tuple[str, ...] = ()
    subject: int | None = None
    foreground: tuple[int, ...] = ()
    bars_px: tuple[int, int] = (0, 0)
    finish: Finish = field(default_factory=Finish)
    seed: int = 0
    quality: int = 88
    kind: str = ""
    person_tags: tuple[tuple[str, ...], ...] = ()
    damage: Damage = field(default_factory=Damage)


@dataclass(frozen=True)
class Result:
    """A rendered shot: picture, truth and who is where in the active picture.

    Attributes:
        owners: Number of the person in the shot's own order at every pixel, -1 for the set.
        order: Those numbers in the order of the truth's people.
    """

    image: Image
    truth: dict[str, Any]
    owners: NDArray[np.int32]
    order: tuple[int, ...] = ()


def render_shot(shot: Shot, *, coarse: bool = False) -> Result:
    """Render a shot and its truth; a coarse truth is quicker, see `truth.silhouette`."""
    people = list(shot.people)
    rng = np.random.default_rng(shot.seed)
    image = draw_picture(shot.stage, people, shot.camera, supersample=shot.finish.supersample)
    owners = draw_owners(shot.stage, people, shot.camera)
    if shot.finish.soft_px > 0:
        image = soften_set(image, owners, shot.finish.soft_px)
    image = damage_picture(finish_picture(image, shot.finish, rng), owners, shot.damage)
    image = _add_bars(image, shot.bars_px)
    record, order = shot_truth(shot, owners, coarse=coarse)
    return Result(image, record, owners, tuple(order))


def _add_bars(image: Image, bars_px: tuple[int, int]) -> Image:
    side, above = bars_px
    return np.pad(image, ((above, above), (side, side), (0, 0)))


def shot_truth(
    shot: Shot, owners: NDArray[np.int32], *, coarse: bool = False
) -> tuple[dict[str, Any], list[int]]:
    """Return the truth record of a shot, floats rounded, and which person each entry is."""
    width, height = shot.camera.picture_wh_px
    side, above = shot.bars_px
    picture = truth.Picture(side, above, width, height)
    records = [
        truth.person_truth(p, shot.camera, owners == i, picture, "background", coarse=coarse)
        for i, p in enumerate(shot.people)
    ]
    order = _order(shot, records)
    people = [records[i] | {"role": _role(shot, i, order[0])} for i in order]
    for number, (record, index) in enumerate(zip(people, order, strict=True)):
        record["id"] = number
        if shot.person_tags:
            record["tags"] = sorted(shot.person_tags[index])
    camera = shot.camera
    record = truth.rounded(
        {
            "file": shot.name,
            "width_px": width + 2 * side,
            "height_px": height + 2 * above,
            "picture_xywh_px": [side, above, width, height],
            "aspect": width / height,
            "lens_mm": float(camera.lens_mm),
            "sensor_wh_mm": [float(v) for v in camera.sensor_wh_mm],
            "camera": {
                "height_m": camera.position_m[2],
                "pitch_deg": float(camera.pitch_deg),
                "roll_deg": float(camera.roll_deg),
                "distance_m": people[0]["distance_m"] if people else None,
            },
            "shot_type": shot.shot_type if people else "no people",
            "tags": sorted(shot.tags),
            "people": people,
            **({"kind": shot.kind} if shot.kind else {}),
        }
    )
    return record, order


def _order(shot: Shot, records: list[dict[str, Any]]) -> list[int]:
    listed = [i for i, record in enumerate(records) if truth.counted(record)]
    if shot.subject is not None and shot.subject in listed:
        first = shot.subject
    else:
        first = max(listed, key=lambda i: _face_weight(records[i]), default=None)
    rest = sorted((i for i in listed if i != first), key=lambda i: records[i]["distance_m"])
    return ([first] if first is not None else []) + rest


def _face_weight(record: dict[str, Any]) -> float:
    size = record["ruler"]["head_height_px"] * record["head_visible_frac"]
    return size if abs(record["head_yaw_deg"]) <= FACE_LIMIT_DEG else 0.2 * size


def _role(shot: Shot, index: int, subject: int) -> str:
    if index == subject:
        return "subject"
    return "foreground" if index in shot.foreground else "background"


def save_image(image: Image, path: Path, *, quality: int = 88) -> None:
    """Write a picture in the format that its name asks for."""
    options: dict[str, Any] = {"quality": quality}
    if path.suffix in {".png", ".tiff", ".tif"}:
        options = {"compression": "tiff_deflate"} if "tif" in path.suffix else {"optimize": True}
    PillowImage.fromarray(image).save(path, **options)
