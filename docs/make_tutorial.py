"""Runs the tutorial's commands and puts what they say into it: `python -m docs.make_tutorial`.

To be run again when measured numbers, or what is said on the terminal, have changed. Every line
of the tutorial that begins with `$ framecheck` is run, in order, in a folder that holds nothing
but the sample frames. A comment before a block chooses what is shown: `<!-- shown: FIRST ... LAST
-->` keeps the lines from the one that begins with FIRST up to the one before LAST; what is left
out becomes `...`. Pictures come from the annotated copies that the commands draw.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

FOLDER = Path(__file__).parent
ROOT = FOLDER.parent
TUTORIAL = FOLDER / "tutorial.md"
COLUMNS = "80"
SHOWN_FOLDER = "/home/you/boat-shed"
"""Stands in the text for the folder in which the commands were run."""
PICTURES = {
    "03-builder-shin.jpg": "overlays/03-builder-shin.jpg",
    "07-over-the-keeper.jpg": "overlays/07-over-the-keeper.jpg",
    "17-builder-no-room.jpg": "overlays/17-builder-no-room.tiff.jpg",
}
PICTURE_WIDTH_PX, PICTURE_QUALITY = 960, 80

_BLOCK = re.compile(
    r"(?:<!-- shown: (?P<first>.+?) \.\.\. (?P<last>.+?) -->\n)?"
    r"```console\n\$ (?P<command>framecheck .+?)\n(?P<output>.*?)```",
    re.DOTALL,
)


def main() -> int:
    """Run everything once and write the tutorial and its pictures anew."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name).resolve()
        _lay_out(place)
        text = _BLOCK.sub(lambda match: _filled(match, place), TUTORIAL.read_text("utf-8"))
        _make_pictures(place / "measured")
    TUTORIAL.write_text(text, encoding="utf-8", newline="\n")
    return 0


def _lay_out(place: Path) -> None:
    frames = place / "sample_frames"
    frames.mkdir()
    for path in sorted((ROOT / "sample_frames").iterdir()):
        if path.is_file() and path.name[:2].isdigit():
            shutil.copy2(path, frames)


def _filled(match: re.Match[str], place: Path) -> str:
    output = _run(match["command"], place)
    first, last = match["first"], match["last"]
    chosen = output if first is None else _between(output, first, last)
    comment = "" if first is None else f"<!-- shown: {first} ... {last} -->\n"
    body = "".join(f"{line}\n" for line in chosen)
    return f"{comment}```console\n$ {match['command']}\n{body}```"


def _run(command: str, place: Path) -> list[str]:
    words = shlex.split(command)[1:]
    paths = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))
    done = subprocess.run(
        [sys.executable, "-m", "framecheck", *words],
        cwd=place, capture_output=True, text=True, check=True,
        env={**os.environ, "COLUMNS": COLUMNS, "PYTHONPATH": paths},
    )  # fmt: skip
    text = done.stdout.replace(str(place), SHOWN_FOLDER)
    return [line.rstrip() for line in text.splitlines()]


def _between(lines: list[str], first: str, last: str) -> list[str]:
    start = next(i for i, line in enumerate(lines) if line.strip().startswith(first))
    stop = next(
        (i for i, line in enumerate(lines) if i > start and line.strip().startswith(last)),
        len(lines),
    )
    kept = lines[start:stop]
    return [*(["..."] * (start > 0)), *kept, *(["..."] * (stop < len(lines)))]


def _make_pictures(measured: Path) -> None:
    from PIL import Image

    for name, source in PICTURES.items():
        with Image.open(measured / source) as drawn:
            height_px = round(drawn.height * PICTURE_WIDTH_PX / drawn.width)
            small = drawn.convert("RGB").resize(
                (PICTURE_WIDTH_PX, height_px), Image.Resampling.LANCZOS
            )
        small.save(FOLDER / "pictures" / name, quality=PICTURE_QUALITY, optimize=True)


if __name__ == "__main__":
    sys.exit(main())
