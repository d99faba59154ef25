"""The page of the vocabularies, from their files."""

from __future__ import annotations

import math
from collections.abc import Iterator

from docs.generators.markdown import block, code, number, page, table
from framecheck.classify.vocabulary import Band, Region, Span, Vocabulary
from framecheck.pipeline.settings import load_vocabulary, packaged_vocabulary_names

_HEAD = """# Vocabularies

A vocabulary gives words to readings of the [body ruler](../body-ruler.md). `trade` is used when
nothing is said; `--vocabulary NAME` chooses another one, and given again adds further columns.
`framecheck vocabularies NAME` draws one in the terminal.

How few people agree on these words has been measured: when people sorted frames of 124 films into
nine sizes, they agreed with each other only in part (Fleiss' kappa 0.64; Savardi and others,
*Data in Brief* 36, 2021, 107002). That is why every table has the number beside the word."""

_READ = """## How to read the tables

- **bottom edge from ... to** are crop levels: where the lower edge of the picture cuts the body.
  The first belongs to the size, the second to the next one.
- **figure** is the height of the figure over the height of the picture. It tells sizes apart that
  all show the whole body.
- **visible** is how much of the body lies between the top and the bottom edge, as a fraction of
  stature. It tells a face from a part of a face.

When a reading lies so near to a border that at least a tenth of its error falls into another
size, the row names that one as `size_second`. `size_confidence` is the share of the reading's
error that falls into the size itself, with errors taken as normal and independent."""

_OWN = """## A vocabulary of your own

It is a TOML file: a name, a title, where the words come from, and a `[[band]]` for each size,
from wide to tight. A band has one region or more; what a region leaves out is open. Together the
regions must cover every reading exactly once, and framecheck says where two overlap or none
holds."""

_EXAMPLE = (
    'name = "three-cuts"',
    'title = "Wide, middle, near"',
    'source = "Our own house names"',
    "",
    "[[band]]",
    'name = "wide"',
    'abbr = "W"',
    'note = "Everything down to the knees."',
    "region = [{ crop_to = 0.285 }]",
    "",
    "[[band]]",
    'name = "middle"',
    'abbr = "M"',
    'note = "From the knees to the chest."',
    "region = [{ crop_from = 0.285, crop_to = 0.72 }]",
    "",
    "[[band]]",
    'name = "near"',
    'abbr = "N"',
    'note = "From the chest up."',
    "region = [{ crop_from = 0.72 }]",
)
EXAMPLE = "\n".join(_EXAMPLE) + "\n"
"""The file that the page shows; a test reads it."""

_USE = """Save it as `three-cuts.toml`, look at it, and use it:

```sh
framecheck vocabularies three-cuts.toml
framecheck measure stills --out measured --vocabulary three-cuts.toml
```

`framecheck agree --write mine.toml` makes one from `trade` (or from what the catalog was measured
with), with the borders moved to where your own corrections put them."""


def vocabularies_page() -> str:
    """Every packaged vocabulary, and how to write another one."""
    told = [_of_vocabulary(load_vocabulary(name)) for name in packaged_vocabulary_names()]
    return page(_HEAD, _READ, *told, _OWN, block(_EXAMPLE, "toml"), _USE)


def _of_vocabulary(vocabulary: Vocabulary) -> str:
    rows = [row for band in vocabulary.bands for row in _rows(band)]
    heading = ["size", "abbr", "bottom edge", "figure", "visible", "what it shows"]
    return "\n\n".join(
        [
            f"## {vocabulary.name}",
            f"{vocabulary.title}. *Source:* {vocabulary.source}",
            table(heading, rows),
        ]
    )


def _rows(band: Band) -> Iterator[tuple[str, ...]]:
    for place, region in enumerate(band.regions):
        words = (band.name, code(band.abbr)) if place == 0 else ("", "")
        yield (*words, *_spans(region), band.note if place == 0 else "(or)")


def _spans(region: Region) -> tuple[str, str, str]:
    return (_span(region.crop), _span(region.figure), _span(region.extent))


def _span(span: Span) -> str:
    low = math.isfinite(span.start) and span.start != 0
    high = math.isfinite(span.stop)
    if low and high:
        return f"{number(span.start)} to {number(span.stop)}"
    if low:
        return f"from {number(span.start)}"
    return f"under {number(span.stop)}" if high else ""
