"""What became of the mutants, by module, and the survivors that are known to be harmless."""

from __future__ import annotations

import dataclasses
import datetime
import json
import platform
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

KNOWN = Path(__file__).parent / "equivalent.toml"
LIVED = ("survived", "no tests")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Counts of mutants.

    Attributes:
        killed: a test failed, or the tests ran far too long.
        survived: no test failed, though one ran through it.
        untested: no test ran through it.
        equivalent: among both, those that are known to make no difference.
    """

    killed: int = 0
    survived: int = 0
    untested: int = 0
    equivalent: int = 0

    @property
    def tried(self) -> int:
        """All of them."""
        return self.killed + self.survived + self.untested

    @property
    def share(self) -> float:
        """Killed over those that make a difference; 1 where none does."""
        mattering = self.tried - self.equivalent
        return self.killed / mattering if mattering else 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Survivor:
    """A mutant that no test noticed.

    Attributes:
        change: the lines taken away and put in.
        reason: why it makes no difference, "" when it may make one.
    """

    name: str
    status: str
    change: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartScore:
    """One part, counted by module."""

    modules: dict[str, Tally]
    survivors: tuple[Survivor, ...]

    @property
    def total(self) -> Tally:
        """All modules together."""
        return _sum(self.modules.values())


Known = Mapping[tuple[str, str], str]
"""(function, change) to the reason why the change makes no difference."""


def score_part(found: Mapping[str, str], diffs: Mapping[str, str], known: Known) -> PartScore:
    """The counts by module, and the survivors that may matter.

    Args:
        found: mutant to what became of it.
        diffs: what the survivors change.
        known: those that make no difference.
    """
    survivors = tuple(
        _survivor(mutant, status, diffs[mutant], known)
        for mutant, status in found.items()
        if status in LIVED
    )
    harmless = {survivor.name for survivor in survivors if survivor.reason}
    modules: dict[str, Tally] = {}
    for mutant, status in found.items():
        module = module_of(mutant)
        one = Tally(
            killed=int(status not in LIVED),
            survived=int(status == "survived"),
            untested=int(status == "no tests"),
            equivalent=int(mutant in harmless),
        )
        modules[module] = _sum([modules.get(module, Tally()), one])
    return PartScore(
        modules=dict(sorted(modules.items())),
        survivors=tuple(one for one in survivors if not one.reason),
    )


def module_of(mutant: str) -> str:
    """`geometry.ruler` of `framecheck.geometry.ruler.x_level_at_point__mutmut_3`."""
    return mutant.rpartition(".")[0].partition(".")[2]


def function_of(mutant: str) -> str:
    """`geometry.ruler.level_at_point` of the same; `classify.advice._Search.clears` of a method."""
    name = mutant.rpartition(".")[2].partition("__mutmut_")[0]
    name = name.removeprefix("x").replace("ǁ", ".").lstrip(".")
    return f"{module_of(mutant)}.{name if '.' in name else name.removeprefix('_')}"


def change_of(diff: str) -> str:
    """The lines that a difference takes away and puts in, without their context."""
    lines = (line for line in diff.splitlines() if not line.startswith(("---", "+++", "@@")))
    return "\n".join(line[0] + " " + line[1:].strip() for line in lines if line[:1] in {"-", "+"})


def read_known(path: Path = KNOWN) -> Known:
    """The changes that are known to make no difference, from `equivalent.toml`."""
    if not path.exists():
        return {}
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    return {
        (row["function"], f"- {row['was']}\n+ {row['becomes']}"): row["reason"]
        for row in table.get("change", [])
    }


def write_result(path: Path, name: str, score: PartScore, digits: str) -> None:
    """The score of one part into a JSON file, with the date and what it was made with.

    What the file says of other parts stays.
    """
    result = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    result[name] = {
        "date": datetime.datetime.now(tz=datetime.timezone.utc).date().isoformat(),
        "mutmut": version("mutmut"),
        "python": platform.python_version(),
        "mutants": "all" if len(set(digits)) == 10 else f"number ends with one of {digits}",
        "total": _as_json(score.total),
        "modules": {module: _as_json(tally) for module, tally in score.modules.items()},
        "survivors": [{"name": s.name, "change": s.change} for s in score.survivors],
    }
    text = json.dumps(dict(sorted(result.items())), indent=1, ensure_ascii=False)
    path.write_text(text + "\n", encoding="utf-8")


def _as_json(tally: Tally) -> dict[str, float]:
    return {**dataclasses.asdict(tally), "share": round(tally.share, 4)}


def _sum(tallies: Iterable[Tally]) -> Tally:
    rows = [dataclasses.astuple(tally) for tally in tallies]
    killed, survived, untested, equivalent = (sum(column) for column in zip(*rows, strict=True))
    return Tally(killed=killed, survived=survived, untested=untested, equivalent=equivalent)


def _survivor(mutant: str, status: str, diff: str, known: Known) -> Survivor:
    change = change_of(diff)
    reason = known.get((function_of(mutant), change), "")
    return Survivor(name=mutant, status=status, change=change, reason=reason)
