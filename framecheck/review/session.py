"""One review: what is on the page, and what the person at it has said so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.records.judged import ShotType
from framecheck.report.page.compose import PageParts, card_of, compose_page
from framecheck.report.page.entries import Entry, entries_of
from framecheck.report.page.entry_json import Json, entry_json
from framecheck.report.page.pictures import SmallPicture
from framecheck.report.page.render import render_page
from framecheck.review.answers import FLAG_PARTS, BadAnswerError, read_answer


class ReviewSession:
    """The entries of a catalog under review; not for several threads at once.

    Attributes:
        acts: numbers of what was said in this review and stands, in order.
    """

    def __init__(
        self, catalog_file: Path, parts: PageParts, pictures: Mapping[str, SmallPicture]
    ) -> None:
        self._file, self._parts, self._pictures = catalog_file, parts, pictures
        self._places = {entry.key: place for place, entry in enumerate(parts.entries)}
        self.acts: list[int] = []
        self.seen: set[str] = set()

    def page(self) -> bytes:
        """The page as it is now."""
        review: Json = {
            "types": [member.value for member in ShotType],
            "parts": list(FLAG_PARTS),
            "undo": len(self.acts),
        }
        return render_page(compose_page(self._parts, self._pictures, review))

    def say(self, key: str, body: object) -> Json:
        """Keep what was said of an entry.

        Args:
            key: of the entry.
            body: see `read_answer`.

        Returns:
            The entry as it is now, its place on the page, and how much can be taken back.

        Raises:
            BadAnswerError: there is no such entry, or the body makes no sense.
            CatalogError: the catalog cannot be written.
        """
        entry = self._entry(key)
        values = read_answer(body, entry, self._parts.vocabulary)
        with Catalog.open(self._file) as catalog:
            self.acts.append(catalog.corrections.enter(entry.source.content, entry.anchor, values))
            self.seen.add(key)
            return self._renewed(catalog, key)

    def undo(self) -> Json:
        """Take back what was said last in this review.

        Raises:
            BadAnswerError: there is nothing to take back.
            CatalogError: the catalog cannot be written.
        """
        if not self.acts:
            raise BadAnswerError("there is nothing to take back")
        with Catalog.open(self._file) as catalog:
            there = catalog.corrections.take_back(self.acts.pop())
            if there is None:
                raise BadAnswerError("it was taken back already")
            entry = next(
                entry
                for entry in self._parts.entries
                if (entry.source.content, entry.anchor) == there
            )
            return self._renewed(catalog, entry.key)

    def _entry(self, key: str) -> Entry:
        if key not in self._places:
            raise BadAnswerError("there is no such frame on this page")
        return self._parts.entries[self._places[key]]

    def _renewed(self, catalog: Catalog, key: str) -> Json:
        """The entry read anew from the catalog, and put in its place."""
        old = self._entry(key)
        entry = next(one for one in entries_of(catalog, old.source) if one.key == key)
        # What a person looked at stays the frame it is, even if another one shows the shot now.
        entries = list(self._parts.entries)
        entries[self._places[key]] = entry
        self._parts = replace(self._parts, entries=tuple(entries))
        contents = list(dict.fromkeys(one.source.content for one in entries))
        item = entry_json(entry, contents.index(entry.source.content))
        card = card_of(self._places[key], item, "", self._pictures[key])
        return {
            "entry": item,
            "number": self._places[key],
            "card": {"size": card.size, "abbr": card.abbr, "readings": card.readings,
                     "flags": card.flags, "seen": card.seen},
            "undo": len(self.acts),
        }  # fmt: skip
