"""Writes XMP beside media, elsewhere, or into stills; nothing that others wrote is lost."""

from __future__ import annotations

import os
import stat
import tempfile
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from framecheck.errors import ExportError
from framecheck.export.atomic import write_atomically
from framecheck.export.xmp_embed import embed, read_embedded
from framecheck.export.xmp_packet import MOST_BYTES, make_packet
from framecheck.media.files import read_bytes
from framecheck.media.headers import kind_of
from framecheck.media.limits import DEFAULT_LIMITS
from framecheck.media.stills import read_still
from framecheck.records.xmp import XmpFacts

_ANY_WRITES = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH


def sidecar_paths(media: Sequence[Path], out: Path | None) -> dict[Path, Path]:
    """Where the sidecar of each file goes.

    Args:
        media: the files.
        out: a folder, in which the folders of the media are made anew from the one that they
            share; None for beside each file.

    Note:
        `still.xmp` for `still.jpg`; `still.jpg.xmp` where one of that name is there, or where
        another file of the same name but for its ending would have the same sidecar.
    """
    absolute = [path.absolute() for path in media]
    shared = Path(os.path.commonpath([path.parent for path in absolute])) if absolute else Path()
    twins = Counter(path.with_suffix("") for path in absolute)
    found = {}
    for path, whole in zip(media, absolute, strict=True):
        folder = whole.parent if out is None else out / whole.parent.relative_to(shared)
        full = folder / f"{whole.name}.xmp"
        short = folder / f"{whole.stem}.xmp"
        beside = (whole.parent / full.name).exists()
        found[path] = full if twins[whole.with_suffix("")] > 1 or beside else short
    return found


def write_sidecar(media: Path, target: Path, facts: XmpFacts) -> Path:
    """A sidecar, merged into the one that is there, or else into the one beside the media.

    Raises:
        ExportError: what is there cannot be merged, or it cannot be written.
        ConfigError: the library for XMP is not installed.
    """
    beside = media.absolute().parent / target.name
    existing = next((_read(path) for path in (target, beside) if path.is_file()), None)
    packet = make_packet(facts, existing, str(target))
    if packet != existing:
        write_atomically(target, packet)
    return target


def embed_facts(still: Path, facts: XmpFacts, size_wh_px: tuple[int, int]) -> Path:
    """Put XMP into a still: whole or not at all, its picture proven to be the same.

    Args:
        still: the file.
        facts: to say.
        size_wh_px: of the picture that was measured; another one by that name is left alone.

    Raises:
        ExportError: it may only be read, its kind holds none, its own XMP cannot be merged, the
            picture would change, somebody else has changed it meanwhile, or it cannot be written.
        MediaError: it cannot be read.
        ConfigError: the library for XMP is not installed.
    """
    path = still.resolve()  # a link stays a link
    _check_unlocked(path, str(still))
    data = read_bytes(path, DEFAULT_LIMITS.max_file_bytes)
    kind, where = kind_of(data), str(still)
    before = read_embedded(data, kind, where)
    packet = make_packet(facts, before, where)
    if packet == before:
        return still
    made = embed(data, kind, packet, where)
    _check_same_picture(path, made, size_wh_px, where)
    if read_embedded(made, kind, where) != packet:
        raise ExportError(f"the XMP put into {where} does not read back; it was left as it is")
    if read_bytes(path, DEFAULT_LIMITS.max_file_bytes) != data:
        raise ExportError(f"{where} was changed by somebody else meanwhile; it was left as it is")
    mode = stat.S_IMODE(path.stat().st_mode)
    write_atomically(path, made)
    path.chmod(mode)
    return still


def _check_unlocked(path: Path, where: str) -> None:
    """Refuse a file that somebody has locked, though its folder would let it be replaced."""
    if path.is_file() and not path.stat().st_mode & _ANY_WRITES:
        raise ExportError(
            f"{where} may only be read; it was left as it is; allow writing to it, or leave "
            "--embed away, and it gets a sidecar",
            where=where,
        )


def _check_same_picture(path: Path, made: bytes, size_wh_px: tuple[int, int], where: str) -> None:
    """Decode both and compare every pixel."""
    with tempfile.TemporaryDirectory(prefix="framecheck-") as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(made)
        one, other = read_still(path).rgb, read_still(copy).rgb
    if (one.shape[1], one.shape[0]) != size_wh_px:
        raise ExportError(
            f"{where} is {one.shape[1]} x {one.shape[0]} and not the {size_wh_px[0]} x "
            f"{size_wh_px[1]} that was measured; it was left as it is; measure it again",
            where=where,
        )
    if one.shape != other.shape or not np.array_equal(one, other):
        raise ExportError(
            f"the picture in {where} would change with XMP inside; it was left as it is; leave "
            "--embed away, and it gets a sidecar",
            where=where,
        )


def _read(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise ExportError(
                f"{path} is larger than {MOST_BYTES // 1_000_000} MB; it was left as it is",
                where=str(path),
            )
        return path.read_bytes()
    except OSError as error:
        raise ExportError(f"cannot read {path}: {error.strerror}", where=str(path)) from error
