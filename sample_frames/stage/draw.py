"""Draws a set and its people through a camera: the picture, and who is where in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import cv2
import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from sample_frames.stage.cameras import Camera
from sample_frames.stage.parts import SHADING, Part, merge_parts
from sample_frames.stage.people import Person
from sample_frames.stage.sets import Lamp, StageSet

Image = NDArray[np.uint8]


@dataclass(frozen=True)
class Finish:
    """What the camera adds to the picture; `soft_px` blurs the set behind the people."""

    noise: float = 1.5
    blur_px: float = 0.0
    exposure: float = 1.0
    soft_px: float = 0.0
    supersample: int = 2


def draw_picture(
    stage: StageSet, people: list[Person], camera: Camera, *, supersample: int = 2
) -> Image:
    """Return the RGB picture, drawn larger and averaged down."""
    big = tuple(v * supersample for v in camera.picture_wh_px)
    plotter = pv.Plotter(off_screen=True, window_size=big, lighting=None)
    plotter.set_background([v / 255 for v in stage.backdrop])
    for lamp in stage.lamps:
        plotter.add_light(_light(lamp))
    for part in merge_parts([*stage.parts, *(p for person in people for p in person.parts)]):
        _add(plotter, part)
    _aim(plotter, camera)
    image = np.ascontiguousarray(plotter.screenshot(return_img=True))[..., :3]
    plotter.close()
    return cv2.resize(image, camera.picture_wh_px, interpolation=cv2.INTER_AREA)


def draw_owners(stage: StageSet, people: list[Person], camera: Camera) -> NDArray[np.int32]:
    """Return for every pixel the number of the person seen there, -1 for the set."""
    plotter = pv.Plotter(off_screen=True, window_size=camera.picture_wh_px, lighting=None)
    plotter.set_background("black")
    owned = [_shape(p for p in stage.parts if p.kind != "shadow")]
    owned += [_shape(person.parts) for person in people]
    for number, mesh in enumerate(owned):
        plotter.add_mesh(mesh, color=[20 * number / 255] * 3, lighting=False)
    _aim(plotter, camera)
    image = plotter.screenshot(return_img=True)[..., 0].astype(np.int32)
    plotter.close()
    return np.round(image / 20.0).astype(np.int32) - 1


def _add(plotter: pv.Plotter, part: Part) -> None:
    if part.kind == "shadow":
        plotter.add_mesh(part.mesh, texture=_texture(part), lighting=False)
        return
    ambient, diffuse, specular, power = SHADING[part.kind]
    plotter.add_mesh(
        part.mesh,
        texture=_texture(part),
        scalars="rgb" if part.texture is None else None,
        rgb=part.texture is None,
        ambient=ambient,
        diffuse=diffuse,
        specular=specular,
        specular_power=power,
        interpolation="Phong",
        lighting=part.kind != "flat",
    )


def _shape(parts: Iterable[Part]) -> pv.PolyData:
    """One mesh of many parts, positions only."""
    points, cells, start = [], [], 0
    for part in parts:
        points.append(np.asarray(part.mesh.points))
        cells.append(part.triangles + start)
        start += part.mesh.n_points
    triangles = np.concatenate(cells)
    rows = np.hstack([np.full((len(triangles), 1), 3), triangles])
    return pv.PolyData(np.concatenate(points), rows.ravel())


def _texture(part: Part) -> pv.Texture | None:
    if part.texture is None:
        return None
    texture = pv.Texture(part.texture)
    texture.repeat = part.repeat
    texture.interpolate = True
    texture.mipmap = True
    # Software renderers need minutes for anisotropic filtering of a plane up to the horizon.
    texture.SetMaximumAnisotropicFiltering(1.0)
    return texture


def _light(lamp: Lamp) -> pv.Light:
    light = pv.Light(
        position=lamp.toward,
        focal_point=(0, 0, 0),
        color=[v / 255 for v in lamp.colour],
        intensity=lamp.strength,
        light_type="scene light",
    )
    light.positional = False
    return light


def _aim(plotter: pv.Plotter, camera: Camera) -> None:
    axes = camera.axes
    position = np.asarray(camera.position_m)
    view = plotter.camera
    view.position = tuple(position)
    view.focal_point = tuple(position + axes[2])
    view.up = tuple(-axes[1])
    half = camera.picture_wh_px[1] / 2 / camera.focal_px
    view.view_angle = float(np.degrees(2 * np.arctan(half)))
    view.clipping_range = (0.04, 900.0)


def soften_set(image: Image, owners: NDArray[np.int32], sigma_px: float) -> Image:
    """Blur everything but the people, like a long lens focused on them."""
    behind = (owners < 0).astype(np.float32)[..., None]
    spread = cv2.GaussianBlur(behind, (0, 0), sigma_px)[..., None]
    blurred = cv2.GaussianBlur(image * behind, (0, 0), sigma_px) / np.maximum(spread, 1e-3)
    edge = cv2.GaussianBlur(behind, (0, 0), 0.8)[..., None]
    return (image * (1 - edge) + blurred * edge).clip(0, 255).astype(np.uint8)


def finish_picture(image: Image, finish: Finish, rng: np.random.Generator) -> Image:
    """Add exposure, softness and sensor noise."""
    out = image.astype(np.float32) * finish.exposure
    if finish.blur_px > 0.1:
        out = cv2.GaussianBlur(out, (0, 0), finish.blur_px)
    out += rng.normal(0, 1, out.shape).astype(np.float32) * finish.noise
    return out.clip(0, 255).astype(np.uint8)
