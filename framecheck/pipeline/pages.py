"""The report of a catalog: from its file to the bytes of the page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.catalog.sources import Source
from framecheck.classify.room import RoomRanges
from framecheck.classify.vocabulary import Vocabulary
from framecheck.errors import ConfigError
from framecheck.export.atomic import write_atomically
from framecheck.pipeline.collection import without_collection
from framecheck.pipeline.settings import Settings, load_judging, load_vocabulary, own_version
from framecheck.report.page.compose import PageParts, compose_page
from framecheck.report.page.entries import Entry, gather_entries
from framecheck.report.page.opinions import first_vocabulary_name, kept_ranges, kept_vocabulary
from framecheck.report.page.pictures import make_pictures
from framecheck.report.page.render import render_page

REPORT_NAME = "report.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What became of a report.

    Attributes:
        path: of the page. size_bytes: how large it is.
        entries: stills and shots in it. without: those without a picture, with the first reason.
    """

    path: Path
    size_bytes: int
    entries: int
    without: int
    why: str


def find_catalog_file(named: Path) -> Path:
    """The catalog that is meant: the file, or the one in the folder.

    Raises:
        ConfigError: there is none.
    """
    path = named / CATALOG_NAME if named.is_dir() else named
    if path.is_file():
        return path
    hint = ""
    if named.is_dir() and any(named.glob("frames.*")):
        hint = " (the tables there came with --catalog: name that file)"
    raise ConfigError(
        f"there is no catalog at {path}{hint}; name one, or the folder that framecheck measure "
        "wrote its tables to",
        where=str(path),
    )


def write_report(
    catalog_file: Path,
    out: Path,
    *,
    folder: Path | None = None,
    title: str = "",
    told: Callable[[int, int], None] = lambda _done, _all: None,
) -> Written:
    """Write the page of a catalog.

    Args:
        catalog_file: the catalog.
        out: the page.
        folder: only what lies in it or below; None for everything.
        title: of the page; "" for the name of the folder that everything lies in.
        told: hears how many pictures are made, of how many.

    Raises:
        CatalogError: the catalog cannot be read.
        ConfigError: nothing in it is to be shown.
        ExportError: the page cannot be written.
    """
    with without_collection():
        parts = read_parts(catalog_file, folder=folder, title=title)
    count = len(parts.entries)
    pictures = make_pictures(parts.entries, lambda done: told(done, count))
    with without_collection():
        page = render_page(compose_page(parts, pictures))
    write_atomically(out, page)
    missing = [picture.why for picture in pictures.values() if not picture.webp]
    return Written(
        path=out,
        size_bytes=len(page),
        entries=count,
        without=len(missing),
        why=missing[0] if missing else "",
    )


def read_parts(catalog_file: Path, *, folder: Path | None = None, title: str = "") -> PageParts:
    """What a page of the catalog is made of, pictures apart.

    Raises:
        CatalogError: the catalog cannot be read.
        ConfigError: nothing in it is to be shown.
    """
    with Catalog.open_to_read(catalog_file) as catalog:
        entries = gather_entries(catalog, folder)
        studies = catalog.sequences()
    if not entries:
        where = f" of {folder}" if folder else ""
        raise ConfigError(
            f"the catalog {catalog_file} holds nothing{where} that was measured; measure something "
            "first, or name another one",
            where=str(catalog_file),
        )
    sources = _sources(entries)
    return PageParts(
        title=title,
        entries=entries,
        studies=studies,
        vocabulary=vocabulary_of(sources),
        ranges=_ranges(sources),
        version=own_version(),
        written=date.today().isoformat(),  # the user's own day
    )


def vocabulary_of(sources: tuple[Source, ...]) -> Vocabulary | None:
    """The vocabulary that the results are named by: kept with them, or packaged under its name."""
    kept = kept_vocabulary(sources)
    if kept is not None:
        return kept
    try:
        return load_vocabulary(first_vocabulary_name(sources))
    except ConfigError:
        return None


def _ranges(sources: tuple[Source, ...]) -> RoomRanges:
    return kept_ranges(sources) or load_judging(Settings()).ranges


def _sources(entries: tuple[Entry, ...]) -> tuple[Source, ...]:
    return tuple({entry.source.content: entry.source for entry in entries}.values())
