"""Input that nobody vouches for, through the command line, all of it in one run."""

from __future__ import annotations

import csv
import hashlib
import os
import re
import shutil
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from PIL import Image

pytestmark = pytest.mark.model

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "sample_frames"
GOOD = "sample_frames/10-keeper-chest.jpg"
ODD_NAME = "दृश्य\n写真 ملف.jpg"
LOCKED = "locked.jpg"

# root may read everything, so for root the refusal is put into every process of the run
REFUSAL = f"""
import os
_open = os.open
def _refuse(path, *args, **options):
    if os.path.basename(os.fspath(path)) == {LOCKED!r}:
        raise PermissionError(13, "Permission denied", path)
    return _open(path, *args, **options)
os.open = _refuse
"""

MEASURED = {
    "day/100-megapixel.png": "",
    "day/cmyk.jpg": "",
    "day/good.jpg": "",
    f"day/{ODD_NAME}".replace("\n", "\\n"): "",
}
FAILED = {
    "day/bomb.png": r"says it has 60000 x 60000 pixels, more than the limit",
    "day/cut off.jpg": r"ends too early, after \d+ bytes",
    "day/empty.jpg": r"0 bytes",
    "day/link.jpg": r"a link that points to nothing",
    f"day/{LOCKED}": r"cannot be read: Permission denied",
    "day/notes.jpg": r"not a picture that can be read",
    "day/one pixel.png": r"1 x 1 pixels; smaller than 16 px",
    "day/pipe.jpg": r"not a file but a pipe",
    "nothing": r"no pictures or clips in this folder \(1 file of other kinds\)",
    "not there.jpg": r"no such file or folder",
}


def a_bomb() -> bytes:
    """A PNG of a few hundred bytes whose header speaks of 3.6 gigapixels."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        checksum = struct.pack(">I", zlib.crc32(kind + body))
        return struct.pack(">I", len(body)) + kind + body + checksum

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(1000))), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)


def fill(place: Path) -> None:
    good = ROOT / GOOD
    day = place / "day"
    day.mkdir()
    for name in ("good.jpg", LOCKED, ODD_NAME):
        shutil.copy(good, day / name)
    (day / LOCKED).chmod(0)
    with Image.open(good) as image:
        image.convert("CMYK").save(day / "cmyk.jpg", quality=90)
    Image.new("L", (10_000, 10_000), 90).save(day / "100-megapixel.png", compress_level=1)
    Image.new("RGB", (1, 1)).save(day / "one pixel.png")
    (day / "cut off.jpg").write_bytes(good.read_bytes()[:20_000])
    (day / "empty.jpg").touch()
    (day / "notes.jpg").write_text("scene 4, take 2", "utf-8")
    (day / "bomb.png").write_bytes(a_bomb())
    (day / "link.jpg").symlink_to("gone.jpg")
    os.mkfifo(day / "pipe.jpg")
    (place / "nothing").mkdir()
    (place / "nothing" / "readme.txt").write_text("no pictures here", "utf-8")


def state_of(folder: Path) -> dict[str, tuple[str, int, int]]:
    """Name to checksum, date and permissions of all that lies in the folder."""
    state = {}
    for path in folder.rglob("*"):
        status = path.lstat()
        content = path.read_bytes() if path.is_file() and os.access(path, os.R_OK) else b""
        checksum = hashlib.sha256(content).hexdigest()
        state[str(path.relative_to(folder))] = (checksum, status.st_mtime_ns, status.st_mode)
    return state


def run(place: Path) -> subprocess.CompletedProcess[str]:
    paths = [str(ROOT), *os.environ.get("PYTHONPATH", "").split(os.pathsep)]
    if os.geteuid() == 0:
        paths.insert(0, str(place / "refusal"))
    return subprocess.run(
        [sys.executable, "-m", "framecheck", "measure", "day", "nothing", "not there.jpg",
         "--out", "out", "--overlay", "--workers", "2"],
        cwd=place, capture_output=True, text=True, check=False, timeout=300,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths), "COLUMNS": "80"},
    )  # fmt: skip


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes with names here")
    folder = tmp_path_factory.mktemp("a day nobody vouches for")
    fill(folder)
    (folder / "refusal").mkdir()
    (folder / "refusal" / "sitecustomize.py").write_text(REFUSAL, "utf-8")
    return folder


@pytest.fixture(scope="module")
def before(place):
    return state_of(place / "day")


@pytest.fixture(scope="module")
def done(place, before):
    return run(place)


@pytest.fixture
def rows(place, done):
    with (place / "out" / "files.csv").open(encoding="utf-8", newline="") as file:
        return {row["file"]: row for row in csv.DictReader(file)}


def test_the_exit_code_says_that_some_failed(done):
    assert done.returncode == 3, done.stderr
    # without a terminal one plain line tells of each failure as it comes, and nothing else is said
    lines = done.stderr.splitlines()
    assert len(lines) == len(FAILED)
    assert all(line.startswith("framecheck: ") and ": failed: " in line for line in lines)
    assert "4 measured, 10 failed" in done.stdout


def test_every_input_has_its_row(rows, place):
    assert set(rows) == {*MEASURED, *FAILED}
    lines = (place / "out" / "files.csv").read_text("utf-8").splitlines()
    assert len(lines) == len(rows) + 1


@pytest.mark.parametrize("name", FAILED)
def test_what_cannot_be_measured_is_told_with_its_reason(rows, done, name):
    row = rows[name]
    assert (row["status"], row["frames"], row["overlay"]) == ("failed", "0", "")
    assert re.search(FAILED[name], row["why"])
    assert "\n" not in row["why"]
    assert row["where"] in {"finding", "reading"}
    told = [line for line in done.stdout.splitlines() if line.startswith(f"failed: {name}: ")]
    assert len(told) == 1
    assert " ".join(row["why"].split()) in " ".join(done.stdout.split())


@pytest.mark.parametrize("name", MEASURED)
def test_the_rest_of_the_batch_goes_on(rows, place, name):
    assert (rows[name]["status"], rows[name]["why"]) == ("measured", "")
    with Image.open(place / "out" / rows[name]["overlay"]) as drawn:
        drawn.verify()


def test_the_good_ones_are_measured_as_ever(place, done):
    with (place / "out" / "frames.csv").open(encoding="utf-8", newline="") as file:
        frames = {row["file"]: row for row in csv.DictReader(file)}
    assert set(frames) == set(MEASURED)
    assert frames["day/100-megapixel.png"]["shot_type"] == "no people"
    level = float(frames["day/good.jpg"]["crop_level"])
    odd = next(row for name, row in frames.items() if "写真" in name)
    assert float(odd["crop_level"]) == level
    # CMYK without a profile shifts the colours a little
    assert float(frames["day/cmyk.jpg"]["crop_level"]) == pytest.approx(level, abs=0.02)
    assert "CMYK" in frames["day/cmyk.jpg"]["notes"]


def test_the_originals_are_untouched(place, before, done):
    assert state_of(place / "day") == before


def test_nothing_half_written_is_left(place, done):
    left = {path.name for path in (place / "out").iterdir()}
    tables = {"files.csv", "frames.csv", "people.csv", "shots.csv"}
    assert left == {*tables, "framecheck.sqlite", "overlays"}
    drawn = {path.name for path in (place / "out" / "overlays").iterdir()} - {"drawn.jsonl"}
    assert len(drawn) == len(MEASURED)
    assert not list(place.rglob(".framecheck-*"))


def test_a_second_run_takes_over_what_was_good_and_says_the_same(place, done):
    tables = {path: path.read_bytes() for path in (place / "out").glob("*.csv")}
    again = run(place)
    assert again.returncode == 3
    assert "4 measured (4 of them in an earlier run), 10 failed" in again.stdout
    assert {path: path.read_bytes() for path in tables} == tables
