"""The shot list of the sample scene: who stands where, and how each frame is cut."""

from __future__ import annotations

from dataclasses import dataclass

from sample_frames.stage.poses import Pose

WIDE, FLAT, SCOPE, STILL, OLD, UPRIGHT = 16 / 9, 1.85, 2.39, 1.5, 4 / 3, 9 / 16


@dataclass(frozen=True)
class Place:
    """One character in a frame: pose and floor position in metres."""

    name: str
    pose: Pose
    x_m: float = 0.0
    y_m: float = 0.0


@dataclass(frozen=True)
class Setup:
    """One sample frame.

    Attributes:
        framed: Indices of the people the camera is placed for; the first carries the crop level.
        bottom: Crop level of the bottom edge on that person.
        headroom: Room over the highest framed head, of the picture height.
        across: Place of the framed faces, of the picture width.
        bars: `letterbox`, `pillarbox` or nothing.
        soft_px: Blur of the set behind the people.
        fault: What is wrong on purpose, or nothing.
    """

    file: str
    shot_type: str
    cast: tuple[Place, ...]
    lens_mm: float
    bottom: float
    headroom: float
    across: float
    note: str
    aspect: float = WIDE
    framed: tuple[int, ...] = (0,)
    heading_deg: float = 0.0
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    foreground: tuple[int, ...] = ()
    bars: str = ""
    soft_px: float = 0.0
    fault: str = ""


# The pair talks across the x axis: Wick on the left faces right, Tarn on the right faces left.
WICK_TALKS = Pose(
    arm_left="loose", arm_right="gesture", legs="relaxed", body_yaw_deg=80, head_yaw_deg=8
)
WICK_LISTENS = Pose(
    arm_left="pocket", arm_right="pocket", legs="relaxed", body_yaw_deg=80, head_yaw_deg=8
)
TARN_TALKS = Pose(
    arm_left="hip", arm_right="loose", legs="relaxed", body_yaw_deg=-80, head_yaw_deg=-8
)
TARN_LISTENS = Pose(
    arm_left="loose", arm_right="loose", legs="relaxed", body_yaw_deg=-80, head_yaw_deg=-8
)
TALK = (Place("Tarn", TARN_LISTENS, 0.62, 0.0), Place("Wick", WICK_LISTENS, -0.62, 0.0))

SETUPS: tuple[Setup, ...] = (
    Setup(
        "01-shed-wide.jpg",
        "three",
        (
            Place("Tarn", Pose(arm_left="gesture", legs="relaxed", body_yaw_deg=45), 0.2, 1.2),
            Place("Wick", Pose(arm_left="pocket", arm_right="pocket", body_yaw_deg=60), -1.3, 0.9),
            Place("Pip", Pose(legs="relaxed", body_yaw_deg=-50, arm_right="loose"), 1.4, 1.9),
        ),
        18,
        -1.0,
        0.36,
        0.47,
        "The shed, the boat, the three of them.",
        SCOPE,
        (0, 1, 2),
        pitch_deg=-2,
        bars="letterbox",
    ),
    Setup(
        "02-keeper-full.jpg",
        "single",
        (
            Place(
                "Wick",
                Pose(arm_left="loose", arm_right="pocket", legs="relaxed", body_yaw_deg=25),
                0.6,
                1.6,
            ),
        ),
        25,
        -0.07,
        0.10,
        0.42,
        "Wick comes in from the quay.",
    ),
    Setup(
        "03-builder-shin.jpg",
        "single",
        (
            Place(
                "Tarn",
                Pose(arm_left="hip", arm_right="loose", legs="relaxed", body_yaw_deg=-30),
                -1.6,
                2.2,
            ),
        ),
        32,
        0.16,
        0.09,
        0.58,
        "Tarn at her bench.",
        FLAT,
        fault="cut at mid-calf",
    ),
    Setup(
        "04-apprentice-seated.jpg",
        "single",
        (
            Place(
                "Pip",
                Pose(arm_left="lap", arm_right="lap", legs="sit", body_yaw_deg=38, bend_deg=10),
                0.4,
                1.4,
            ),
        ),
        40,
        0.20,
        0.12,
        0.40,
        "Pip waits on a stool.",
        OLD,
    ),
    Setup(
        "05-two-at-the-hull.jpg",
        "two",
        (
            Place(
                "Tarn",
                Pose(arm_left="gesture", arm_right="loose", legs="relaxed", body_yaw_deg=50),
                -0.5,
                1.0,
            ),
            Place(
                "Pip",
                Pose(arm_left="crossed_over", arm_right="crossed_under", body_yaw_deg=-42),
                0.45,
                1.1,
            ),
        ),
        35,
        0.47,
        0.12,
        0.5,
        "Tarn explains, Pip listens.",
        framed=(0, 1),
        soft_px=1.2,
    ),
    Setup(
        "06-three-of-them.jpg",
        "three",
        (
            Place("Tarn", Pose(arm_left="hip", legs="relaxed", body_yaw_deg=8), 0.05, 1.0),
            Place(
                "Wick",
                Pose(arm_left="loose", arm_right="pocket", body_yaw_deg=38, legs="relaxed"),
                -0.85,
                1.2,
            ),
            Place("Pip", Pose(arm_right="gesture", legs="relaxed", body_yaw_deg=-40), 0.9, 1.15),
        ),
        28,
        0.40,
        0.11,
        0.5,
        "All three, at the thigh.",
        SCOPE,
        (0, 1, 2),
        bars="letterbox",
    ),
    Setup(
        "07-over-the-keeper.jpg",
        "over-the-shoulder",
        TALK,
        40,
        0.60,
        0.10,
        0.64,
        "Over Wick's shoulder to Tarn.",
        heading_deg=-65,
        pitch_deg=-4,
        foreground=(1,),
        soft_px=1.5,
    ),
    Setup(
        "08-over-the-builder.jpg",
        "over-the-shoulder",
        (TALK[1], TALK[0]),
        40,
        0.60,
        0.10,
        0.36,
        "The matching reverse, over Tarn's shoulder to Wick.",
        heading_deg=65,
        pitch_deg=-4,
        foreground=(1,),
        soft_px=1.5,
    ),
    Setup(
        "09-builder-chest.jpg",
        "single",
        (Place("Tarn", TARN_TALKS, 0.62, 0.0),),
        65,
        0.72,
        0.09,
        0.60,
        "Tarn alone, chest up.",
        heading_deg=-48,
        soft_px=2.5,
    ),
    Setup(
        "10-keeper-chest.jpg",
        "single",
        (Place("Wick", WICK_TALKS, -0.62, 0.0),),
        65,
        0.72,
        0.09,
        0.40,
        "Wick alone: same lens, same cut, mirrored place.",
        heading_deg=48,
        soft_px=2.5,
    ),
    Setup(
        "11-keeper-reverse-off.jpg",
        "single",
        (Place("Wick", WICK_TALKS, -0.62, 0.0),),
        32,
        0.56,
        0.20,
        0.62,
        "Meant as the reverse of 09.",
        heading_deg=20,
        pitch_deg=9,
        fault="reverse does not match: wider, lower, and on the same side of the picture",
    ),
    Setup(
        "12-apprentice-close.jpg",
        "single",
        (Place("Pip", Pose(body_yaw_deg=-26, head_pitch_deg=6), 0.3, 1.2),),
        85,
        0.815,
        0.03,
        0.56,
        "Pip, close.",
        OLD,
        bars="pillarbox",
        soft_px=3.5,
    ),
    Setup(
        "13-keeper-eyes.png",
        "single",
        (Place("Wick", Pose(body_yaw_deg=10), 0.0, 1.0),),
        135,
        0.895,
        -0.55,
        0.5,
        "Only Wick's eyes.",
        SCOPE,
        soft_px=5,
    ),
    Setup(
        "14-builder-ankle.jpg",
        "single",
        (Place("Tarn", Pose(arm_left="loose", legs="walk", body_yaw_deg=-35), -0.3, 1.4),),
        35,
        0.036,
        0.08,
        0.55,
        "Tarn walks along the shed.",
        STILL,
        fault="cut at the ankle",
    ),
    Setup(
        "15-apprentice-knee.webp",
        "single",
        (Place("Pip", Pose(arm_left="gesture", legs="relaxed", body_yaw_deg=22), 0.1, 1.0),),
        50,
        0.285,
        0.09,
        0.45,
        "Pip asks.",
        fault="cut at the knee",
        soft_px=1.5,
    ),
    Setup(
        "16-keeper-low.jpg",
        "single",
        (
            Place(
                "Wick",
                Pose(arm_left="crossed_over", arm_right="crossed_under", body_yaw_deg=-18),
                -0.4,
                1.2,
            ),
        ),
        50,
        0.62,
        0.40,
        0.52,
        "Wick thinks it over.",
        fault="too much headroom",
        soft_px=1.5,
    ),
    Setup(
        "17-builder-no-room.tiff",
        "single",
        (Place("Tarn", Pose(arm_left="loose", body_yaw_deg=-76, head_yaw_deg=-6), 0.0, 1.0),),
        50,
        0.66,
        0.10,
        0.17,
        "Tarn looks out to the water.",
        fault="no looking room",
        soft_px=1.5,
    ),
    Setup(
        "18-apprentice-upright.jpg",
        "single",
        (Place("Pip", Pose(arm_left="raised", legs="relaxed", body_yaw_deg=12), 0.9, 1.8),),
        28,
        -0.06,
        0.16,
        0.48,
        "Pip waves, filmed upright.",
        UPRIGHT,
    ),
)
