"""What a run is asked to do, and the data files that it judges by."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from dataclasses import dataclass
from fractions import Fraction
from importlib import resources
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from framecheck.classify.judge import judge_frame
from framecheck.classify.room import RoomRanges, parse_room_ranges
from framecheck.classify.thresholds import Thresholds, parse_thresholds
from framecheck.classify.vocabulary import Vocabulary, parse_vocabulary
from framecheck.classify.vocabulary_text import vocabulary_toml
from framecheck.errors import ConfigError
from framecheck.records.framing import FrameMeasurement
from framecheck.records.judged import FrameJudgement

DEFAULT_VOCABULARY = "trade"

_MEASURING_PARTS = (
    "units.py", "records", "geometry", "measure", "classify", "media", "shots", "pose",
    "pipeline/clip.py", "pipeline/clip_bars.py", "pipeline/measurer.py", "pipeline/scaling.py",
    "pipeline/shot.py", "pipeline/still.py", "pipeline/timecodes.py",
)  # fmt: skip

_DATA = resources.files("framecheck.classify") / "data"
_VOCABULARIES = _DATA / "vocabularies"
_ROOM_FILE = "headroom.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Everything about a run that changes its results.

    Attributes:
        vocabularies: names of packaged vocabularies or paths of TOML files, the chosen one first.
        thresholds: a TOML file with thresholds of the user's own.
        room: a TOML file with headroom and looking-room ranges of the user's own.
        models: a folder, wheel or `.task` file to take the models from.
        overlays: draw an annotated copy of every still.
        frames_as_clip: take pictures that are numbered in a row for one clip.
        frame_rate: frames a second of those.
    """

    vocabularies: tuple[str, ...] = (DEFAULT_VOCABULARY,)
    thresholds: Path | None = None
    room: Path | None = None
    models: Path | None = None
    overlays: bool = False
    frames_as_clip: bool = False
    frame_rate: Fraction = Fraction(24)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """The opinions of a run, loaded and checked."""

    vocabularies: tuple[Vocabulary, ...]
    thresholds: Thresholds
    ranges: RoomRanges

    def judge(self, measurement: FrameMeasurement) -> FrameJudgement:
        """Names, flags and advice for one measured picture."""
        return judge_frame(measurement, self.vocabularies, self.thresholds, self.ranges)

    def name(self, measurement: FrameMeasurement) -> FrameJudgement:
        """Names and flags alone, which is much quicker."""
        return judge_frame(
            measurement, self.vocabularies, self.thresholds, self.ranges, advised=False
        )


def load_judging(settings: Settings) -> Judging:
    """Read the vocabularies, thresholds and ranges that the settings name.

    Raises:
        ConfigError: one of them is not there, or has a mistake in it.
    """
    names = settings.vocabularies or (DEFAULT_VOCABULARY,)
    vocabularies = tuple(load_vocabulary(name) for name in names)
    _check_unlike(vocabularies)
    thresholds = Thresholds()
    if settings.thresholds is not None:
        thresholds = parse_thresholds(_read(settings.thresholds), str(settings.thresholds))
    room_text, room_name = (_DATA / _ROOM_FILE).read_text("utf-8"), _ROOM_FILE
    if settings.room is not None:
        room_text, room_name = _read(settings.room), str(settings.room)
    return Judging(
        vocabularies=vocabularies,
        thresholds=thresholds,
        ranges=parse_room_ranges(room_text, room_name),
    )


def load_vocabulary(name_or_file: str) -> Vocabulary:
    """A packaged vocabulary by its name, or one from a TOML file.

    Raises:
        ConfigError: there is no such name or file, or the file has a mistake in it.
    """
    if name_or_file in packaged_vocabulary_names():
        text = (_VOCABULARIES / f"{name_or_file}.toml").read_text("utf-8")
        return parse_vocabulary(text, name_or_file)
    path = Path(name_or_file)
    if path.suffix != ".toml" and not path.exists():
        names = ", ".join(packaged_vocabulary_names())
        raise ConfigError(
            f"no vocabulary {name_or_file!r}; choose from {names}, or name a .toml file",
            where=name_or_file,
        )
    return parse_vocabulary(_read(path), name_or_file)


def packaged_vocabulary_names() -> tuple[str, ...]:
    """The names of the vocabularies that come with the package, the default first."""
    names = {item.name[:-5] for item in _VOCABULARIES.iterdir() if item.name.endswith(".toml")}
    return tuple(sorted(names, key=lambda name: (name != DEFAULT_VOCABULARY, name)))


def own_version() -> str:
    """The version of the installed package."""
    try:
        return version("framecheck")
    except PackageNotFoundError:  # run from a source folder that was never installed
        return "0+source"


def settings_fingerprint(judging: Judging, *parts: object) -> str:
    """A short text that changes with anything that changes results, the same on every machine."""
    # The records are frozen and hold numbers and texts alone, so that repr tells all of them.
    whole = "\n".join(map(repr, (own_version(), _own_code(), judging, *parts)))
    return hashlib.sha256(whole.encode("utf-8", "surrogateescape")).hexdigest()[:16]


def describe_settings(judging: Judging, **parts: object) -> str:
    """The settings in words, as JSON, for whoever looks into a catalog later."""
    content = {
        "framecheck": own_version(),
        "vocabularies": [vocabulary.name for vocabulary in judging.vocabularies],
        "thresholds": dataclasses.asdict(judging.thresholds),
        "vocabulary_toml": vocabulary_toml(judging.vocabularies[0]),
        "room": dataclasses.asdict(judging.ranges),
        **parts,
    }
    return json.dumps(content, sort_keys=True)


def _own_code() -> str:
    """A checksum of what measures and judges: a version stands still while code is worked on."""
    folder = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256()
    for part in _MEASURING_PARTS:
        found = [folder / part] if part.endswith(".py") else sorted((folder / part).rglob("*"))
        for file in found:
            if file.suffix in {".py", ".json", ".onnx"}:
                digest.update(file.read_bytes())
    return digest.hexdigest()


def _check_unlike(vocabularies: tuple[Vocabulary, ...]) -> None:
    names = [vocabulary.name for vocabulary in vocabularies]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ConfigError(f"vocabulary {twice[0]!r} is named twice", where=twice[0])


def _read(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not a UTF-8 text"
        raise ConfigError(f"cannot read {path}: {reason}", where=str(path)) from error
