"""What `framecheck agree` says, as lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from framecheck.catalog.confirmed import Field
from framecheck.cli.text import columns_of, padded, printable, table_lines, terminal_width, wrapped
from framecheck.export.columns import Column, Kind
from framecheck.review.agreement import Agreement, compare_flags, compare_names
from framecheck.review.borders import BorderProposal
from framecheck.review.comparison import (
    Compared,
    in_vocabulary,
    pairs_of,
    usual_vocabulary,
    worst_sizes,
)

_COMPARED = (Field.SIZE, Field.PEOPLE, Field.SHOT_TYPE, Field.SUBJECT)


def _text(name: str, meaning: str, kind: Kind = Kind.TEXT) -> Column:
    return Column(name=name, kind=kind, unit="", meaning=meaning)


TRUTH_COLUMNS: tuple[Column, ...] = (
    _text("file", "Where it lies.", Kind.PATH),
    _text("shot", "Shot of a video; empty for a still.", Kind.WHOLE),
    _text("frame", "The frame that was looked at; empty for a still.", Kind.WHOLE),
    _text("timecode", "Where the shot begins."),
    _text("field", "subject, size, people, shot type or flags."),
    _text("confirmed", "What a person said."),
    _text("measured", "What was measured."),
    _text("agrees", "yes or no."),
    _text("vocabulary", "Of a size."),
    Column(name="crop_level", kind=Kind.NUMBER, unit="fraction of stature", meaning="", decimals=3),
    Column(name="size_confidence", kind=Kind.NUMBER, unit="0 to 1", meaning="", decimals=2),
)


def agreement_lines(
    compared: Sequence[Compared], sizes: Mapping[str, str], worst: int
) -> list[str]:
    """Tables, shares and kappas, flags, and the worst cases.

    Args:
        compared: what a person has looked at.
        sizes: abbreviation by name, from wide to tight.
        worst: how many of the worst cases.
    """
    width, order = terminal_width(), list(sizes)
    looked = "1 frame or shot" if len(compared) == 1 else f"{len(compared)} frames and shots"
    lines = [f"{looked} that a person has looked at."]
    for field in _COMPARED:
        sized = in_vocabulary(compared, usual_vocabulary(compared))
        pairs = pairs_of(sized if field is Field.SIZE else compared, field)
        if pairs:
            agreement = compare_names(pairs, order if field is Field.SIZE else sorted_names(pairs))
            name = field.value
            if field is Field.SIZE:
                name += f" ({usual_vocabulary(compared)})"
            lines += ["", f"{name}: {_in_short(agreement)}", *_table(agreement, width, sizes)]
    lines += _flag_lines(compared)
    cases = worst_sizes(in_vocabulary(compared, usual_vocabulary(compared)), order)[:worst]
    if cases:
        lines += ["", "Sizes furthest off:", *table_lines(map(_case, cases), width)]
    return lines


def sorted_names(pairs: Sequence[tuple[str, str]]) -> list[str]:
    """The names in their order: numbers by size, words by the alphabet."""
    names = {name for pair in pairs for name in pair}
    return sorted(
        names, key=lambda name: (not name.isdecimal(), int(name) if name.isdecimal() else 0, name)
    )


def border_lines(proposal: BorderProposal) -> list[str]:
    """The proposed borders, before and after, and what they can be expected to gain."""
    width = terminal_width()
    frames = f"{proposal.frames} confirmed sizes with a reading"
    if not proposal.moves:
        return wrapped(
            f"Borders: of {frames}, {proposal.right_before} are named as confirmed; no move of a "
            "border would name more of them so.", width, "",
        )  # fmt: skip
    rows = [
        (
            f"{move.wider} | {move.tighter}",
            f"{move.before:.3f} -> {move.after:.3f}",
            f"{move.frames} frames there, misnamed {move.wrong_before} before, "
            f"{move.wrong_after} after",
        )
        for move in proposal.moves
    ]
    gain = (
        f"Of {frames}, {proposal.right_before} are named as confirmed before, "
        f"{proposal.right_after} after; {proposal.held_out} when each is judged by borders that "
        "were fitted without it, which is what to expect of further frames."
    )
    hint = ""
    if (proposal.held_out or 0) <= proposal.right_before:
        hint = " That is no gain: confirm more frames before you use them."
    return [
        "Borders that would fit this naming better (nothing has been changed; --write keeps them):",
        *table_lines(rows, width),
        *wrapped(gain + hint, width, ""),
    ]


def _in_short(agreement: Agreement) -> str:
    kappa = "not defined" if agreement.kappa is None else f"{agreement.kappa:.2f}"
    share = 0.0 if agreement.share is None else agreement.share
    return f"{agreement.count} compared, {share * 100:.0f} % agree, kappa {kappa}"


def _table(agreement: Agreement, width: int, short: Mapping[str, str]) -> list[str]:
    """Rows measured, columns confirmed; with many names the cells that are not empty, as a list.

    Args:
        agreement: the counts.
        width: of the terminal.
        short: what stands above the columns of names that are long.
    """
    names = [printable(name) for name in agreement.names]
    heads = [printable(short.get(name) or name) for name in agreement.names]
    first = max(len("measured"), *map(columns_of, names)) + 2
    sizes = [max(columns_of(head), 3) + 2 for head in heads]
    if first + sum(sizes) + 4 > width:
        return _cells(agreement, width)
    head = padded("  measured", first + 2) + "".join(
        name.rjust(size) for name, size in zip(heads, sizes, strict=True)
    )
    rows = [
        "  " + padded(name, first) + "".join(
            (str(count) if count else "·").rjust(size)
            for count, size in zip(row, sizes, strict=True)
        )
        for name, row in zip(names, agreement.table.tolist(), strict=True)
        if any(row)
    ]  # fmt: skip
    return ["  columns: confirmed", head, *rows]


def _cells(agreement: Agreement, width: int) -> list[str]:
    cells = [
        (str(count), one, f"confirmed as {other}")
        for one, row in zip(agreement.names, agreement.table.tolist(), strict=True)
        for other, count in zip(agreement.names, row, strict=True)
        if count
    ]
    return table_lines(cells, width)


def _flag_lines(compared: Sequence[Compared]) -> list[str]:
    pairs = [
        (one.measured[Field.FLAGS].split("; "), one.confirmed[Field.FLAGS].split("; "))
        for one in compared
        if Field.FLAGS in one.confirmed
    ]
    if not pairs:
        return []
    cleaned = [([p for p in a if p], [p for p in b if p]) for a, b in pairs]
    rows = [
        (one.part, f"{one.both} both", f"{one.measured_only} measured only",
         f"{one.confirmed_only} confirmed only")
        for one in compare_flags(cleaned)
    ]  # fmt: skip
    same = sum(set(one) == set(other) for one, other in cleaned)
    head = f"flags: {len(cleaned)} compared, {same / len(cleaned) * 100:.0f} % agree in all parts"
    return ["", head, *table_lines(rows, terminal_width())]


def _case(one: Compared) -> tuple[str, str]:
    place = one.file.replace("\\", "/").rsplit("/", 1)[-1]
    where = place if one.shot is None else f"{place} shot {one.shot} {one.timecode}".rstrip()
    cut = "" if one.crop_level is None else f", cut {one.crop_level:.2f}"
    sure = "" if one.sure is None else f", {one.sure * 100:.0f} % sure"
    words = (
        f"measured {one.measured[Field.SIZE] or 'nothing'}, confirmed {one.confirmed[Field.SIZE]}"
    )
    return (where, f"{words}{cut}{sure}")
