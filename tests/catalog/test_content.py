"""The content of files as a short text."""

import itertools
import os
import shutil

import pytest

from framecheck.catalog import content
from framecheck.catalog.content import (
    BLOCK_BYTES,
    BLOCKS,
    END_BYTES,
    WHOLE_BYTES,
    blocks_of,
    content_id,
    frames_content_id,
)
from framecheck.errors import CannotOpen
from tests.catalog.builders import lay_down

MIB = 1024**2


def test_a_copy_has_the_same_id_wherever_and_whenever_it_lies(tmp_path) -> None:
    one = lay_down(tmp_path / "one", "a.mov", b"film" * 5000)
    other = lay_down(tmp_path / "other", "another name.mov", b"film" * 5000)
    os.utime(other, (1, 1))
    assert content_id(one) == content_id(other)
    assert len(content_id(one)) == 40
    assert set(content_id(one)) <= set("0123456789abcdef")


@pytest.mark.parametrize(
    "changed", [b"filn" + b"film" * 9, b"film" * 9 + b"filn", b"film" * 11, b""]
)
def test_any_change_of_a_small_file_changes_it(tmp_path, changed) -> None:
    path = lay_down(tmp_path, "a.mov", b"film" * 10)
    before = content_id(path)
    path.write_bytes(changed)
    assert content_id(path) != before


@pytest.mark.parametrize("size", [WHOLE_BYTES + 1, 100 * MIB + 7, 3 * 1024 * MIB, 10**13])
def test_the_parts_of_a_large_file(size) -> None:
    parts = blocks_of(size)
    assert sum(length for _, length in parts) == 2 * END_BYTES + BLOCKS * BLOCK_BYTES == WHOLE_BYTES
    assert parts[0] == (0, END_BYTES)
    assert sum(parts[-1]) == size
    gaps = [after[0] - sum(before) for before, after in itertools.pairwise(parts)]
    assert min(gaps) >= 0, "parts overlap"
    assert max(gaps) - min(gaps) <= 1, "parts are not even"


def test_a_file_up_to_the_limit_is_read_whole() -> None:
    assert blocks_of(WHOLE_BYTES) == ((0, WHOLE_BYTES),)
    assert blocks_of(0) == ((0, 0),)


def test_a_large_file_is_known_by_its_size_and_its_parts(tmp_path) -> None:
    path = tmp_path / "large.mov"
    with path.open("wb") as file:
        file.truncate(200 * MIB)
    ids = {content_id(path)}
    start, length = blocks_of(200 * MIB)[20]
    for place in (0, END_BYTES - 1, start, start + length - 1, 200 * MIB - 1):
        with path.open("r+b") as file:
            file.seek(place)
            file.write(b"x")
        ids.add(content_id(path))
    with path.open("ab") as file:
        file.truncate(200 * MIB + 1)
    ids.add(content_id(path))
    assert len(ids) == 7
    # The stated limit of the method: a change between the parts, with the same size, is not seen.
    before = content_id(path)
    with path.open("r+b") as file:
        file.seek(sum(blocks_of(200 * MIB + 1)[20]) + 5)
        file.write(b"x")
    assert content_id(path) == before


def test_a_file_that_is_still_being_copied(tmp_path, monkeypatch) -> None:
    path = lay_down(tmp_path, "a.mov", b"x" * 3 * MIB)
    read = os.read

    def read_and_grow(descriptor, length):
        with path.open("ab") as file:
            file.write(b"more")
        return read(descriptor, length)

    monkeypatch.setattr(content.os, "read", read_and_grow)
    with pytest.raises(CannotOpen, match="changed while it was read; wait until it is copied"):
        content_id(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
def test_a_pipe_is_refused_without_waiting(tmp_path) -> None:
    os.mkfifo(tmp_path / "pipe.mov")
    with pytest.raises(CannotOpen, match="not a file"):
        content_id(tmp_path / "pipe.mov")


@pytest.mark.parametrize("name", ["absent.mov", "", "nul\0.mov"])
def test_what_is_not_there(tmp_path, name) -> None:
    with pytest.raises(CannotOpen):
        content_id(tmp_path / name)


def test_numbered_frames_are_known_by_names_sizes_contents_and_order(tmp_path) -> None:
    files = [lay_down(tmp_path, f"take-{n:04}.png", b"%d" % n * 50) for n in range(12)]
    before = frames_content_id(files)
    shutil.copytree(tmp_path, tmp_path / "moved")
    assert frames_content_id([tmp_path / "moved" / file.name for file in files]) == before
    assert frames_content_id(files[:-1]) != before
    assert frames_content_id([*files[1:], files[0]]) != before
    files[5].write_bytes(b"!")
    assert frames_content_id(files) != before
    assert frames_content_id(files[:1]) != content_id(files[0])
