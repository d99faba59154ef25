"""What went wrong with a file at an address, in words of our own.

What libraries say may hold the address with its signature, so that none of it gets out.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from framecheck.errors import ConfigError

_NOT_SIGNED_IN = {
    "NoCredentialsError", "PartialCredentialsError", "TokenRetrievalError", "ProfileNotFound",
    "DefaultCredentialsError", "RefreshError", "SSOTokenLoadError", "UnauthorizedSSOTokenError",
}  # fmt: skip


class RemoteTrouble(OSError):  # noqa: N818
    """A file at an address could not be read; the message says why, and holds no secret."""


class NoParts(RemoteTrouble):
    """A server gives files only whole."""

    def __init__(self) -> None:
        super().__init__("its server gives files only whole, not in parts; copy it to a disk first")


class Redirected(Exception):  # noqa: N818
    """A server answers with another address."""


@contextmanager
def translated() -> Iterator[None]:
    """Whatever a library raises inside becomes `RemoteTrouble`; what is ours already stays."""
    try:
        yield
    except (ConfigError, RemoteTrouble, MemoryError):
        raise
    except Exception as error:
        if isinstance(error, ValueError) and "range requests" in str(error):
            raise NoParts from None
        raise RemoteTrouble(_in_words(error)) from None  # its text may hold a signature


def _in_words(error: BaseException) -> str:
    causes = list(_causes(error))
    for cause in causes:
        words = _known(cause)
        if words:
            return words
    if any(isinstance(cause, FileNotFoundError) for cause in causes):
        return "there is no such file"
    return f"it cannot be had ({type(causes[-1]).__name__})"


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


def _known(error: BaseException) -> str:
    """Words for what is known; "" for the rest."""
    if isinstance(error, Redirected):
        return f"its server sends on to {error}, which is not followed; name that address instead"
    if type(error).__name__ in _NOT_SIGNED_IN:
        return "no way to sign in was found; set it up for its library"
    return _known_of_status(error) or _known_of_network(error)


def _known_of_status(error: BaseException) -> str:
    status = getattr(error, "status", None)
    if isinstance(error, PermissionError) or status in {401, 403}:
        return "it may not be read; sign in by the settings of its library"
    known = not isinstance(status, int) or status == 404
    return "" if known else f"its server answers with code {status}"


def _known_of_network(error: BaseException) -> str:
    name = type(error).__name__
    if isinstance(error, TimeoutError) or "Timeout" in name:
        return "its server does not answer in time"
    if isinstance(error, ConnectionError) or name in {
        "EndpointConnectionError", "ClientConnectorError", "ClientConnectorDNSError",
    }:  # fmt: skip
        return "its server cannot be reached"
    return ""
