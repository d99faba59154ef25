"""What people have confirmed in a catalog, read for `framecheck agree`."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.corrections import ConfirmedShot
from framecheck.classify.vocabulary import Vocabulary
from framecheck.pipeline.pages import vocabulary_of


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedResults:
    """What people have said in a catalog.

    Attributes:
        shots: each beside what is measured. places: where each content lies.
        vocabulary: that of the measured names; None when it is not to be had.
    """

    shots: tuple[ConfirmedShot, ...]
    places: dict[str, Path]
    vocabulary: Vocabulary | None


def read_confirmed(catalog_file: Path) -> ConfirmedResults:
    """All that is confirmed.

    Raises:
        CatalogError: the catalog cannot be read.
    """
    with Catalog.open_to_read(catalog_file) as catalog:
        sources = catalog.sources()
        return ConfirmedResults(
            shots=catalog.corrections.confirmed(),
            places={source.content: source.place for source in sources},
            vocabulary=vocabulary_of(sources),
        )
