"""Broken and crafted media: whatever is in a file, the parent lives and every file gets an answer.

200 cases here; `FRAMECHECK_FUZZ_CASES=2000 python -m pytest tests/pipeline/test_fuzz.py` for the
long run. A worker may die or be killed over a case, as the decoders are not ours; the next goes on.
"""

import io
import os
from pathlib import Path

import numpy as np
from PIL import Image

from framecheck.pipeline.pool import Lost, PoolLimits, WorkerPool
from tests.media.clip_builders import Recipe, a_clip
from tests.pipeline.fuzzing import OpenReading

CASES = int(os.environ.get("FRAMECHECK_FUZZ_CASES", "200"))
TASK_S = 20.0
CLIPS = {
    "mp4": Recipe(), "mov": Recipe(codec="mjpeg", pixels="yuvj420p"), "mkv": Recipe(codec="mpeg4"),
    "avi": Recipe(codec="mpeg4"), "ts": Recipe(codec="mpeg2video"),
}  # fmt: skip


def a_still(kind: str) -> bytes:
    rng = np.random.default_rng(3)
    picture = Image.fromarray(rng.integers(0, 255, (48, 64, 3), dtype=np.uint8))
    target = io.BytesIO()
    picture.save(target, kind)
    return target.getvalue()


def seeds(folder: Path) -> dict[str, bytes]:
    """Small sound files, one of a kind."""
    clips = {kind: a_clip(folder / f"seed.{kind}", recipe) for kind, recipe in CLIPS.items()}
    stills = {"jpg": "JPEG", "png": "PNG", "tif": "TIFF", "webp": "WEBP", "bmp": "BMP"}
    return {
        **{kind: path.read_bytes() for kind, path in clips.items()},
        **{kind: a_still(name) for kind, name in stills.items()},
    }


def mutate(data: bytes, rng: np.random.Generator) -> bytes:
    """Flip bytes, write extremes, cut, double or move a piece; heads more often than bodies."""
    out = bytearray(data)
    for _ in range(int(rng.integers(1, 6))):
        head = rng.random() < 0.5
        at = int(rng.integers(min(len(out), 256) if head else len(out)))
        length = int(rng.integers(1, 9))
        how = rng.integers(5)
        if how == 0:
            out[at] ^= 1 << int(rng.integers(8))
        elif how == 1:
            out[at : at + length] = bytes([int(rng.choice([0, 127, 128, 255]))]) * length
        elif how == 2:
            del out[at : at + int(rng.integers(1, max(2, len(out) // 4)))]
        elif how == 3:
            out[at:at] = out[at : at + 8 * length]
        else:
            del out[max(16, int(len(out) * rng.random())) :]
        if len(out) < 16:
            break
    return bytes(out)


def test_no_mutated_file_hangs_or_kills_the_parent(tmp_path) -> None:
    sound, rng = seeds(tmp_path), np.random.default_rng(20261125)
    kinds = sorted(sound)
    paths = []
    for number in range(CASES):
        kind = kinds[number % len(kinds)]
        path = tmp_path / f"case-{number}.{kind}"
        path.write_bytes(mutate(sound[kind], rng))
        paths.append(path)
    paths += [tmp_path / f"seed.{kind}" for kind in CLIPS]
    pool = WorkerPool(OpenReading(), PoolLimits(workers=2, task_s=TASK_S))
    answers = dict(pool.run(paths))
    assert sorted(answers) == list(range(len(paths)))
    hung = [paths[i].name for i, a in answers.items() if isinstance(a, Lost) and "longer" in a.why]
    assert hung == []
    said = [answer for answer in answers.values() if isinstance(answer, str)]
    assert len(said) >= 0.98 * len(paths)
    # The check can fail: sound clips are read whole, and some of the broken ones are refused.
    assert [answers[CASES + i] for i in range(len(CLIPS))] == ["read 16 frames"] * len(CLIPS)
    assert sum(answer.startswith("refused") for answer in said) >= CASES // 10
