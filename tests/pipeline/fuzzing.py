"""Work for the fuzz test: read a file as the program would, in a worker; light to load."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from framecheck.errors import MediaError


@dataclass(frozen=True)
class OpenReading:
    """The worker's function reads a still or a clip to its end, and says what came of it."""

    def __call__(self):
        from framecheck.media.clips import ClipLimits, is_clip, open_clip
        from framecheck.media.stills import read_still

        def read_whole(path: Path) -> str:
            if not is_clip(path):
                return f"read {read_still(path).rgb.shape}"
            with open_clip(path, path.name, ClipLimits(threads=1)) as clip:
                whole = [frame.small.size and frame.keep().picture() for frame in clip.frames()]
                return f"read {len(whole)} frames"

        def read(path: Path) -> str:
            try:
                return read_whole(path)
            except MediaError as error:
                return f"refused: {error}"

        return read
