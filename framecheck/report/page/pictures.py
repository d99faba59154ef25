"""The pictures of a page: the frames of its entries, scaled and encoded to a budget of bytes."""

from __future__ import annotations

import io
import logging
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from framecheck.catalog.content import content_id, frames_content_id
from framecheck.catalog.sources import Source
from framecheck.errors import FramecheckError
from framecheck.report.page.entries import Entry

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

LOG = logging.getLogger(__name__)

Pixels: TypeAlias = "npt.NDArray[np.uint8]"
"""(height, width, 3), red, green, blue."""

PAGE_BYTES = 38_000_000
"""What a page may weigh; pictures get what its words leave."""
_ENTRY_BYTES, _PERSON_BYTES = 1900, 1100  # of words and numbers; measured on 2,000 shots
_MOST_BYTES = 150_000
_LEAST_BYTES = 5_000
# Long side in pixels and WebP quality, the largest first; a picture takes the first that fits.
_STEPS = ((1280, 80), (1120, 78), (960, 76), (800, 74), (680, 70), (560, 66), (480, 62),
          (420, 56), (360, 50), (320, 40), (280, 32))  # fmt: skip
_LEAST_BYTES_PER_PX2 = 0.025  # of the long side squared; only tells where to begin


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallPicture:
    """The picture of one entry.

    Attributes:
        webp: encoded, b"" when there is none. width_px, height_px: of it.
        why: why there is none.
    """

    webp: bytes = b""
    width_px: int = 0
    height_px: int = 0
    why: str = ""


def make_pictures(
    entries: Sequence[Entry], told: Callable[[int], None], *, threads: int = 2
) -> Mapping[str, SmallPicture]:
    """A picture for each entry, by its key, from the files where they lie now.

    A file that is gone, or is not what was measured, leaves its entries without pictures.

    Args:
        entries: which ones.
        told: hears how many entries are done.
        threads: files read at once.
    """
    budget = picture_budget(len(entries), sum(len(entry.people) for entry in entries))
    groups: dict[Path, list[Entry]] = {}
    for entry in entries:
        groups.setdefault(entry.source.place, []).append(entry)
    made: dict[str, SmallPicture] = {}
    with ThreadPoolExecutor(threads) as pool:
        for group in pool.map(lambda some: _pictures_of(some, budget), groups.values()):
            made.update(group)
            told(len(made))
    return made


def picture_budget(entries: int, people: int) -> int:
    """Bytes for each picture, so that a page of so many entries stays under `PAGE_BYTES`.

    As text in the page a picture takes a third more than its bytes.
    """
    left = PAGE_BYTES - entries * _ENTRY_BYTES - people * _PERSON_BYTES
    return max(_LEAST_BYTES, min(_MOST_BYTES, left * 3 // 4 // max(1, entries)))


def encode_picture(rgb: Pixels, budget: int) -> SmallPicture:
    """The picture as WebP of at most `budget` bytes, as large as that allows.

    The smallest step is taken whatever it needs.
    """
    from PIL import Image

    image = Image.fromarray(rgb)
    long_side = max(image.size)
    steps = [step for step in _STEPS if step[0] ** 2 * _LEAST_BYTES_PER_PX2 <= budget]
    for side, quality in steps or _STEPS[-1:]:
        scale = min(1.0, side / long_side)
        size = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
        scaled = image if scale == 1 else image.resize(size, Image.Resampling.LANCZOS)
        buffer = io.BytesIO()
        scaled.save(buffer, "WEBP", quality=quality, method=3)
        if buffer.tell() <= budget or side == _STEPS[-1][0]:
            return SmallPicture(
                webp=buffer.getvalue(), width_px=scaled.width, height_px=scaled.height
            )
    raise AssertionError("the last step always returns")


def _pictures_of(entries: Sequence[Entry], budget: int) -> dict[str, SmallPicture]:
    source = entries[0].source
    # One file must not cost the page: whatever goes wrong with it becomes its reason.
    try:
        _check_unchanged(source)
        found = _read_frames(entries)
        return {entry.key: _encoded(found.get(entry.anchor), budget) for entry in entries}
    except Exception as error:
        LOG.debug("no pictures of %s", source.place, exc_info=True)
        return {entry.key: SmallPicture(why=_reason(error)) for entry in entries}


def _encoded(rgb: Pixels | None, budget: int) -> SmallPicture:
    if rgb is None:
        return SmallPicture(why="its frame could not be read again")
    return encode_picture(rgb, budget)


def _read_frames(entries: Sequence[Entry]) -> Mapping[int, Pixels]:
    """The frames that the entries of one source are shown by, by their anchor."""
    from framecheck.media.clip_seek import read_frames_at
    from framecheck.media.stills import read_still

    source = entries[0].source
    if source.kind == "still":
        return {-1: read_still(source.place).rgb}
    if source.kind == "frames":
        return _read_numbered(source, {entry.anchor for entry in entries})
    return read_frames_at(source.place, {entry.anchor: _time_s(entry) for entry in entries})


def _time_s(entry: Entry) -> float:
    time_s = entry.best.get("time_s") if entry.best else None
    start_s = entry.row.get("start_s")
    known = time_s if isinstance(time_s, int | float) else start_s
    return float(known) if isinstance(known, int | float) else 0.0


def _read_numbered(source: Source, wanted: set[int]) -> Mapping[int, Pixels]:
    from fractions import Fraction

    import numpy as np

    from framecheck.media.clips import open_frames

    found: dict[int, Pixels] = {}
    with open_frames(source.place, source.place.name, Fraction(24)) as clip:
        for frame in clip.frames():
            if frame.index in wanted:
                found[frame.index] = np.asarray(frame.picture().rgb, dtype=np.uint8)
            if len(found) == len(wanted):
                break
    return found


def _check_unchanged(source: Source) -> None:
    """Raise when the file is gone or holds something else now."""
    from framecheck.media.numbering import pattern_files

    if source.kind == "frames":
        files = [path for _number, path in pattern_files(source.place)]
        same = frames_content_id(files) == source.content
    else:
        status = source.place.stat()
        signed = (status.st_size, status.st_mtime_ns) == (source.size_bytes, source.mtime_ns)
        same = signed or content_id(source.place) == source.content
    if not same:
        raise FramecheckError("the file has changed since it was measured")


def _reason(error: Exception) -> str:
    if isinstance(error, OSError):
        return "the file is not where it was measured"
    if isinstance(error, FramecheckError):
        return str(error)
    return f"it could not be shown ({type(error).__name__})"
