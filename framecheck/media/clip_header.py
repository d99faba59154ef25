"""What a clip says of itself, out of its container and its first frame."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, cast

from framecheck.media.clip_shape import Shape, pixel_aspect_of, turn_of
from framecheck.media.clip_times import Spacing, find_spacing
from framecheck.records.clips import ClipHeader
from framecheck.units import format_timecode, parse_timecode

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.packet import Packet
    from av.sidedata.sidedata import SideData
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

FIELD_ORDERS = frozenset({2, 3, 4, 5})  # FFmpeg's numbers for two fields, either one first
MOST_INDEX_ENTRIES = 20_000
STREAMED = frozenset({"mpegts", "mpeg", "ogg", "flv", "asf"})
"""Containers whose stamps may jump; FFmpeg takes the duration of most from what is there."""
SHORT_FRAMES, SHORT_SHARE = 4, Fraction(1, 500)
"""A clip that ends before its promised end by more than both is cut off; headers round."""
HDR = {16: "PQ", 18: "HLG"}  # transfer characteristics of ITU-T H.273


def read_header(
    name: str, container: InputContainer, stream: VideoStream, frame: VideoFrame, spacing: Spacing
) -> tuple[ClipHeader, Shape]:
    """The facts of the clip, and how its frames are to be shown."""
    aspect, notes = pixel_aspect_of(stream.sample_aspect_ratio)
    turns, mirrored, more = turn_of(frame)
    shape = Shape(pixel_aspect=aspect, quarter_turns=turns, mirrored=mirrored)
    coded_wh = (frame.width, frame.height)
    width, height = shape.upright_wh(coded_wh)
    timecode, drop, doubt = find_timecode(container, frame, spacing.rate)
    bits = max(component.bits for component in frame.format.components)
    interlaced = is_interlaced(stream, frame)
    header = ClipHeader(
        file=name,
        width_px=width,
        height_px=height,
        coded_width_px=coded_wh[0],
        coded_height_px=coded_wh[1],
        pixel_aspect=aspect,
        rotation_deg=90 * turns,
        rate=spacing.rate,
        variable_rate=spacing.variable,
        start_timecode=timecode,
        drop_frame=drop,
        duration_s=duration_of(container, stream),
        codec=stream.codec_context.codec.canonical_name,
        bits=bits,
        interlaced=interlaced,
        notes=(*notes, *more, *doubt, *_colour_notes(frame, bits)),
    )
    return header, shape


def spacing_of(stream: VideoStream, packets: Sequence[Packet[VideoStream]]) -> Spacing:
    """How the frames follow each other, by the index where there is a whole one, else the start."""
    stamps = _index_stamps(stream) or _presented_stamps(packets)
    said = (stream.average_rate, stream.guessed_rate, stream.base_rate)
    return find_spacing(stamps, tick_of(stream), said)


def tick_of(stream: VideoStream) -> Fraction:
    """The duration of one unit of the stream's stamps."""
    return Fraction(stream.time_base or Fraction(1, 90_000))


def stamps_in_decoding_order(stream: VideoStream, packets: Sequence[Packet[VideoStream]]) -> bool:
    """True when the packets' stamps say nothing of the order in which frames are shown."""
    full = [packet for packet in packets if packet.size]
    if any(packet.pts is None for packet in full):
        return True
    same = all(packet.pts == packet.dts for packet in full)
    return same and bool(stream.codec_context.has_b_frames)


def _index_stamps(stream: VideoStream) -> list[int]:
    """Stamps of all frames in the order of decoding, whose spacing is that of presentation."""
    entries = stream.index_entries
    count = len(entries)
    if not stream.frames or count != stream.frames or count > MOST_INDEX_ENTRIES:
        return []
    stamps = [entries[place].timestamp for place in range(count)]
    return stamps if stamps == sorted(stamps) else []


def _presented_stamps(packets: Sequence[Packet[VideoStream]]) -> list[int]:
    """Stamps of the first frames in the order of presentation, without a hole at the end."""
    full = [packet for packet in packets if packet.size]
    decoded = [packet.dts for packet in full if packet.dts is not None]
    shown = [packet.pts for packet in full if packet.pts is not None]
    if len(shown) < len(full):
        return sorted(decoded)
    # what is shown before the last decoding time has all arrived
    return sorted(each for each in shown if not decoded or each <= decoded[-1])


def is_interlaced(stream: VideoStream, frame: VideoFrame) -> bool:
    """True when the frame, or its stream, is made of two fields."""
    order = getattr(stream.codec_context, "field_order", 0)
    return bool(frame.interlaced_frame) or order in FIELD_ORDERS


def duration_of(container: InputContainer, stream: VideoStream) -> Fraction | None:
    """What the container says of the video's duration, else of its own."""
    if stream.duration and stream.duration > 0:
        return stream.duration * tick_of(stream)
    if container.duration and container.duration > 0:
        return Fraction(container.duration, 1_000_000)
    return None


def stamps_may_jump(container: InputContainer) -> bool:
    """True for containers made for streams, which can be cut together at any place."""
    return container.format.name in STREAMED


def missing_s(
    container: InputContainer, stream: VideoStream, end_s: Fraction, rate: Fraction
) -> Fraction:
    """How much earlier than its header says the file ends; 0 where it does not, or says nothing.

    Args:
        container: closed by the caller.
        stream: the video.
        end_s: the end of the last packet, by the stamps of the container.
        rate: frames a second.
    """
    promised_s = _promised_end_s(container, stream, rate)
    if stamps_may_jump(container) or promised_s is None:
        return Fraction(0)
    missing = promised_s - end_s
    least = max(SHORT_FRAMES / rate, promised_s * SHORT_SHARE)
    return missing if missing > least else Fraction(0)


def _promised_end_s(
    container: InputContainer, stream: VideoStream, rate: Fraction
) -> Fraction | None:
    start_s = (stream.start_time or 0) * tick_of(stream)
    if container.format.name == "avi" and stream.frames:
        return start_s + stream.frames / rate  # FFmpeg cuts the duration to what is there
    if stream.duration and stream.duration > 0:
        return start_s + stream.duration * tick_of(stream)
    if container.duration and container.duration > 0:
        return Fraction((container.start_time or 0) + container.duration, 1_000_000)
    return None


def find_timecode(
    container: InputContainer, frame: VideoFrame, rate: Fraction
) -> tuple[str, bool, tuple[str, ...]]:
    """The timecode of the first frame or "", whether it is drop-frame, and notes."""
    for text in (*_timecodes(container), *_timecode_of_group(frame)):
        try:
            number, drop = parse_timecode(text, rate)
        except ValueError:
            return "", False, (f"its timecode {text} does not fit its frame rate and is not used",)
        return format_timecode(number, rate, drop=drop), drop, ()
    return "", False, ()


def _timecodes(container: InputContainer) -> Iterator[str]:
    tags = [*(stream.metadata for stream in container.streams), container.metadata]
    yield from (text for text in map(_entry, tags) if text)


def _timecode_of_group(frame: VideoFrame) -> Iterator[str]:
    """The timecode of an MPEG-2 group of pictures, 25 bits of ISO/IEC 13818-2, 6.3.8.

    Coders that know none write zeros, so zeros tell nothing.
    """
    data = frame.side_data.get("GOP_TIMECODE")
    bits = int.from_bytes(bytes(cast("SideData", data))[:8], sys.byteorder) if data else 0
    hour, minute, second, number = bits >> 19 & 31, bits >> 13 & 63, bits >> 6 & 63, bits & 63
    if hour or minute or second or number:
        mark = ";" if bits >> 24 & 1 else ":"
        yield f"{hour:02}:{minute:02}:{second:02}{mark}{number:02}"


def _entry(metadata: dict[str, str]) -> str:
    return next((text for key, text in metadata.items() if key.lower() == "timecode"), "").strip()


def _colour_notes(frame: VideoFrame, bits: int) -> tuple[str, ...]:
    hdr = HDR.get(int(frame.color_trc))
    return (
        *((f"{bits} bit reduced to 8",) if bits > 8 else ()),
        *((f"{hdr} brightness shown as it is stored",) if hdr else ()),
    )
