"""Makes frames of the packets of a video file, past damaged places, and sees where it ends."""

from __future__ import annotations

import logging
import time
from collections import deque
from collections.abc import Generator, Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, cast

from framecheck.errors import OverLimit
from framecheck.media.clip_container import reason_of, too_slow
from framecheck.media.clip_limits import ClipLimits
from framecheck.media.clip_times import ClipClock

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.packet import Packet
    from av.stream import Stream
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

LOG = logging.getLogger(__name__)
SHOWN = frozenset({"video", "audio", "subtitle"})
MOST_PEEKED = 48  # packets; two seconds of film
MOST_PEEKED_BYTES = 24_000_000


class Decoder:
    """One pass over a container.

    Attributes:
        damaged: how many packets could not be decoded.
        trouble: why the last packets could not be decoded, or the file not be read on; empty when
            packets after them could.
        end_s: the latest end of picture, sound or subtitle that was read, by the file's stamps.
    """

    def __init__(
        self, container: InputContainer, stream: VideoStream, name: str, limits: ClipLimits
    ) -> None:
        self.damaged = 0
        self.trouble = ""
        self.end_s = Fraction(0)
        self._stream, self._name, self._limits = stream, name, limits
        self._demuxer = cast("Generator[Packet[Stream]]", container.demux())
        self._peeked: deque[Packet[VideoStream]] = deque()
        context = stream.codec_context
        context.options = {"max_pixels": str(limits.max_pixels)}
        context.thread_count = limits.threads
        context.thread_type = "AUTO" if limits.threads > 1 else "NONE"

    def close(self) -> None:
        """Ends the pass; to be called before the container is closed."""
        self._demuxer.close()

    def peek(self) -> tuple[Packet[VideoStream], ...]:
        """The first packets of the video; they are decoded later, in their turn."""
        size_bytes = 0
        for packet in self._read():
            self._peeked.append(packet)
            size_bytes += packet.size
            if len(self._peeked) >= MOST_PEEKED or size_bytes > MOST_PEEKED_BYTES:
                break
        return tuple(self._peeked)

    def frames(self, clock: ClipClock) -> Iterator[VideoFrame]:
        """All frames in the order of presentation.

        Args:
            clock: sees the stamps of the packets before their frames come out.

        Raises:
            OverLimit: no frame for too long, or too little memory.
        """
        since = time.monotonic()
        for packet in self._packets():
            if packet.size:
                clock.see_packet(packet.dts if packet.dts is not None else packet.pts)
            for frame in self._decoded(packet):
                # what the decoder still held at the end does not show that the damage is over
                self.trouble = self.trouble if not packet.size else ""
                yield frame
                since = time.monotonic()
            if time.monotonic() - since > self._limits.max_silence_s:
                raise too_slow(self._name, self._limits, "its frames")

    def _packets(self) -> Iterator[Packet[VideoStream]]:
        while self._peeked:
            yield self._peeked.popleft()
        yield from self._read()

    def _read(self) -> Iterator[Packet[VideoStream]]:
        """The packets of the video; those of sound and the like only tell where the clip ends."""
        import av

        while True:
            try:
                packet = next(self._demuxer)
            except StopIteration:
                return
            except av.error.ExitError as error:
                raise too_slow(self._name, self._limits, "reading the file") from error
            except MemoryError:
                raise
            except Exception as error:
                LOG.debug("%s cannot be read on: %s", self._name, error)
                self.trouble = f"it cannot be read on: {reason_of(error)}"
                return
            self._note_end(packet)
            if packet.stream.index == self._stream.index:
                yield packet  # type: ignore[misc]

    def _note_end(self, packet: Packet[Stream]) -> None:
        stamp = packet.pts if packet.pts is not None else packet.dts
        # one packet of a timecode track lasts as long as the clip should, cut off or not
        if packet.stream.type in SHOWN and stamp is not None and packet.time_base:
            self.end_s = max(self.end_s, (stamp + (packet.duration or 0)) * packet.time_base)

    def _decoded(self, packet: Packet[VideoStream]) -> list[VideoFrame]:
        try:
            return packet.decode()
        except MemoryError as error:
            raise OverLimit(
                f"{self._name} needs more memory than there is; export it smaller",
                where=self._name,
            ) from error
        except Exception as error:
            LOG.debug("%s: a packet cannot be decoded: %s", self._name, error)
            self.damaged += 1
            self.trouble = reason_of(error)
            return []
