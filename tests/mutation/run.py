"""Mutation checks on floors 0 to 3: `python -m tests.mutation.run`.

mutmut changes one thing at a time in a copy of the package (a comparison, an operator, a number, an
argument, a value that is returned) and runs the mirrored tests that reach it. A mutant that no test
notices is a behaviour that is not tested, or one that makes no difference ("equivalent.toml").
With --constants, numbers outside of functions are changed instead.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.mutation.constants import find_nudges, run_nudges
from tests.mutation.parts import PARTS, ROOT
from tests.mutation.sandbox import MutationError, make_sandbox
from tests.mutation.score import PartScore, read_known, score_part, write_result

DIGITS = "0123456789"


def main(words: Sequence[str] | None = None) -> int:
    """Run the check, print the scores, and write them when asked."""
    options = _read_options(words)
    check = check_constants if options.constants else check_part
    for name in options.parts:
        print(f"{name} ...", flush=True)
        try:
            score = check(name, options.last_digits, only=options.only)
        except MutationError as error:
            print(error)
            return 1
        _tell(name, score, survivors=options.survivors)
        if options.write:
            key = f"{name}, numbers outside of functions" if options.constants else name
            write_result(Path(options.write), key, score, options.last_digits)
    return 0


def check_part(name: str, digits: str, *, only: Sequence[str] = ()) -> PartScore:
    """The score of one part.

    Args:
        name: of the part.
        digits: mutants are numbered within their function; those whose number ends with one of
            these are run, so that a part of them is the same part every time.
        only: names under the package, as `geometry.ruler`; none for the whole part.
    """
    part = PARTS[name]
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        box = make_sandbox(
            ROOT, Path(folder) / name, sources=part.sources, tests=part.tests, package="framecheck"
        )
        found = box.run([f"framecheck.{one}*[{digits}]" for one in only or [name]])
        lived = [mutant for mutant, status in found.items() if status in ("survived", "no tests")]
        return score_part(found, box.diffs(lived), read_known())


def check_constants(name: str, digits: str, *, only: Sequence[str] = ()) -> PartScore:
    """The same for the numbers that stand outside of functions; each takes a run of the tests."""
    part = PARTS[name]
    found: dict[str, str] = {}
    diffs: dict[str, str] = {}
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        box = make_sandbox(
            ROOT, Path(folder) / name, sources=part.sources, tests=part.tests, package="framecheck"
        )
        for file in box.changed_modules(part.sources):
            module = ".".join(file.with_suffix("").parts)
            if only and module.partition(".")[2] not in only:
                continue
            every = find_nudges((box.root / file).read_text(encoding="utf-8"), module)
            nudges = [nudge for nudge in every if nudge.name[-1] in digits]
            likely = [f"{tests}/test_{file.stem}.py" for tests in part.tests]
            first = [path for path in likely if (box.root / path).exists()]
            found |= run_nudges(box.root, file, nudges, [*first, *part.tests])
            diffs |= {one.name: f"-{one.was}\n+{one.becomes}" for one in nudges}
    return score_part(found, diffs, read_known())


def _read_options(words: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all")
    parser.add_argument("--last-digits", default=DIGITS, help="147 for three mutants of ten")
    parser.add_argument("--only", action="append", default=[], help="a module, as geometry.ruler")
    parser.add_argument("--constants", action="store_true", help="numbers outside of functions")
    parser.add_argument("--survivors", action="store_true", help="show what was not noticed")
    parser.add_argument("--write", help="a file for the scores, JSON")
    options = parser.parse_args(words)
    options.parts = options.parts or list(PARTS)
    unknown = [part for part in options.parts if part not in PARTS]
    if unknown or not set(options.last_digits) <= set(DIGITS):
        parser.error(f"no part {unknown[0]!r}" if unknown else "--last-digits takes digits")
    return options


def _tell(name: str, score: PartScore, *, survivors: bool) -> None:
    for what, tally in (*score.modules.items(), (name, score.total)):
        print(
            f"{what}: {tally.killed} of {tally.tried} noticed, {tally.equivalent} make no "
            f"difference: {100 * tally.share:.1f} %",
            flush=True,
        )
    if survivors:
        for mutant in score.survivors:
            print(f"\n{mutant.name} ({mutant.status})\n{mutant.change}", flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
