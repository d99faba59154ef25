"""The error tree. Every error says what happened, where, and what to do about it.

FramecheckError
├── MediaError            a file could not be used
│   ├── CannotOpen        not there, not readable, not a picture
│   ├── CannotDecode      a picture, but broken or unsupported inside
│   └── OverLimit         larger or slower than the limits allow
├── ModelError            a model file is the trouble
│   ├── ModelMissing      not in the cache and not to be had
│   └── ModelBroken       wrong checksum, or it would not load
├── ConfigError           an option, vocabulary or threshold file is wrong
├── ExportError           an output could not be written
├── CatalogError          the results database could not be used
│   └── LeaseLost         another run has taken a measurement over
└── WorkerError           a worker process died or ran out of time
"""

from __future__ import annotations


class FramecheckError(Exception):
    """Base of all errors that framecheck raises on purpose.

    Attributes:
        where: the file, option or model concerned, as the user named it; empty when none.
    """

    def __init__(self, message: str, *, where: str = "") -> None:
        super().__init__(message)
        self.where = where

    def __reduce__(self) -> tuple[object, ...]:
        """Pickle with the keyword attribute, so that errors cross process borders whole."""
        return (_rebuild, (type(self), str(self), self.where))


def _rebuild(kind: type[FramecheckError], message: str, where: str) -> FramecheckError:
    return kind(message, where=where)


class MediaError(FramecheckError):
    """A file could not be used."""


class CannotOpen(MediaError):
    """The file is not there, not readable, or not a picture."""


class CannotDecode(MediaError):
    """The file is a picture, but broken or of an unsupported kind."""


class OverLimit(MediaError):
    """The file is larger, or takes longer, than the limits allow."""


class ModelError(FramecheckError):
    """A model file is the trouble."""


class ModelMissing(ModelError):
    """A model file is not in the cache and could not be had."""


class ModelBroken(ModelError):
    """A model file has the wrong checksum, or would not load."""


class ConfigError(FramecheckError):
    """An option, a vocabulary or a threshold file is wrong."""


class ExportError(FramecheckError):
    """An output could not be written."""


class CatalogError(FramecheckError):
    """The results database is no such database, damaged, of a newer version, full or in use."""


class LeaseLost(CatalogError):
    """Another run has taken a measurement over, so that this one may not enter results."""


class WorkerError(FramecheckError):
    """A worker process died or ran out of time."""
