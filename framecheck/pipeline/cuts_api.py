"""The Python door to the study of a sequence."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from framecheck.catalog.sequences import ShotParts
from framecheck.errors import ConfigError
from framecheck.export.rows import row_of_shot, rows_of_frame
from framecheck.pipeline.cut_list import number_shots
from framecheck.pipeline.sequence_rows import clip_shot, still_shot
from framecheck.records.clips import ShotResult
from framecheck.records.coverage import CutThresholds, SequenceStudy
from framecheck.records.judged import FrameResult
from framecheck.records.sequence import SequenceShot


def study_cuts(
    results: Sequence[FrameResult | ShotResult],
    thresholds: CutThresholds | None = None,
    *,
    name: str = "",
    pairs: Sequence[tuple[int, int]] = (),
) -> SequenceStudy:
    """Do these shots cut together?

    Args:
        results: measured stills or shots in the order of the cut, at least one.
        thresholds: where an opinion begins; the defaults when None.
        name: of the sequence.
        pairs: numbers of two shots each that are meant to match, from 0.

    Returns:
        `cuts` with the changes and the verdict of each, `pairs` of matching angles, `readings` of
        each shot, and the `scene` as a whole.

    Raises:
        ConfigError: no results, or a pair names a shot that is not there.

    Example:
        >>> import framecheck
        >>> stills = ["wide.jpg", "close.jpg"]
        >>> results = [framecheck.measure_still(still) for still in stills]  # doctest: +SKIP
        >>> framecheck.study_cuts(results).cuts[0].verdict.value  # doctest: +SKIP
        'comfortable'
    """
    from framecheck.pipeline.cuts import ShotSequence, study

    if not results:
        raise ConfigError("there is nothing to study: give at least one measured shot")
    shots = number_shots([_shot_of(result) for result in results])
    sequence = ShotSequence(name=name, source=name, shots=shots)
    return study(sequence, thresholds or CutThresholds(), pairs)


def study_catalog(
    source: str | os.PathLike[str],
    thresholds: CutThresholds | None = None,
    *,
    file: str = "",
    pairs: Sequence[tuple[int, int]] = (),
) -> SequenceStudy:
    """The same for a catalog, or the results folder that it is in; nothing is written.

    Args:
        source: of `framecheck measure`.
        thresholds: where an opinion begins; the defaults when None.
        file: pattern of the file name, to choose among several.
        pairs: numbers of two shots each that are meant to match, from 0.

    Raises:
        CatalogError: it cannot be read.
        ConfigError: there is no catalog, or not one sequence in it.
    """
    from framecheck.catalog.catalog import Catalog
    from framecheck.pipeline.cuts import catalog_at, sequence_of_catalog, study

    place = catalog_at(Path(source))
    if place is None:
        raise ConfigError(f"there is no catalog at {source}", where=str(source))
    with Catalog.open_to_read(place) as catalog:
        sequence = sequence_of_catalog(catalog, file)
    return study(sequence, thresholds or CutThresholds(), pairs)


def _shot_of(result: FrameResult | ShotResult) -> SequenceShot:
    if isinstance(result, FrameResult):
        frame, people = rows_of_frame(result)
        return still_shot(ShotParts(frames=[frame], people=people), result.file)
    told = [rows_of_frame(frame) for frame in result.frames]
    parts = ShotParts(
        shot=row_of_shot(result),
        frames=[frame for frame, _ in told],
        people=[row for _, people in told for row in people],
    )
    return clip_shot(parts, result.file)
