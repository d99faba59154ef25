"""Reads files at addresses through fsspec: whole, or in parts with read-ahead.

Nothing is followed to another address. How to sign in is the business of the libraries (s3fs,
gcsfs, aiohttp) and their own settings. What they say when something fails may hold an address with
its signature, so that none of their words get out: they become words of our own.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import logging
import time
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from framecheck.errors import ConfigError
from framecheck.media.address import (
    RemotePath,
    RemoteStat,
    kind_of_address,
    place_in,
    shown_address,
)
from framecheck.media.remote_trouble import NoParts, Redirected, RemoteTrouble, translated

if TYPE_CHECKING:
    from fsspec import AbstractFileSystem

BLOCK_BYTES = 4 * 1024**2
"""Read at once, and ahead of what is needed: a second of a clip at 32 Mbit/s."""
BLOCKS_KEPT = 16
CONNECT_S, SILENT_S = 20.0, 45.0
"""How long a server may take to answer, and be silent in between."""
PAUSES_S = (0.5, 2.0)
"""Before a part that did not come is asked for once more."""
_TRIES = 5

_LIBRARIES = {"s3": "s3fs", "gs": "gcsfs", "http": "aiohttp", "https": "aiohttp"}
_MARKS = ("ETag", "etag", "generation", "Last-Modified", "LastModified", "updated", "mtime")


class RemoteReader:
    """A file at an address, read in parts; what decoders take for an open file.

    It has no name on purpose: readers shall look at what it holds.
    """

    def __init__(self, path: RemotePath) -> None:
        with translated():
            info = _info(path)
            self.size_bytes = _size_of(info)
            if self.size_bytes < 0 or not info.get("partial", True):
                raise NoParts
            self._path = path
            self._file = self._open()

    def read(self, count: int = -1) -> bytes:
        """The next bytes, all that are left for less than none; never asked for behind the end."""
        left = self.size_bytes - self.tell()
        wanted = left if count < 0 else max(0, min(count, left))
        for pause_s in PAUSES_S:
            try:
                return self._read(wanted)
            except NoParts:
                raise
            except RemoteTrouble:  # networks stumble; what was read ahead may have failed as well
                time.sleep(pause_s)
                self._begin_anew()
        return self._read(wanted)

    def seek(self, offset: int, whence: int = 0) -> int:
        """Go on from there."""
        with translated():
            return int(self._file.seek(offset, whence))

    def tell(self) -> int:
        """Where it is."""
        return int(self._file.tell())

    def seekable(self) -> bool:
        """It is."""
        return True

    def readable(self) -> bool:
        """It is."""
        return True

    def close(self) -> None:
        """Let go of it."""
        self._file.close()

    def _open(self) -> Any:  # noqa: ANN401
        if self.size_bytes == 0:
            return io.BytesIO()
        return _filesystem(self._path).open(
            place_in(self._path.address),
            "rb",
            block_size=BLOCK_BYTES,
            cache_type="background",
            cache_options={"maxblocks": BLOCKS_KEPT},
            **({"size": self.size_bytes} if _is_web(self._path) else {}),
        )

    def _read(self, count: int) -> bytes:
        with translated():
            return bytes(self._file.read(count))

    def _begin_anew(self) -> None:
        with contextlib.suppress(RemoteTrouble), translated():
            place, fresh = self.tell(), self._open()
            fresh.seek(place)
            self._file, old = fresh, self._file
            old.close()


def open_remote(path: RemotePath) -> RemoteReader:
    """The file, to be read in parts; the caller closes it.

    Raises:
        RemoteTrouble: it cannot be had.
        ConfigError: a library is missing.
    """
    return RemoteReader(path)


def read_remote(path: RemotePath, most_bytes: int) -> bytes:
    """The whole file, or one byte more than allowed of a larger one.

    Raises:
        RemoteTrouble: it cannot be had.
        ConfigError: a library is missing.
    """
    pieces: list[bytes] = []
    left = most_bytes + 1
    with translated():
        if _size_of(_info(path)) > most_bytes:
            raise RemoteTrouble(f"it has more than the limit of {most_bytes / 1e6:.0f} MB")
        # The web is read as one stream, which every server has; of a bucket the parts are streams.
        options = {"block_size": 0} if _is_web(path) else {"block_size": BLOCK_BYTES}
        with _filesystem(path).open(place_in(path.address), "rb", **options) as file:
            while left > 0 and (piece := file.read(min(left, BLOCK_BYTES))):
                pieces.append(piece)
                left -= len(piece)
    return b"".join(pieces)


def stat_remote(path: RemotePath) -> RemoteStat:
    """The present state of a file.

    Raises:
        RemoteTrouble: it is not there, or its server does not answer.
        ConfigError: a library is missing.
    """
    with translated():
        return state_of(_info(path))


def state_of(info: Mapping[str, Any]) -> RemoteStat:
    """The state of a file of which its server says that."""
    mark = next((str(info[name]) for name in _MARKS if info.get(name)), "")
    number = int.from_bytes(hashlib.blake2b(mark.encode(), digest_size=7).digest(), "big")
    return RemoteStat(st_size=_size_of(info), st_mtime_ns=number if mark else 0)


def look_up(path: RemotePath) -> Mapping[str, Any]:
    """What its server says of a file or folder: `type`, `size`, perhaps `mimetype`.

    Raises:
        RemoteTrouble: it is not there, or its server does not answer.
        ConfigError: a library is missing.
    """
    with translated():
        return _info(path)


def list_remote(path: RemotePath, *, pattern: bool) -> dict[str, RemoteStat]:
    """The addresses of all files below a folder of a bucket, or that match a pattern.

    Raises:
        RemoteTrouble: they cannot be listed.
        ConfigError: a library is missing.
    """
    kind = kind_of_address(path.address)
    with translated():
        filesystem, place = _filesystem(path), place_in(path.address)
        found = filesystem.glob(place, detail=True) if pattern else filesystem.find(
            place, detail=True
        )  # fmt: skip
        return {
            f"{kind}://{name}": state_of(info)
            for name, info in found.items()
            if info.get("type") == "file" and not name.endswith("/")
        }


def _info(path: RemotePath) -> Mapping[str, Any]:
    info: Mapping[str, Any] = _filesystem(path).info(place_in(path.address))
    return info


def _is_web(path: RemotePath) -> bool:
    return kind_of_address(path.address) in {"http", "https"}


def _size_of(info: Mapping[str, Any]) -> int:
    size = info.get("size")
    return -1 if size is None else int(size)


def _filesystem(path: RemotePath) -> AbstractFileSystem:
    kind = kind_of_address(path.address)
    try:
        import fsspec

        _keep_quiet()
        if _is_web(path):
            return fsspec.filesystem(kind, **_http_options())
        return fsspec.filesystem(kind, use_listings_cache=False, **_bucket_options(kind))
    except ImportError as error:
        raise ConfigError(
            f"{kind}:// needs fsspec and {_LIBRARIES[kind]}: pip install 'framecheck[remote]'",
            where=str(path),
        ) from error


def _keep_quiet() -> None:
    """What the libraries remark goes where the user has sent it, and else nowhere."""
    for library in {"fsspec", "botocore", "aiobotocore", *_LIBRARIES.values()}:
        words = logging.getLogger(library)
        if not words.handlers:
            words.addHandler(logging.NullHandler())


def _bucket_options(kind: str) -> dict[str, Any]:
    if kind != "s3":
        return {}
    retries = {"max_attempts": _TRIES, "mode": "standard"}
    waits = {"connect_timeout": CONNECT_S, "read_timeout": SILENT_S}
    return {"config_kwargs": {**waits, "retries": retries}}


def _http_options() -> dict[str, Any]:
    return {
        "get_client": _open_session,
        "encoded": True,
        "allow_redirects": False,
        "headers": {"Accept-Encoding": "identity"},
    }


async def _open_session(**options: Any) -> Any:  # noqa: ANN401
    import aiohttp

    waits = aiohttp.ClientTimeout(total=None, sock_connect=CONNECT_S, sock_read=SILENT_S)
    return aiohttp.ClientSession(
        **options, timeout=waits, raise_for_status=_refuse_redirect, trust_env=True
    )


async def _refuse_redirect(response: Any) -> None:  # noqa: ANN401
    if 300 <= response.status < 400:
        there = str(response.headers.get("Location", ""))
        raise Redirected(shown_address(there) if "://" in there else "another place on it")
