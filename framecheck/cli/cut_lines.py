"""A study of a sequence as lines for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePath

from framecheck.cli.lessons import LESSONS
from framecheck.cli.text import (
    Line,
    columns_of,
    duration_text,
    padded,
    printable,
    table_lines,
    wrapped,
)
from framecheck.records.coverage import (
    AnglePair,
    Cut,
    CutThresholds,
    SequenceStudy,
    Verdict,
)
from framecheck.records.sequence import SequenceShot
from framecheck.records.values import Measured, NotMeasured

MOST_CUTS = 40
"""A longer sequence lists only the cuts to look at, and at most so many."""
MOST_PAIRS = 8
_NAME, _LEAST_NAME = 24, 9
_NUMBERS = 6 + 2 + 2 + 2 + 13 + 1 + 7 + 1 + 5 + 2 + 11
"""Columns of a line about a cut, but for the two names."""
_WHO = 13


def study_lines(
    study: SequenceStudy, shots: Sequence[SequenceShot], width: int, *, explain: bool
) -> list[Line]:
    """Everything that the terminal says about a sequence."""
    sections = (
        ("Cuts", "cuts", _cut_section(study, shots, width)),
        ("The line", "line", _line_section(study, shots, width)),
        ("Matching angles", "pairs", _pair_section(study, width)),
        ("Closeness to the eyeline", "closeness", _closeness_section(study, width)),
        ("The scene", "scene", _scene_section(study, width)),
    )
    lines = [Line(text=text, style="bold") for text in wrapped(_headline(study), width, "  ", "")]
    lines += [Line(text=text) for text in _threshold_lines(study.thresholds, width)]
    for title, lesson, body in sections:
        lines += [Line(text=""), Line(text=title, style="bold"), *body]
        if explain:
            for part in LESSONS[lesson]:
                lines += [
                    Line(text=text, style="dim") for text in wrapped(part, width, "    ", "  i ")
                ]
    return lines


def _headline(study: SequenceStudy) -> str:
    scene = study.scene
    cuts = "1 cut" if scene.cuts == 1 else f"{scene.cuts} cuts"
    people = " ".join(scene.people) or "nobody"
    shots = "1 shot" if scene.shots == 1 else f"{scene.shots} shots"
    return f"{printable(study.name)}: {shots}, {cuts}, people {people}"


def _threshold_lines(thresholds: CutThresholds, width: int) -> list[str]:
    text = (
        f"Judged by: sizes of one person differ from {thresholds.size_ratio_min:g} times on, or "
        f"the angle from {thresholds.angle_min_deg:g} degrees on (common practice); very large "
        f"from {thresholds.size_ratio_large:g} times on (ours). --thresholds changes them."
    )
    return wrapped(text, width, "")


def _cut_section(study: SequenceStudy, shots: Sequence[SequenceShot], width: int) -> list[Line]:
    if not study.cuts:
        return [Line(text="  one shot only: there is no cut to judge")]
    verdicts = study.scene.verdicts
    counted = ", ".join(f"{count} {verdict}" for verdict, count in verdicts.items() if count)
    told = [cut for cut in study.cuts if len(study.cuts) <= MOST_CUTS or _is_worth(cut)]
    lines = _said(counted, width)
    if told:
        names = min(_NAME, (width - _NUMBERS) // 2)
        names = names if names >= _LEAST_NAME else 0  # a narrow terminal has no room for them
        lines.append(Line(text=_row(_HEAD, names), style="dim"))
        for cut in told[:MOST_CUTS]:
            style = _STYLES.get(cut.verdict, "")
            lines.append(Line(text=_row(_cut_cells(cut, shots), names), style=style))
            lines += [Line(text=more) for more in _advice_lines(cut, width)]
    left = len(study.cuts) - min(len(told), MOST_CUTS)
    if left:
        lines.append(Line(text=f"  {left} more cuts are in cuts.csv"))
    return lines


_HEAD = ("cut", "from", "to", "who", "size", "angle", "verdict")
_STYLES = {Verdict.TOO_SIMILAR: "yellow", Verdict.VERY_LARGE: "yellow"}


def _is_worth(cut: Cut) -> bool:
    return cut.verdict in {Verdict.TOO_SIMILAR, Verdict.VERY_LARGE} or cut.line_crossed


def _row(cells: tuple[str, ...], names: int) -> str:
    """One line of the table, its columns of fixed widths."""
    cut, before, after, who, size, angle, verdict = cells
    shown = (f"{padded(_shortened(name, names), names)}  " for name in (before, after))
    between = "".join(shown) if names else ""
    return f"{cut:>6}  {between}{who:<{_WHO}} {size:>7} {angle:>5}  {verdict}".rstrip()


def _cut_cells(cut: Cut, shots: Sequence[SequenceShot]) -> tuple[str, ...]:
    mark = "! " if _is_worth(cut) else ""
    return (
        f"{mark}{cut.cut}",
        _shot_name(shots[cut.cut]),
        _shot_name(shots[cut.cut + 1]),
        _who(cut),
        _times(cut.size_ratio),
        _degrees(cut.angle_deg),
        cut.verdict.value,
    )


def _shortened(name: str, width: int) -> str:
    """The name cut off in the middle, so that its number and its end are seen."""
    if columns_of(name) <= width:
        return name
    return f"{name[: width - 3 - width // 3]}...{name[-(width // 3) :]}"


def _advice_lines(cut: Cut, width: int) -> list[str]:
    lines = []
    if _is_worth(cut) or cut.verdict is Verdict.NOT_JUDGED:
        lines += wrapped(cut.why, width, "        ")
    if cut.advice:
        lines += wrapped(cut.advice, width, "        ", "      > ")
    return lines


def _who(cut: Cut) -> str:
    if cut.likeness.same is None:
        return f"{cut.person_from or '-'} ? {cut.person_to or '-'}"
    sure = f" {100 * cut.likeness.confidence:.0f}%"
    if cut.likeness.same:
        names = (
            cut.person_from
            if cut.person_from == cut.person_to
            else (f"{cut.person_from} = {cut.person_to}")
        )
        return f"same {names}{sure}"
    return f"{cut.person_from} > {cut.person_to}{sure}"


def _line_section(study: SequenceStudy, shots: Sequence[SequenceShot], width: int) -> list[Line]:
    crossed = [cut for cut in study.cuts if cut.line_crossed]
    if not crossed:
        return [Line(text="  no cut was found that crosses it")]
    lines = []
    for cut in crossed[:MOST_CUTS]:
        sure = f"{100 * cut.line_confidence:.0f} %"
        text = (
            f"cut {cut.cut} may cross it ({sure}): {cut.line_why}; from "
            f"{_shot_name(shots[cut.cut])} to {_shot_name(shots[cut.cut + 1])}"
        )
        lines += [Line(text=more, style="yellow") for more in wrapped(text, width, "    ", "  ! ")]
        lines += [
            Line(text=more)
            for more in wrapped(
                "put a shot on the line, a shot of both, or something else between; or take the "
                "reverse from the other side",
                width, "        ", "      > ",
            )
        ]  # fmt: skip
    return lines


def _pair_section(study: SequenceStudy, width: int) -> list[Line]:
    if not study.pairs:
        return _said("no two people were found between whom the sequence cuts to and fro", width)
    lines: list[Line] = []
    for pair in study.pairs[:MOST_PAIRS]:
        lines += _pair_lines(pair, width)
    if len(study.pairs) > MOST_PAIRS:
        lines.append(Line(text=f"  {len(study.pairs) - MOST_PAIRS} more pairs are in pairs.csv"))
    return lines


def _pair_lines(pair: AnglePair, width: int) -> list[Line]:
    sides = " and ".join(
        f"{person} (shot {', '.join(map(str, shots[:4]))}{', ...' if len(shots) > 4 else ''})"
        for person, shots in (
            (pair.person_one, pair.shots_one),
            (pair.person_other, pair.shots_other),
        )
    )
    word = "match" if pair.matches else "do not match"
    mark = " " if pair.matches else "!"
    style = "" if pair.matches else "yellow"
    head = f"{sides}, {pair.kind.value}: {word}"
    lines = [Line(text=text, style=style) for text in wrapped(head, width, "    ", f"  {mark} ")]
    for measure in pair.measures:
        if measure.matches is False:
            said = f"{measure.name}: {_reading(measure.name, measure.one)} and " + (
                f"{_reading(measure.name, measure.other)}"
            )
            lines += [Line(text=text) for text in wrapped(said, width, "        ")]
            lines += [Line(text=t) for t in wrapped(measure.advice, width, "        ", "      > ")]
    return lines


def _said(text: str, width: int) -> list[Line]:
    return [Line(text=line) for line in wrapped(text, width, "  ")]


def _reading(name: str, value: Measured) -> str:
    if isinstance(value, NotMeasured):
        return "-"
    if name in {"lens height", "closeness"}:
        return f"{value:.0f} degrees"
    base = "of the width" if name == "looking room" else "of the height"
    return f"{100 * value:.0f} % {base}"


def _closeness_section(study: SequenceStudy, width: int) -> list[Line]:
    rows = [("who", "wider half", "tighter half", "")]
    for trend in study.scene.closeness:
        if isinstance(trend.wide_deg, NotMeasured):
            continue
        rows.append(
            (
                trend.person,
                _degrees(trend.wide_deg),
                _degrees(trend.tight_deg),
                _trend_words(trend.rank_correlation),
            )
        )
    if len(rows) == 1:
        return _said("too few shots of anyone to see it move; scene.csv has each shot's", width)
    texts = table_lines(rows, width)
    return [Line(text=texts[0], style="dim"), *(Line(text=text) for text in texts[1:])]


def _trend_words(correlation: Measured) -> str:
    if isinstance(correlation, NotMeasured):
        return correlation.reason
    if correlation > 0.3:
        return "tighter shots are nearer to the eyeline, as is usual"
    if correlation < -0.3:
        return "tighter shots are farther from the eyeline than wider ones"
    return "size and nearness to the eyeline do not go together"


def _scene_section(study: SequenceStudy, width: int) -> list[Line]:
    scene, lines = study.scene, []
    lengths = scene.lengths
    if lengths.shots:
        lines.append(
            f"{lengths.shots} shots in {duration_text(lengths.total_s)}: average "
            f"{_seconds(lengths.mean_s)}, median {_seconds(lengths.median_s)}"
        )
    if scene.sizes:
        sizes = ", ".join(
            f"{printable(count.size_abbr or count.size)} {count.shots}" for count in scene.sizes
        )
        lines.append(f"sizes from wide to tight: {sizes}")
    whole = max(1, scene.shots)
    types = ", ".join(
        f"{name} {100 * count / whole:.0f} %" for name, count in scene.shot_types.items()
    )
    lines += [f"shot types: {types}"] if types else []
    lines += [f"{note}" for note in scene.early_close[:3]]
    lines += [
        f"never shown of {person}: {', '.join(sizes)}" for person, sizes in _gaps(study).items()
    ]
    lines += list(scene.notes)
    return [Line(text=text) for line in lines for text in wrapped(line, width, "    ", "  ")]


def _gaps(study: SequenceStudy) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for gap in study.scene.gaps:
        whose = ", ".join(gap.shown_for)
        said = f"{printable(gap.size_abbr or gap.size)} (shown of {whose})"
        found.setdefault(gap.person, []).append(said)
    return found


def _shot_name(shot: SequenceShot) -> str:
    name = printable(PurePath(shot.name).stem)
    return f"{shot.number} {name}" if shot.shot is None else f"{shot.number} {shot.start_timecode}"


def _times(value: Measured) -> str:
    if isinstance(value, NotMeasured):
        return "-"
    return f"{value:.2f} x"


def _degrees(value: Measured) -> str:
    return "-" if isinstance(value, NotMeasured) else f"{value:.0f}°"


def _seconds(value: Measured) -> str:
    """One decimal, two under 2 s, as average shot lengths are quoted (Salt)."""
    if isinstance(value, NotMeasured):
        return "-"
    return f"{value:.2f} s" if value < 2 else f"{value:.1f} s"
