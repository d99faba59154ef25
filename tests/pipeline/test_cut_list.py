"""Entries of a cut order on measured rows."""

from fractions import Fraction
from pathlib import Path

import pytest

from framecheck.catalog.sequences import ShotParts
from framecheck.errors import ConfigError
from framecheck.pipeline.cut_list import MeasuredFile, place_of, resolve_entries
from framecheck.records.cut_order import CutEntry, CutOrder

CLIP, STILL = Path("/rushes/a.mov"), Path("/rushes/b.jpg")


def a_frame(frame, size="medium"):
    return {"frame": frame, "time_s": frame / 24, "timecode": f"f{frame}", "size": size,
            "size_abbr": size[:1], "picture_w_px": 100.0, "picture_h_px": 50.0,
            "picture_x_px": 0.0, "picture_y_px": 0.0, "shot_type": "single"}  # fmt: skip


def a_person(frame, yaw=20.0):
    return {"frame": frame, "person": 0, "role": "subject", "nose_x_px": 40.0, "nose_y_px": 20.0,
            "head_height_px": 10.0, "head_yaw_deg": yaw, "facing": "to lens"}  # fmt: skip


def parts(number, frames, size):
    start, stop = frames[0], frames[-1] + 24
    return ShotParts(
        shot={"shot": number, "start_frame": start, "end_frame": stop, "start_s": start / 24,
              "duration_s": (stop - start) / 24, "start_timecode": f"t{start}", "size": size,
              "size_abbr": size[:1], "frame": frames[1], "shot_type": "single"},
        frames=[a_frame(frame, size) for frame in frames],
        people=[a_person(frame) for frame in frames],
    )  # fmt: skip


FILES = {
    place_of(CLIP): MeasuredFile(
        shots={0: parts(0, (0, 48, 96), "wide"), 1: parts(1, (120, 168, 216), "close")},
        still=False, rate_fps=24.0, start_timecode="01:00:00:00", duration_s=10.0,
    ),
    place_of(STILL): MeasuredFile(
        shots={0: ShotParts(frames=[{**a_frame(0), "frame": None}],
                            people=[{**a_person(0), "frame": None}])},
        still=True,
    ),
}  # fmt: skip


def entry(path=CLIP, **changes):
    return CutEntry(file=path.name, path=str(path), where="line 1", **changes)


def resolve(*entries):
    return resolve_entries(CutOrder(name="x", entries=entries), FILES)


def test_a_whole_clip_gives_all_its_shots_numbered() -> None:
    shots = resolve(entry(), entry(STILL))
    assert [(s.number, s.name, s.shot, s.size) for s in shots] == [
        (0, "a.mov", 0, "wide"), (1, "a.mov", 1, "close"), (2, "b.jpg", None, "medium"),
    ]  # fmt: skip
    first = shots[0]
    assert (first.first.frame, first.best.frame, first.last.frame) == (0, 48, 96)
    assert first.duration_s == pytest.approx(5.0)
    assert first.start_timecode == "t0"
    person = first.best.people[0]
    assert (person.x_wfrac, person.y_frac, person.head_frac) == (0.4, 0.4, 0.2)


@pytest.mark.parametrize(
    ("part", "frames"),
    [
        ({"from_frame": 100, "to_frame": 180}, (120, 168)),
        ({"from_s": Fraction(5), "to_s": Fraction(8)}, (120, 168)),
        ({"from_timecode": "01:00:05:00", "to_timecode": "01:00:07:12"}, (120, 168)),
        ({"from_s": Fraction(3605), "to_s": Fraction(3608)}, (120, 168)),  # counts from midnight
        ({"shot": 1}, (120, 216)),
        ({"from_frame": 200}, (216, 216)),
        ({"from_frame": 60, "to_frame": 80}, (48, 48)),  # nothing measured in it: the nearest
    ],
)
def test_a_part_of_a_clip(part, frames) -> None:
    (shot,) = resolve(entry(**part))
    assert (shot.first.frame, shot.last.frame) == frames


@pytest.mark.parametrize("code", ["01:10:00:00", "01:10:00;00"])
def test_a_clip_says_how_it_counts(code) -> None:
    # at 29.97 the code 01:10:00;00 names frame 17982 after 01:00:00;00, 600 s on (SMPTE ST 12-1:
    # 17982 frames in ten minutes of drop-frame)
    clip = MeasuredFile(
        shots={0: parts(0, (0, 48, 96), "wide"), 1: parts(1, (14400, 14424, 14448), "close")},
        still=False, rate_fps=30000 / 1001, start_timecode="01:00:00;00", duration_s=700.0,
    )  # fmt: skip
    order = CutOrder(name="x", entries=(entry(from_timecode=code),))
    (shot,) = resolve_entries(order, {place_of(CLIP): clip})
    # frames of 24 a second stand at 600.0, 601.0 and 602.0 s; 17982 x 1001 / 30000 is 599.9994
    assert shot.first.frame == 14400


def test_a_list_that_says_drop_frame_of_every_clip() -> None:
    (shot,) = resolve(entry(from_timecode="01:00:05;00", to_timecode="01:00:07;12"))
    assert (shot.first.frame, shot.last.frame) == (120, 168)


def test_a_part_lasts_as_long_as_it_is_cut() -> None:
    (shot,) = resolve(entry(from_frame=120, to_frame=180))
    assert shot.duration_s == pytest.approx(2.5)
    (still,) = resolve(entry(STILL, duration_s=Fraction(3, 2)))
    assert still.duration_s == 1.5


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"shot": 7}, "has no shot 7: it has 2 shots and lasts 10 s"),
        ({"from_frame": 2000, "to_frame": 2100}, "has no seconds 83.3"),
        ({"from_timecode": "25 o'clock"}, "line 1: "),
    ],
)
def test_a_part_that_is_not_there(wrong, said) -> None:
    with pytest.raises(ConfigError, match=said):
        resolve(entry(**wrong))


def test_a_file_that_was_not_measured() -> None:
    with pytest.raises(ConfigError, match=r"line 1: gone\.jpg could not be measured"):
        resolve(entry(Path("/rushes/gone.jpg")))
