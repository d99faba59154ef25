"""Which results can be read again: those whose rows keep the body rulers."""

from __future__ import annotations

from dataclasses import replace

from framecheck.errors import ConfigError
from framecheck.pipeline.results import FileResult, Results

_RULER = "ruler_px"


def with_rulers(results: Results) -> tuple[Results, tuple[str, ...]]:
    """The results that can be read again, and the files that cannot.

    Returns:
        The results without files that an earlier version has measured, whose rows keep no body
        ruler: nothing could be flagged in them, and all would seem to be clear. Then the names of
        those files.

    Raises:
        ConfigError: all with people in them are of that kind.
    """
    kept = tuple(file for file in results.files if _has_rulers(file))
    left_out = tuple(file.file for file in results.files if not _has_rulers(file))
    if left_out and not any(file.people for file in kept):
        raise ConfigError(
            f"{results.source} was measured by an earlier version, which kept no body ruler to "
            "read again; measure again",
            where=str(results.source),
        )
    return replace(results, files=kept), left_out


def _has_rulers(file: FileResult) -> bool:
    return all(_RULER in row for row in file.people)
