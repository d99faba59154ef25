"""The clips that the bench times: as long, as large and as heavy as they were asked for."""

import av
import numpy as np
import pytest

from framecheck.bench.clip_making import RATE, ClipKind, film_still, make_clip
from framecheck.bench.clips import decode_plainly

SMALL = ClipKind(seconds=2.0, mbits=2.0, size_wh=(320, 180), shot_s=(0.5, 1.0))


def a_still():
    return np.random.default_rng(4).integers(60, 200, (90, 160, 3)).astype(np.uint8)


def test_a_clip_lasts_at_least_as_long_as_asked_and_is_of_its_size(tmp_path) -> None:
    clip = make_clip(tmp_path / "clip.mp4", SMALL, [a_still], 1)
    frames = decode_plainly(clip)
    assert 2.0 * RATE <= frames < 3.0 * RATE
    with av.open(str(clip)) as container:
        stream = container.streams.video[0]
        assert (stream.width, stream.height) == (320, 180)
        assert stream.average_rate == RATE


def test_a_rate_is_kept_to(tmp_path) -> None:
    kind = ClipKind(seconds=6.0, mbits=4.0, size_wh=(640, 360), shot_s=(1.0, 2.0))
    clip = make_clip(tmp_path / "clip.mp4", kind, [a_still], 1)
    mbits = clip.stat().st_size * 8e-6 * RATE / decode_plainly(clip)
    assert mbits == pytest.approx(4.0, rel=0.2)


def test_a_clip_that_is_there_is_kept(tmp_path) -> None:
    path = tmp_path / "clip.mp4"
    path.write_bytes(b"mine")
    assert make_clip(path, SMALL, [a_still], 1).read_bytes() == b"mine"


def test_a_clip_that_broke_off_is_not_taken_for_one(tmp_path) -> None:
    def broken():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_clip(tmp_path / "clip.mp4", SMALL, [broken], 1)
    assert not (tmp_path / "clip.mp4").exists()


def test_shots_are_as_long_as_asked_and_differ_by_their_seed() -> None:
    lengths = {
        len(list(film_still(a_still(), SMALL, np.random.default_rng(seed)))) for seed in range(8)
    }
    assert len(lengths) > 2
    assert min(lengths) >= int(0.5 * RATE)
    assert max(lengths) <= RATE


def test_a_camera_that_holds_shows_the_same_picture_but_for_the_grain() -> None:
    held = [
        shot
        for seed in range(12)
        if _moved(shot := list(film_still(a_still(), SMALL, np.random.default_rng(seed)))) < 6
    ]
    assert held
    assert all(_moved(shot) > 0.5 for shot in held)  # grain there is


def _moved(shot) -> float:
    return float(np.abs(shot[0].astype(int) - shot[-1]).mean())


def test_a_clip_of_three_times_the_same_shots_is_whole(tmp_path) -> None:
    kind = ClipKind(seconds=3.0, mbits=2.0, size_wh=(320, 180), shot_s=(0.5, 0.6), times=3)
    clip = make_clip(tmp_path / "clip.mp4", kind, [a_still], 1)
    with av.open(str(clip)) as container:
        frames = [
            (frame.pts, frame.to_ndarray(format="rgb24")) for frame in container.decode(video=0)
        ]
    third = len(frames) // 3
    assert 3 * third == len(frames)
    assert len(frames) >= 3.0 * RATE
    steps = np.diff([pts for pts, _ in frames])
    assert len(set(steps)) == 1  # no gap where one ends and the next begins
    for number in (0, third // 2, third - 1):
        assert np.array_equal(frames[number][1], frames[number + third][1])
        assert np.array_equal(frames[number][1], frames[number + 2 * third][1])
    assert [path.name for path in tmp_path.iterdir()] == ["clip.mp4"]
