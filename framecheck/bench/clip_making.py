"""Clips to time: stills seen by a camera that holds, zooms or pans, with grain, coded as rushes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

RATE = 24
GRAINS = 6
GRAIN_LEVEL = 4
"""Standard deviation of the grain, of 255."""

Rgb = npt.NDArray[np.uint8]
_DRAFTS = ("part", "whole")


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipKind:
    """What a clip is like.

    Attributes:
        seconds: how long at least. mbits: megabits a second; 0 lets the encoder choose.
        size_wh: width and height in pixels.
        shot_s: shortest and longest shot.
        times: how often the same shots follow each other, as coding takes longer than repeating.
    """

    seconds: float
    mbits: float = 35.0
    size_wh: tuple[int, int] = (1920, 1080)
    shot_s: tuple[float, float] = (2.0, 8.0)
    times: int = 1

    @property
    def words(self) -> str:
        """As file names and tables have it."""
        coded = f"{self.mbits:g} Mbit/s" if self.mbits else "low rate"
        return f"{self.seconds:g} s, {self.size_wh[0]} x {self.size_wh[1]}, {coded}"


def make_clip(
    path: Path,
    kind: ClipKind,
    read_stills: Sequence[Callable[[], Rgb]],
    seed: int | tuple[int, ...],
) -> Path:
    """The clip at `path`, made unless it is there already.

    Args:
        path: of the clip.
        kind: what it is like.
        read_stills: each gives the picture of which shots are made.
        seed: draws which still, and how the camera moves.
    """
    if not path.exists():
        draft, whole = (path.with_name(f"{path.stem}.{part}{path.suffix}") for part in _DRAFTS)
        _encode(draft, kind, read_stills, np.random.default_rng(seed))
        _repeat(draft, whole, kind.times)
        draft.unlink()
        whole.replace(path)
    return path


def _repeat(clip: Path, out: Path, times: int) -> None:
    """The clip so many times over, as it is coded."""
    import av

    with av.open(str(out), "w") as made:
        stream: Any = None
        start = 0
        for _ in range(times):
            with av.open(str(clip)) as container:
                source = container.streams.video[0]
                stream = stream or made.add_stream_from_template(source)
                end = start
                for packet in container.demux(source):
                    if packet.pts is None or packet.dts is None:  # the last one, which is empty
                        continue
                    packet.pts, packet.dts = packet.pts + start, packet.dts + start
                    end = max(end, packet.pts + (packet.duration or 0))
                    packet.stream = stream
                    made.mux(packet)
                start = end


def _encode(
    path: Path,
    kind: ClipKind,
    read_stills: Sequence[Callable[[], Rgb]],
    draw: np.random.Generator,
) -> None:
    import av

    with av.open(str(path), "w") as container:
        stream: Any = container.add_stream("libx264", rate=RATE, options=_coding(kind.mbits))
        stream.width, stream.height = kind.size_wh
        stream.pix_fmt = "yuv420p"
        frames = 0
        while frames < kind.seconds * RATE / kind.times:
            still = read_stills[int(draw.integers(len(read_stills)))]()
            for picture in film_still(still, kind, draw):
                frames += 1
                frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
                container.mux(stream.encode(frame))
        container.mux(stream.encode())


def _coding(mbits: float) -> dict[str, str]:
    """As a camera writes it: so many megabits a second, a key frame every half second."""
    if not mbits:
        return {"preset": "veryfast"}  # x264's own idea of enough, about 4 with this grain
    rate = str(round(mbits * 1e6))
    return {
        "preset": "veryfast",
        "b": rate,
        "maxrate": rate,
        "bufsize": rate,
        "g": str(RATE // 2),
        "bf": "2",
    }


def film_still(still: Rgb, kind: ClipKind, draw: np.random.Generator) -> Iterator[Rgb]:
    """One shot of the still, frame by frame: the camera holds, zooms or pans."""
    import cv2

    grains = [
        np.rint(draw.normal(0, GRAIN_LEVEL, (*kind.size_wh[::-1], 1))).astype(np.int16)
        for _ in range(GRAINS)
    ]
    coarse = [np.repeat(grain, 3, axis=2) for grain in grains]
    first = draw.uniform(0.8, 1.0)
    last = first * draw.choice([1.0, 1.0, 0.8])
    drift = draw.choice([0.0, 0.0, 0.5, -0.5])
    count = int(draw.uniform(*kind.shot_s) * RATE)
    for number in range(count):
        part = number / max(1, count - 1)
        move = _camera(still, kind.size_wh, first + (last - first) * part, drift * (part - 0.5))
        view = cv2.warpAffine(still, move, kind.size_wh)
        yield np.asarray(cv2.add(view, coarse[number % GRAINS], dtype=cv2.CV_8U), np.uint8)


def _camera(
    still: Rgb, size_wh: tuple[int, int], share: float, aside: float
) -> npt.NDArray[np.float64]:
    """The move that fills the frame with a share of the still, `aside` of the rest to a side."""
    height, width = still.shape[:2]
    seen_w, seen_h = width * share, height * share
    left = (width - seen_w) * float(np.clip(0.5 + aside, 0, 1))
    top = (height - seen_h) / 2
    across, down = size_wh[0] / seen_w, size_wh[1] / seen_h
    return np.array([[across, 0, -left * across], [0, down, -top * down]])
