"""Addresses of files that lie elsewhere: `s3://`, `gs://`, `http://` and `https://`.

An address may hold a password or a signature. Only what reaches the file sees it whole; everything
else, tables and messages above all, sees the shown form without them.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote, urlsplit

from framecheck.errors import CannotOpen
from framecheck.media.names import shown_name

KINDS = ("s3", "gs", "http", "https")
KINDS_TEXT = "s3://, gs://, http:// and https://"

_ADDRESS = re.compile(r"([A-Za-z][A-Za-z0-9+.-]+)://(.*)", re.DOTALL)
_HOST = re.compile(r"(\[[0-9A-Fa-f:.%]*\]|[^:\[\]]*)(:[0-9]*)?")
_KEPT = "%/:?#[]@!$&'()*+,;=~-._"  # what an http address may hold as it is
_NATIVE: type[Path] = type(Path())


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoteStat:
    """As much of `os.stat_result` as tells whether a file is still the same.

    Attributes:
        st_size: bytes; -1 when its server does not say.
        st_mtime_ns: a number that changes with what its server says of its state (its date, its
            tag); 0 when it says nothing.
    """

    st_size: int
    st_mtime_ns: int


class RemotePath(_NATIVE):  # type: ignore[misc, valid-type]
    """A file at an address, wherever a path is expected; as text it is the shown form.

    Attributes:
        address: the whole of it, to be given to nothing but what reaches the file.
    """

    address: str
    found_as: RemoteStat | None

    def __new__(cls, address: str) -> RemotePath:
        """As `Path`, of its shown form."""
        return super().__new__(cls, shown_address(address))  # type: ignore[no-any-return]

    def __init__(self, address: str) -> None:
        if sys.version_info >= (3, 12):
            super().__init__(shown_address(address))
        self.address = address
        self.found_as = None

    def with_segments(self, *segments: str) -> Path:
        """Its folders are no files, and plain paths do for them."""
        return Path(*segments)

    if sys.version_info < (3, 12):  # before that, this is what stands for `with_segments`

        @classmethod
        def _from_parsed_parts(cls, *parts: object) -> Path:
            return _NATIVE._from_parsed_parts(*parts)  # type: ignore[attr-defined, no-any-return]

    def __str__(self) -> str:
        return shown_address(self.address)

    def __fspath__(self) -> str:
        return str(self)

    def __repr__(self) -> str:
        return f"RemotePath({str(self)!r})"

    def __reduce__(self) -> tuple[type[RemotePath], tuple[str]]:
        return (RemotePath, (self.address,))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, RemotePath) and other.address == self.address

    def __hash__(self) -> int:
        return hash(self.address)

    def stat(self, *, follow_symlinks: bool = True) -> RemoteStat:  # noqa: ARG002
        """Its state: once as it was found, in every other process asked for anew.

        Raises:
            OSError: it is not there, or its server does not answer.
        """
        from framecheck.media.remote import stat_remote

        return self.found_as or stat_remote(self)


def is_address(text: str) -> bool:
    """True when the text names a file elsewhere, of whatever kind."""
    return _ADDRESS.fullmatch(text) is not None


def shown_address(address: str) -> str:
    """The address without password, query and fragment, on one line.

    Keys in buckets may hold question marks; they have no query.
    """
    kind, rest = _split(address)
    if kind in {"http", "https"}:
        rest = re.split("[?#]", rest, maxsplit=1)[0]
    host, slash, inner = rest.partition("/")
    host = host.rpartition("@")[2]
    if kind in {"http", "https"} and not _HOST.fullmatch(host):
        return f"{kind}://..."  # what stands there may be half a password
    return f"{kind}://{shown_name(host + slash + inner)}"


def check_address(address: str) -> str:
    """Why files cannot be read from there, in plain words; "" when nothing is against it."""
    kind, rest = _split(address)
    user, _, place = rest.partition("/")[0].rpartition("@")
    if kind not in KINDS:
        return f"addresses of the kind {kind}:// are not read; {KINDS_TEXT} are"
    if kind in {"s3", "gs"}:
        return _trouble_of_bucket(user, place)
    return "" if place and _is_sound(address) else "not a proper address; check its host and port"


def place_in(address: str) -> str:
    """What its library calls it: bucket and key, or the address as it goes over the wire."""
    kind, rest = _split(address)
    return quote(address, safe=_KEPT) if kind in {"http", "https"} else rest


def kind_of_address(address: str) -> str:
    """`s3`, `gs`, `http` or `https`.

    Raises:
        CannotOpen: another one.
    """
    trouble = check_address(address)
    if trouble:
        raise CannotOpen(f"{shown_address(address)}: {trouble}", where=shown_address(address))
    return _split(address)[0]


def _split(address: str) -> tuple[str, str]:
    match = _ADDRESS.fullmatch(address)
    return (match[1].lower(), match[2]) if match else ("", address)


def _trouble_of_bucket(user: str, bucket: str) -> str:
    if user:
        return "keys and passwords do not belong into an address; set them up for its library"
    return "" if bucket else "an address without a bucket"


def _is_sound(address: str) -> bool:
    try:
        parts = urlsplit(address)
        return bool(parts.hostname) and (parts.port is None or parts.port > 0)
    except ValueError:
        return False
