"""Memory stays flat with the length of a clip: half an hour through a real reader.

The bound: the collector holds the kept frames of the shot in hand, the search for black bars up to
three shots, and no more than the window is sent ahead; all the rest is let go. Here a picture takes
0.1 MB, so that a reader that kept its shots would grow by hundreds of megabytes.
"""

import subprocess
import sys

import av
import numpy as np
import pytest

from tests.pipeline.conftest import ROOT

RATE, MINUTES, SIZE_WH = 5, 30, (256, 144)
MOST_GROWTH_MB = 24

READ = """
import sys
sys.path.insert(0, sys.argv[1])
import psutil
from pathlib import Path
from framecheck.pipeline.clip import ClipTask, OpenClipWork
from framecheck.pipeline.plan import collect_shots, find_active_picture, open_one_clip
from framecheck.pipeline.signature import sign

path = Path(sys.argv[2])
work = OpenClipWork(
    open_frames=open_one_clip, collect=collect_shots, find_active=find_active_picture
)()
process = psutil.Process()
reading = work(ClipTask(file="long", path=path, files=(path,), signature=sign([path])))
try:
    while True:
        part = next(reading)
        span = getattr(part, "span", None)
        if span is not None:
            print(span.end_frame, len(part.samples), process.memory_info().rss / 1e6)
            del part, span
except StopIteration as end:
    print(end.value.frames, end.value.shots, end.value.trouble)
"""


@pytest.fixture(scope="module")
def long_clip(tmp_path_factory):
    """Ten minutes in one shot, then shots of 4 s each."""
    path = tmp_path_factory.mktemp("long") / "long.mp4"
    draw = np.random.default_rng(3)
    frames = MINUTES * 60 * RATE
    starts = {0, *range(frames // 3, frames, 4 * RATE)}
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=RATE, options={"g": "20"})
        stream.width, stream.height, stream.pix_fmt = *SIZE_WH, "yuv420p"
        picture = None
        for index in range(frames):
            if index in starts:
                blocks = draw.integers(20, 236, size=(9, 16, 3), dtype=np.uint8)
                rgb = np.kron(blocks, np.ones((16, 16, 1), np.uint8))
                picture = av.VideoFrame.from_ndarray(rgb, format="rgb24").reformat(format="yuv420p")
            picture.pts = index
            container.mux(stream.encode(picture))
        container.mux(stream.encode())
    return path


def test_half_an_hour_takes_no_more_memory_than_its_beginning(long_clip):
    done = subprocess.run(
        [sys.executable, "-c", READ, ROOT, str(long_clip)],
        capture_output=True, text=True, check=True, timeout=300,
    )  # fmt: skip
    *shots, end = [line.split() for line in done.stdout.splitlines()]
    frames = MINUTES * 60 * RATE
    assert end == [str(frames), str(1 + frames * 2 // 3 // (4 * RATE)), "None"]
    assert max(int(samples) for _, samples, _ in shots) <= 9
    memory = [float(size) for _, _, size in shots]
    settled = max(memory[: len(memory) // 5])
    assert max(memory) - settled < MOST_GROWTH_MB
