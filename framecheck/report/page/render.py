"""The page as bytes: template, styles and scripts of this package filled with the data."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, TypeAlias

from framecheck.report.page.about import Made
from framecheck.report.page.text import json_island

Json: TypeAlias = dict[str, Any]

_DATA = resources.files("framecheck.report.page") / "data"
_SCRIPTS = (
    "start.js", "layers.js", "sheet.js", "large.js", "clips.js", "charts.js", "pairs.js",
    "review.js", "run.js",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What stands on the sheet for one entry, before any script runs.

    Attributes:
        number: place in the data. key: for its link.
        name, place, timecode: of its file. size, abbr: names of the size, or the type of shot.
        readings: in words. flags: severity, person and part of each.
        picture: an address of the image, "" for none, with its size; `why` says why none.
        seen: what part of the body is in the picture, from crop to top level; None for unknown.
    """

    number: int
    key: str
    name: str
    timecode: str
    size: str
    abbr: str
    readings: str
    flags: tuple[tuple[str, str], ...]
    picture: str
    width_px: int
    height_px: int
    why: str
    seen: tuple[float, float] | None
    confirmed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PageContent:
    """Everything that the page shows.

    Attributes:
        title: what it is about. summary: one line of counts.
        cards: the sheet. data: for the scripts.
        sizes: name, abbreviation, meaning. made: the settings.
        vocabulary_source, room_source: where the words and the ranges come from.
        trouble: files that were not measured, with the reason.
        version: of the program that wrote the page. written: the day.
        review: True when corrections can be made.
    """

    title: str
    summary: str
    cards: Sequence[Card]
    data: Json
    sizes: Sequence[Sequence[str]]
    made: Sequence[Made]
    vocabulary_source: str
    room_source: str
    trouble: Sequence[tuple[str, str]]
    version: str
    written: str
    review: bool = False


def render_page(content: PageContent, *, pictures_from: str = "data:") -> bytes:
    """The whole page as UTF-8.

    Args:
        content: what it shows.
        pictures_from: where images may come from, for the page's own policy.
    """
    style, script = page_style(), page_script()
    html: str = _template().render(
        content=content,
        style=style,
        script=script,
        island=json_island(content.data),
        policy=_policy(style, script, pictures_from, review=content.review),
    )
    return html.encode("utf-8")


@lru_cache(maxsize=1)
def page_style() -> str:
    """The style sheet."""
    return (_DATA / "page.css").read_text("utf-8")


@lru_cache(maxsize=1)
def page_script() -> str:
    """All scripts as one, in a scope of their own."""
    parts = "\n".join((_DATA / name).read_text("utf-8") for name in _SCRIPTS)
    return f'(() => {{\n"use strict";\n{parts}\n}})();\n'


def data_address(webp: bytes) -> str:
    """The picture as an address that needs no file."""
    return f"data:image/webp;base64,{base64.b64encode(webp).decode('ascii')}"


def _policy(style: str, script: str, pictures_from: str, *, review: bool) -> str:
    """What the browser may do with the page: run its own script, and reach nothing else."""
    parts: Mapping[str, str] = {
        "default-src": "'none'",
        "script-src": _digest(script),
        "style-src": _digest(style),
        "img-src": pictures_from,
        "connect-src": "'self'" if review else "'none'",
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in parts.items())


def _digest(text: str) -> str:
    checksum = base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
    return f"'sha256-{checksum}'"


@lru_cache(maxsize=1)
def _template() -> Any:  # noqa: ANN401  # Jinja2 stays unloaded until a page is written
    from jinja2 import Environment, StrictUndefined

    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.from_string((_DATA / "page.html").read_text("utf-8"))
