"""`framecheck agree`: measured against confirmed, and borders that fit a user's naming better."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.guard import guarded
from framecheck.errors import ConfigError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from framecheck.classify.vocabulary import Vocabulary
    from framecheck.review.borders import BorderProposal
    from framecheck.review.comparison import Compared


@guarded
def agree(
    catalog: Annotated[
        Path,
        typer.Argument(
            metavar="DIR_OR_CATALOG", help="A catalog, or the results folder that it is in."
        ),
    ],
    worst: Annotated[
        int, typer.Option(metavar="N", min=0, help="How many of the worst cases to list.")
    ] = 10,
    truth: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Write what is confirmed, one row a field: .csv or .jsonl."
        ),
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Write the vocabulary with the proposed borders there (.toml); it is not used "
            "until you name it to framecheck measure.",
        ),
    ] = None,
) -> int:
    """Compare what was measured with what people confirmed in framecheck review.

    For sizes, people and shot types: a table of measured (rows) against confirmed (columns), the
    share that agrees, and Cohen's kappa, which leaves out what would agree by chance. Then the
    worst cases, and borders of the vocabulary that fit your own naming better. Nothing is changed
    unless you ask for it with --write.

    Example: framecheck agree measured --truth truth.csv

    Example: framecheck agree rushes.sqlite --write mine.toml

    Exit codes: 0 fine, 2 wrong usage, 3 the catalog cannot be read or FILE cannot be written.
    """
    from framecheck.cli.agree_text import agreement_lines, border_lines
    from framecheck.pipeline.agreeing import read_confirmed
    from framecheck.pipeline.pages import find_catalog_file
    from framecheck.review.comparison import compare_all

    _check_names(truth, write)
    results = read_confirmed(find_catalog_file(catalog))
    compared = compare_all(results.shots, results.places)
    if not compared:
        typer.echo(f"Nobody has confirmed anything yet; see framecheck review {catalog}")
        return 0
    vocabulary = results.vocabulary
    bands = vocabulary.bands if vocabulary is not None else ()
    sizes = {band.name: band.abbr for band in bands}
    typer.echo("\n".join(agreement_lines(compared, sizes, worst)))
    if truth is not None:
        _write_truth(truth, compared)
    proposal = _propose(vocabulary, compared)
    if proposal is not None:
        typer.echo("\n" + "\n".join(border_lines(proposal)))
    if write is not None:
        _write_vocabulary(write, proposal)
    return 0


def _check_names(truth: Path | None, write: Path | None) -> None:
    if truth is not None and truth.suffix.lower() not in {".csv", ".jsonl"}:
        raise ConfigError(f"--truth takes a name that ends in .csv or .jsonl, got {truth}")
    if write is not None and write.suffix.lower() != ".toml":
        raise ConfigError(f"--write takes a name that ends in .toml, got {write}")
    if write is not None and write.exists():
        raise ConfigError(f"{write} is there already; name another file", where=str(write))


def _propose(vocabulary: Vocabulary | None, compared: Sequence[Compared]) -> BorderProposal | None:
    from framecheck.review.borders import propose_borders

    if vocabulary is None:
        return None
    names = {band.name for band in vocabulary.bands}
    readings = [
        one.reading
        for one in compared
        if one.reading is not None
        and one.vocabulary == vocabulary.name
        and one.reading.name in names
    ]
    return propose_borders(vocabulary, readings) if readings else None


def _write_truth(path: Path, compared: Sequence[Compared]) -> None:
    from framecheck.cli.agree_text import TRUTH_COLUMNS
    from framecheck.export.atomic import write_atomically
    from framecheck.export.rows import writable_text
    from framecheck.export.writers import encode_csv, encode_jsonl
    from framecheck.review.comparison import truth_rows

    rows = [
        {name: writable_text(cell) if isinstance(cell, str) else cell for name, cell in row.items()}
        for row in truth_rows(compared)
    ]
    encode = encode_csv if path.suffix.lower() == ".csv" else encode_jsonl
    write_atomically(path, encode(TRUTH_COLUMNS, rows))
    typer.echo(f"\n{len(rows)} confirmed fields written to {path}")


def _write_vocabulary(path: Path, proposal: BorderProposal | None) -> None:
    from dataclasses import replace

    from framecheck.classify.vocabulary import parse_vocabulary
    from framecheck.classify.vocabulary_text import vocabulary_toml
    from framecheck.export.atomic import write_atomically

    if proposal is None or not proposal.moves:
        typer.echo(f"No border is moved, so {path} was not written.")
        return
    source = proposal.vocabulary.source
    mine = replace(
        proposal.vocabulary,
        name=path.stem,
        title=f"{proposal.vocabulary.title}, borders fitted to confirmed frames",
        source=f"{source} Borders moved to fit {proposal.frames} frames named by a person.",
    )
    text = vocabulary_toml(mine)
    parse_vocabulary(text, str(path))  # what is written can be read
    write_atomically(path, text.encode("utf-8"))
    typer.echo(f"{path} written; use it with framecheck measure --vocabulary {path}")
