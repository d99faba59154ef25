"""The set of the sample frames: a boat shed at a harbour, and the three who work there."""

from __future__ import annotations

import functools

import numpy as np

from sample_frames.stage import fabrics
from sample_frames.stage.bodies import Shape
from sample_frames.stage.looks import Cloth, HairStyle, Look, Outfit
from sample_frames.stage.parts import Part, make_part
from sample_frames.stage.sets import Lamp, StageSet
from sample_frames.stage.skin_paint import Complexion
from sample_frames.stage.solids import box, post, quad

# Inner size of the shed, metres: the sea lies behind the far wall.
LEFT_M, RIGHT_M, NEAR_M, FAR_M, EAVES_M = -4.6, 4.6, -11.0, 4.2, 3.5
DOOR_M = (0.9, 2.7, 2.5)
WINDOW_M = (-3.3, -1.7, 0.95, 2.05)
WOOD = (142, 108, 74)
PALE_WOOD = (196, 160, 112)

WICK = Look(
    shape=Shape(
        gender=0.05,
        age=0.88,
        muscle=0.55,
        weight=0.58,
        height=0.386,
        african=0.1,
        asian=0.1,
        caucasian=0.8,
    ),
    complexion=Complexion(
        skin=(226, 174, 142),
        hair=(168, 162, 152),
        iris=(84, 116, 142),
        lips=(176, 104, 98),
        brow_weight=1.25,
        beard=0.62,
        blush=0.28,
    ),
    hair=HairStyle(thickness_m=0.008, hat=(40, 62, 96)),
    outfit=Outfit(
        top=Cloth((206, 198, 180), "knit"),
        jacket=Cloth((34, 46, 70)),
        bottom=Cloth((58, 60, 66)),
        boot=True,
        shoes=(48, 44, 40),
    ),
    seed=11,
)
TARN = Look(
    shape=Shape(
        gender=0.95,
        age=0.66,
        muscle=0.6,
        weight=0.48,
        height=0.4,
        african=0.7,
        asian=0.15,
        caucasian=0.15,
    ),
    complexion=Complexion(
        skin=(150, 102, 74),
        hair=(34, 26, 22),
        iris=(70, 46, 30),
        lips=(150, 72, 66),
        brow_weight=0.85,
        blush=0.12,
    ),
    hair=HairStyle(thickness_m=0.016, lump_m=0.004, bun=True),
    outfit=Outfit(
        top=Cloth((206, 156, 62), "check", (232, 214, 170)),
        sleeve=1.25,
        bottom=Cloth((52, 84, 104)),
        bib=True,
        shoes=(96, 62, 42),
    ),
    seed=22,
)
PIP = Look(
    shape=Shape(
        gender=0.3,
        age=0.56,
        muscle=0.4,
        weight=0.38,
        height=0.456,
        african=0.1,
        asian=0.6,
        caucasian=0.3,
    ),
    complexion=Complexion(
        skin=(232, 190, 160),
        hair=(92, 56, 32),
        iris=(84, 104, 70),
        lips=(186, 110, 104),
        brow_weight=0.9,
        blush=0.25,
    ),
    hair=HairStyle(thickness_m=0.024, lump_m=0.007),
    outfit=Outfit(
        top=Cloth((228, 226, 218), "stripes", (168, 52, 50)),
        sleeve=1.9,
        bottom=Cloth((112, 104, 84)),
        shoes=(190, 186, 178),
    ),
    seed=33,
)
CAST = {"Wick": WICK, "Tarn": TARN, "Pip": PIP}
LAMPS = (
    Lamp((-0.75, 0.35, 0.75), (255, 238, 214), 0.62),
    Lamp((0.7, -0.7, 0.6), (226, 230, 240), 0.44),
    Lamp((-0.35, -0.9, 0.5), (255, 240, 224), 0.38),
    Lamp((0.5, 0.9, 0.9), (226, 238, 255), 0.36),
)


@functools.lru_cache(maxsize=1)
def build_shed() -> StageSet:
    """Return the whole set with its lights."""
    rng = np.random.default_rng(5)
    boards = fabrics.planks(WOOD, rng, boards=12, upright=True)
    parts = [
        *_shell(boards, rng),
        *_sea(rng),
        *_window(),
        *_door_frame(),
        *_bench(rng),
        *_hull(rng),
        *_near_wall(rng),
        *_beams(),
        *_clutter(rng),
    ]
    return StageSet(tuple(parts), LAMPS, (150, 160, 168))


def _shell(boards: fabrics.Image, rng: np.random.Generator) -> list[Part]:
    floor = fabrics.planks((128, 104, 80), rng, boards=10)
    depth, width = FAR_M - NEAR_M, RIGHT_M - LEFT_M
    left, right, top = DOOR_M
    walls = [
        ((LEFT_M, FAR_M, 0), (WINDOW_M[0] - LEFT_M, 0, 0), (0, 0, EAVES_M)),
        ((WINDOW_M[1], FAR_M, 0), (left - WINDOW_M[1], 0, 0), (0, 0, EAVES_M)),
        ((WINDOW_M[0], FAR_M, 0), (WINDOW_M[1] - WINDOW_M[0], 0, 0), (0, 0, WINDOW_M[2])),
        (
            (WINDOW_M[0], FAR_M, WINDOW_M[3]),
            (WINDOW_M[1] - WINDOW_M[0], 0, 0),
            (0, 0, EAVES_M - WINDOW_M[3]),
        ),
        ((left, FAR_M, top), (right - left, 0, 0), (0, 0, EAVES_M - top)),
        ((right, FAR_M, 0), (RIGHT_M - right, 0, 0), (0, 0, EAVES_M)),
        ((LEFT_M, NEAR_M, 0), (0, depth, 0), (0, 0, EAVES_M)),
        ((RIGHT_M, FAR_M, 0), (0, -depth, 0), (0, 0, EAVES_M)),
        ((RIGHT_M, NEAR_M, 0), (-width, 0, 0), (0, 0, EAVES_M)),
    ]
    parts = [quad(*wall, texture=boards, tile_m=1.8) for wall in walls]
    parts.append(quad((LEFT_M, NEAR_M, 0), (width, 0, 0), (0, depth, 0), texture=floor, tile_m=2.2))
    parts.append(
        quad((LEFT_M, FAR_M, EAVES_M), (width, 0, 0), (0, -depth, 0), texture=boards, tile_m=2.0)
    )
    return parts


def _sea(rng: np.random.Generator) -> list[Part]:
    sky = fabrics.sky((118, 164, 206), (226, 232, 228), rng)
    y = FAR_M + 30.0
    water = quad(
        (-60, FAR_M + 2.5, -1.2),
        (120, 0, 0),
        (0, 27.5, 1.2),
        texture=_water(rng),
        tile_m=9.0,
        kind="flat",
    )
    quay = quad(
        (-8, FAR_M, -0.02),
        (16, 0, 0),
        (0, 2.5, 0),
        texture=fabrics.planks((150, 140, 126), rng),
        tile_m=2.0,
    )
    air = quad((-60, y, -2.5), (120, 0, 0), (0, 0, 36), texture=sky, kind="flat")
    far = box((-9, y - 1, 0.1), (22, 0.5, 1.0), colour=(118, 136, 142))
    return [air, water, quay, *far, post((1.15, FAR_M + 2.2, 0), 0.9, 0.09, (92, 76, 60))]


def _water(rng: np.random.Generator) -> fabrics.Image:
    sheet = fabrics.planks((92, 132, 152), rng, boards=40).astype(np.float32)
    return (0.55 * sheet + 0.45 * np.array([120, 158, 174], np.float32)).astype(np.uint8)


def _window() -> list[Part]:
    left, right, low, high = WINDOW_M
    parts: list[Part] = []
    for x in np.linspace(left, right, 4):
        parts += box(
            (float(x), FAR_M, (low + high) / 2), (0.05, 0.08, high - low), colour=(228, 222, 206)
        )
    for z in np.linspace(low, high, 3):
        parts += box(
            ((left + right) / 2, FAR_M, float(z)),
            (right - left, 0.08, 0.05),
            colour=(228, 222, 206),
        )
    parts += box(
        ((left + right) / 2, FAR_M - 0.1, low - 0.03),
        (right - left + 0.2, 0.24, 0.04),
        colour=(214, 206, 188),
    )
    return parts


def _door_frame() -> list[Part]:
    left, right, top = DOOR_M
    green = (62, 96, 88)
    parts = box((left, FAR_M - 0.02, top / 2), (0.12, 0.12, top), colour=green)
    parts += box((right, FAR_M - 0.02, top / 2), (0.12, 0.12, top), colour=green)
    parts += box(
        ((left + right) / 2, FAR_M - 0.02, top), (right - left + 0.12, 0.12, 0.12), colour=green
    )
    return parts + box((right + 0.5, FAR_M - 0.08, top / 2), (0.95, 0.06, top - 0.1), colour=green)


def _bench(rng: np.random.Generator) -> list[Part]:
    top = fabrics.planks(PALE_WOOD, rng, boards=5)
    parts = box((-2.4, FAR_M - 0.4, 0.86), (2.9, 0.7, 0.07), texture=top, tile_m=1.2)
    for x in (-3.7, -1.1):
        parts += box((x, FAR_M - 0.4, 0.42), (0.1, 0.6, 0.84), colour=WOOD)
    for x, tone in ((-3.4, (178, 62, 48)), (-2.0, (58, 88, 120)), (-1.5, (206, 168, 70))):
        parts.append(post((x, FAR_M - 0.35, 0.895), 0.16, 0.06, tone))
    return parts + box(
        (-2.75, FAR_M - 0.4, 0.93), (0.5, 0.16, 0.07), yaw_deg=14, colour=(120, 84, 56)
    )


def _hull(rng: np.random.Generator) -> list[Part]:
    """A half-built clinker dinghy on trestles."""
    s, t = np.meshgrid(np.linspace(0, 1, 29), np.linspace(-1, 1, 25))
    beam = 0.72 * np.sqrt(np.clip(1 - np.abs(2 * s - 0.85).clip(0, 1.15) ** 2.2 / 1.36, 0, 1))
    girth = np.sin(np.abs(t) * np.pi / 2) ** 0.75 * np.sign(t)
    x, y = girth * beam, (s - 0.5) * 3.4
    z = 0.62 + 0.62 * np.abs(t) ** 2.2 + 0.22 * (2 * s - 1) ** 2 * np.abs(t)
    points = np.stack([x + 3.0, y + 0.6, z], axis=-1).reshape(-1, 3)
    index = np.arange(s.size).reshape(s.shape)
    faces = np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], axis=-1)
    sheet = fabrics.planks((188, 146, 98), rng, boards=16)
    uv = np.stack([s, t * 0.5 + 0.5], axis=-1).reshape(-1, 2)
    parts = [make_part("set", points, faces.reshape(-1, 4), None, texture=sheet, uv=uv)]
    for offset in (-0.6, 1.7):
        parts += box((3.0, offset, 0.6), (1.3, 0.1, 0.08), colour=WOOD)
        parts += [post((x, offset, 0), 0.6, 0.04, WOOD) for x in (2.45, 3.55)]
    return parts


def _near_wall(rng: np.random.Generator) -> list[Part]:
    parts: list[Part] = []
    for z in (0.9, 1.5, 2.1):
        parts += box((-2.2, NEAR_M + 0.2, z), (2.6, 0.36, 0.04), colour=PALE_WOOD)
        for x in np.arange(-3.3, -1.1, 0.28):
            tall = float(rng.uniform(0.14, 0.34))
            tone = tuple(int(v) for v in rng.integers(60, 190, 3))
            parts.append(
                post((float(x), NEAR_M + 0.2, z + 0.02), tall, float(rng.uniform(0.05, 0.1)), tone)
            )
    for x in (0.4, 0.9, 1.4, 1.9):
        parts += box((x, NEAR_M + 0.06, 1.5), (0.07, 0.05, 2.3), yaw_deg=0, colour=(206, 182, 140))
    return parts


def _beams() -> list[Part]:
    parts: list[Part] = []
    for y in np.arange(NEAR_M + 1.0, FAR_M, 1.9):
        parts += box(
            (0, float(y), EAVES_M - 0.12), (RIGHT_M - LEFT_M, 0.16, 0.2), colour=(104, 78, 56)
        )
    for y in np.arange(NEAR_M + 1.0, FAR_M, 1.9):
        for x in (LEFT_M + 0.08, RIGHT_M - 0.08):
            parts += box((x, float(y), EAVES_M / 2), (0.14, 0.16, EAVES_M), colour=(112, 84, 60))
    return parts


def _clutter(rng: np.random.Generator) -> list[Part]:
    parts: list[Part] = []
    for x, y, size in ((-4.0, 2.2, 0.5), (-4.05, 1.5, 0.4), (-3.95, -1.2, 0.55), (4.1, -2.2, 0.5)):
        sheet = fabrics.planks((164, 128, 88), rng, boards=4)
        parts += box(
            (x, y, size / 2),
            (size, size, size),
            yaw_deg=float(rng.uniform(-20, 20)),
            texture=sheet,
            tile_m=size,
        )
    for k, tone in enumerate(((196, 84, 50), (222, 204, 120), (70, 112, 136))):
        parts.append(post((LEFT_M + 0.25, -0.2 + 0.35 * k, 1.5), 0.42, 0.11, tone))
    parts.append(post((4.1, 2.9, 0), 0.85, 0.29, (86, 104, 112)))
    return parts
