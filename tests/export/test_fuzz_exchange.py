"""Files of others, changed at random: read, or refused in one clear line, and nothing else."""

import json
import random

import pytest

from framecheck.errors import FramecheckError
from framecheck.export.fdl import encode_fdl, read_fdl
from framecheck.export.otio_timeline import encode_otio
from framecheck.export.read_tables import read_table
from framecheck.export.xmp_packet import make_packet
from framecheck.media.cut_order import read_cut_order
from tests.export.edits import a_clip
from tests.export.test_fdl import TALL, TWO, a_context
from tests.export.test_tables_of_others import COLUMNS, ROWS
from tests.export.test_xmp import FACTS, others
from tests.media.test_cut_order_edl import SAMPLE

CASES = 300
NASTY = (
    b"\0", b"\xff", b"<!DOCTYPE a>", b"&a;", b"]]>", b"{", b"[", b'"', b"9" * 400, b"-", b"1e999",
    b"\n", b"../../etc/passwd", b"%n", "\u202e".encode(), b"null", b"NaN",
)  # fmt: skip


def changed(content, seed):
    """The content with a few bytes changed, cut, doubled, or something nasty put in."""
    chance = random.Random(seed)
    data = bytearray(content)
    for _ in range(chance.randint(1, 5)):
        at = chance.randrange(len(data) + 1)
        kind = chance.randrange(4)
        if kind == 0 and data:
            data[min(at, len(data) - 1)] = chance.randrange(256)
        elif kind == 1:
            del data[at : at + chance.randint(1, 60)]
        elif kind == 2:
            data[at:at] = data[at : at + chance.randint(1, 200)]
        else:
            data[at:at] = chance.choice(NASTY)
    return bytes(data)


def fdl(path):
    read_fdl(path)


def order(path):
    read_cut_order(path, check_files=False)


def xmp(path):
    make_packet(FACTS, path.read_bytes(), "a.xmp")


def table(path):
    read_table(path, "frames")


def table_lines() -> bytes:
    from framecheck.export.writers import encode_csv

    return encode_csv(COLUMNS["frames"], ROWS["frames"])


@pytest.mark.parametrize(
    ("read", "name", "content"),
    [
        (fdl, "a.fdl", encode_fdl([a_context()], [TWO, TALL])),
        (order, "a.edl", SAMPLE.encode()),
        (order, "a.otio", encode_otio("a", [a_clip()])),
        (xmp, "a.xmp", others()),
        (table, "frames.csv", table_lines()),
    ],
    ids=["fdl", "edl", "otio", "xmp", "table"],
)
def test_whatever_comes_is_read_or_refused(tmp_path, read, name, content) -> None:
    path = tmp_path / name
    refused = 0
    for seed in range(CASES):
        path.write_bytes(changed(content, seed))
        try:
            read(path)
        except FramecheckError as error:
            refused += 1
            words = str(error)
            if "\n" in words or len(words) > 600:
                pytest.fail(f"seed {seed}: {words[:300]!r}")
    assert 0 < refused < CASES


def test_places_and_sizes_that_are_no_numbers_are_refused(tmp_path) -> None:
    """Every number that says where a frame lies in turn becomes something else."""
    content = encode_fdl([a_context()], [TWO, TALL]).decode()
    places = [
        keys for keys in numbers_in(json.loads(content)) if {"dimensions", "anchor_point"} & {*keys}
    ]
    assert len(places) == 2 + 2 * 4
    path = tmp_path / "a.fdl"
    for keys in places:
        for wrong in (None, "x", [], {}, True, -1e30, 1e30):
            copy = json.loads(content)
            holder = copy
            for key in keys[:-1]:
                holder = holder[key]
            holder[keys[-1]] = wrong
            path.write_text(json.dumps(copy))
            with pytest.raises(FramecheckError, match=r"a\.fdl"):
                read_fdl(path)


def numbers_in(node, keys=()):
    pairs = list(node.items()) if isinstance(node, dict) else []
    pairs += list(enumerate(node)) if isinstance(node, list) else []
    for key, value in pairs:
        if isinstance(value, int | float):
            yield (*keys, key)
        yield from numbers_in(value, (*keys, key))
