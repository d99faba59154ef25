"""Finds the pictures and clips at an address: a file, a folder of a bucket, or a pattern in one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

from framecheck.media.address import (
    RemotePath,
    RemoteStat,
    check_address,
    kind_of_address,
    shown_address,
)
from framecheck.media.clips import CLIP_SUFFIXES
from framecheck.media.inputs import PICTURE_SUFFIXES, Found, Kind, natural_order
from framecheck.media.remote import list_remote, look_up, state_of
from framecheck.media.remote_trouble import RemoteTrouble

NO_FOLDER = "web servers have no folders that can be listed; name each file"
NO_NUMBERED = "numbered frames are read from disks alone; name the pictures as stills, or copy them"


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoteSearch:
    """What an address names: the inputs, in order, and how many other files lie there."""

    found: tuple[Found, ...]
    ignored: int = 0


def find_at(address: str) -> RemoteSearch:
    """The pictures and clips that an address names, or one that says why there is none.

    Raises:
        ConfigError: a library is missing.
    """
    path = RemotePath(address)
    trouble = check_address(address)
    if trouble:
        return _one(path, trouble)
    web = kind_of_address(address) in {"http", "https"}
    try:
        return _on_web(path) if web else _in_bucket(path)
    except RemoteTrouble as error:
        return _one(path, str(error))


def _on_web(path: RemotePath) -> RemoteSearch:
    if str(path).endswith("/"):
        return _one(path, NO_FOLDER)
    info = look_up(path)
    path.found_as = state_of(info)
    return _one(path, "", _kind_of(path.name, str(info.get("mimetype") or "")))


def _in_bucket(path: RemotePath) -> RemoteSearch:
    info = _info_or_none(path)
    if info is not None and info.get("type") == "file":
        path.found_as = state_of(info)
        return _one(path, "", _kind_of(path.name))
    pattern = info is None and any(mark in path.address for mark in "*?[")
    if info is None and not pattern:
        return _one(path, NO_NUMBERED if "#" in path.name else "there is no such file or folder")
    return _several(path, list_remote(path, pattern=pattern))


def _info_or_none(path: RemotePath) -> Mapping[str, Any] | None:
    try:
        return look_up(path)
    except RemoteTrouble as error:
        if "no such file" in str(error):
            return None
        raise


def _several(path: RemotePath, listed: Mapping[str, RemoteStat]) -> RemoteSearch:
    visible = {a: state for a, state in listed.items() if not _is_hidden(a, str(path))}
    usable = [RemotePath(a) for a in visible if _suffix(a) in PICTURE_SUFFIXES | CLIP_SUFFIXES]
    for each in usable:
        each.found_as = visible[each.address]
    if not usable:
        count = "1 file" if len(visible) == 1 else f"{len(visible)} files"
        return _one(path, f"no pictures or clips there ({count} of other kinds)")
    found = (_found(each, "", _kind_of(each.name)) for each in sorted(usable, key=natural_order))
    return RemoteSearch(found=tuple(found), ignored=len(visible) - len(usable))


def _is_hidden(address: str, root: str) -> bool:
    """As on a disk: below what the user named, names that begin with a dot are left alone."""
    inner = shown_address(address).removeprefix(root.rstrip("/"))
    return any(part.startswith(".") for part in inner.split("/"))


def _suffix(address: str) -> str:
    return PurePosixPath(address).suffix.lower()


def _kind_of(name: str, media_type: str = "") -> Kind:
    suffix = _suffix(name)
    if suffix in CLIP_SUFFIXES:
        return "clip"
    return "clip" if suffix not in PICTURE_SUFFIXES and media_type.startswith("video/") else "still"


def _one(path: RemotePath, why: str, kind: Kind = "still") -> RemoteSearch:
    return RemoteSearch(found=(_found(path, why, kind),))


def _found(path: RemotePath, why: str, kind: Kind) -> Found:
    return Found(path=path, name=str(path), why=why, kind=kind)
