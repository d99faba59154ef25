"""Turns decoded frames into small planes for comparing, and into pictures for measuring."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias, cast

import numpy as np
import numpy.typing as npt

from framecheck.media.clip_shape import Shape

if TYPE_CHECKING:
    from av.filter.graph import Graph
    from av.video.frame import VideoFrame
    from av.video.plane import VideoPlane

Pixels: TypeAlias = npt.NDArray[np.uint8]

SMALL_WIDTH_PX, SMALL_HEIGHT_PX = 128, 72
WITH_LUMA = ("yuv", "nv", "gray", "uyvy", "yuyv", "yvyu", "p0", "p2", "p4", "y2", "ya")
"""How the names of pixel formats begin that hold luma apart from colour."""

# FFmpeg's numbers
VIDEO_RANGE, FULL_RANGE = 1, 2
BT709, BT601 = 1, 5
MATRICES = {1: 1, 4: 4, 5: 5, 6: 5, 7: 7, 9: 9, 10: 9}  # of a frame: of the converter
SD_LINES = 576  # more, in a clip that does not name its colour matrix, and it is BT.709


class PixelMaker:
    """Scales and converts the frames of one clip.

    Args:
        shape: how they are to be shown.
        analysis_px: long side of the pictures at most; 0 for no limit.
    """

    def __init__(self, shape: Shape, analysis_px: int) -> None:
        import av
        from av.video.reformatter import VideoReformatter

        self._shape, self._analysis_px = shape, analysis_px
        # one for each use: a converter that is set up anew for every frame costs more than its work
        self._reducer, self._scaler, self._painter = (VideoReformatter() for _ in range(3))
        self._field, self._thinned = _LineTaker(), _LineTaker()
        # 17 and later start as many threads as there are cores for each frame unless told not to
        self._options: dict[str, Any] = {"threads": 1} if _major(av.__version__) >= 17 else {}

    def small(self, frame: VideoFrame) -> Pixels:
        """(72, 128, 3) Y, U, V of the whole frame, upright; in Y black is 0 and white 255.

        Lines are left out until there are one and a half to three for one of the result, and these
        are averaged. At 1080 lines that takes 7 to 9 % of the time of decoding H.264, and film
        grain shakes the result 1.5 times as much as it would the mean of all pixels. Interpolating
        between single pixels takes as long and is shaken 2 times as much; the mean of all takes
        three times as long. Of two fields, lines of one only are left.
        """
        import cv2

        width, height = SMALL_WIDTH_PX, SMALL_HEIGHT_PX
        if self._shape.quarter_turns % 2:
            width, height = height, width
        halvings = max(0, (frame.height // (height * 3 // 2)).bit_length() - 1)
        reduced = self._reducer.reformat(
            self._thinned.take(frame, halvings),
            2 * width,
            2 * height,
            "yuv420p",
            interpolation="AREA",
            src_color_range=_range_of(frame),
            dst_color_range=FULL_RANGE,
            **self._options,
        )
        luma, *colour = (_plane(plane) for plane in reduced.planes)
        luma = cv2.resize(luma, (width, height), interpolation=cv2.INTER_AREA)
        return np.ascontiguousarray(self._shape.upright(cv2.merge([luma, *colour])))

    def rgb(self, frame: VideoFrame, *, one_field: bool) -> Pixels:
        """(height, width, 3) RGB: upright, square pixels, 8 bit; its own memory.

        Luma and colour are scaled first and converted after, which takes half as long.

        Args:
            frame: as decoded.
            one_field: leave every second line out.
        """
        width, height = self._shape.square_wh((frame.width, frame.height), self._analysis_px)
        matrix = _matrix_of(frame)
        if one_field:
            frame = self._field.take(frame, 1)
        if frame.format.name.startswith(WITH_LUMA):
            levels = _range_of(frame)
            frame = self._scaler.reformat(
                frame,
                width,
                height,
                "yuv420p",
                interpolation="AREA",
                src_color_range=levels,
                dst_color_range=levels,
                **self._options,
            )
        painted = self._painter.reformat(
            frame,
            width,
            height,
            "rgb24",
            interpolation="AREA",
            src_colorspace=matrix,
            src_color_range=_range_of(frame),
            dst_color_range=FULL_RANGE,
            **self._options,
        )
        # the array keeps what FFmpeg painted alive, and nothing else writes to it: no copy needed
        return np.ascontiguousarray(self._shape.upright(cast("Pixels", painted.to_ndarray())))


class _LineTaker:
    """Takes every second line of a frame, the upper one of its two fields; copies nothing."""

    def __init__(self) -> None:
        self._graph: Graph | None = None
        self._kind: tuple[int, int, str, int] = (0, 0, "", 0)

    def take(self, frame: VideoFrame, times: int) -> VideoFrame:
        """The frame with its lines halved so many times."""
        if not times:
            return frame
        kind = (frame.width, frame.height, frame.format.name, times)
        if self._graph is None or kind != self._kind:
            self._graph, self._kind = _halving_graph(frame, times), kind
        self._graph.push(frame)
        return cast("VideoFrame", self._graph.pull())


def _halving_graph(frame: VideoFrame, times: int) -> Graph:
    from av.filter import Graph

    graph = Graph()
    last = graph.add_buffer(
        width=frame.width, height=frame.height, format=frame.format, time_base=frame.time_base
    )
    for each in [graph.add("field", "top") for _ in range(times)] + [graph.add("buffersink")]:
        last.link_to(each)
        last = each
    graph.configure()
    return graph


def _major(version: str) -> int:
    return int(version.split(".", maxsplit=1)[0])


def _plane(plane: VideoPlane) -> Pixels:
    rows = np.frombuffer(plane, np.uint8).reshape(-1, plane.line_size)  # type: ignore[call-overload]
    return rows[:, : plane.width]  # type: ignore[no-any-return]


def _range_of(frame: VideoFrame) -> int:
    """Whether black is 0 or 16, for the converter; what says nothing has the usual video levels."""
    full = frame.color_range == FULL_RANGE or frame.format.name.startswith("yuvj")
    return FULL_RANGE if full else VIDEO_RANGE


def _matrix_of(frame: VideoFrame) -> int:
    usual = BT709 if frame.height > SD_LINES else BT601
    return MATRICES.get(int(frame.colorspace), usual)
