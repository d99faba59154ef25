"""What a study of a sequence says: every cut, matching angles, the line, the scene as a whole."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from framecheck.records.values import Measured


class Verdict(str, Enum):
    """Whether two shots cut together."""

    COMFORTABLE = "comfortable"
    TOO_SIMILAR = "too similar"
    VERY_LARGE = "very large"
    NOT_JUDGED = "not judged"


class Direction(str, Enum):
    """Which way somebody looks or faces, as the viewer sees it."""

    LEFT = "left"
    RIGHT = "right"
    TO_LENS = "to lens"
    AWAY = "away"
    UNKNOWN = ""


class PairKind(str, Enum):
    """How the two sides of a conversation are shot."""

    EXTERNAL = "external"
    INTERNAL = "internal"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True, kw_only=True)
class CutThresholds:
    """Where an opinion about cuts begins. Common practice, or ours where it says so.

    Attributes:
        size_ratio_min: two sizes of one person should differ by this factor; 1.2 is the low end
            of the rule of 20 per cent.
        angle_min_deg: or the camera should have moved round the person by this much (the rule of
            30 degrees).
        size_ratio_large: from this factor on a cut works but startles; ours: more than two
            neighbouring sizes of the trade's names.
        neutral_look_deg: nearer to the lens than this nobody looks left or right; ours.
        setup_size_ratio, setup_angle_deg: shots of one person that differ by less are one set-up;
            ours.
        pair_size_ratio: the two sides of a conversation match up to this factor of head heights;
            ours, as are those that follow.
        pair_headroom_frac, pair_eye_line_frac: and up to these differences, picture heights.
        pair_look_room_wfrac: of the room ahead of the face, picture widths.
        pair_lens_height_deg: of the height of the lens as the face tells it.
        pair_closeness_deg: of the angle between look and lens.
    """

    size_ratio_min: float = 1.2
    angle_min_deg: float = 30.0
    size_ratio_large: float = 3.5
    neutral_look_deg: float = 6.0
    setup_size_ratio: float = 1.12
    setup_angle_deg: float = 12.0
    pair_size_ratio: float = 1.18
    pair_headroom_frac: float = 0.06
    pair_eye_line_frac: float = 0.05
    pair_look_room_wfrac: float = 0.10
    pair_lens_height_deg: float = 10.0
    pair_closeness_deg: float = 12.0

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            if not math.isfinite(value) or value < 0:
                raise ValueError(f"{field.name} must be a finite number >= 0, got {value}")
            if "ratio" in field.name and value < 1:
                raise ValueError(f"{field.name} must be 1 or more, got {value}")
        if self.size_ratio_large < self.size_ratio_min:
            raise ValueError(
                "size_ratio_large must not be below size_ratio_min, "
                f"got {self.size_ratio_large} and {self.size_ratio_min}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """Whether two pictures show the same person, by clothes, tones, place and size alone.

    Attributes:
        same: None when nobody can be compared.
        confidence: 0.5 (a guess) to 1.
    """

    same: bool | None
    confidence: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut.

    Attributes:
        cut: its number; it joins the shots of this number and of the next.
        person_from, person_to: letters of the people compared, "" for nobody.
        likeness: whether they are the same person.
        size_ratio: head height after over before, each over its picture height; > 1 goes nearer.
        angle_deg: how far the camera has moved round the person, 0..180, from head and body.
        place_change_wfrac: how far the face has moved across the picture, of its width; + right.
        height_change_frac: and down, of its height; + down.
        verdict: with `why` in one sentence and `advice` on what to try, "" when nothing.
        looks_from, looks_to: where the main subjects look.
        line_crossed: True when two people who face each other now look the same way, or one has
            turned round; `line_confidence` 0..1 and `line_why` go with it.
    """

    cut: int
    person_from: str
    person_to: str
    likeness: Likeness
    size_ratio: Measured
    angle_deg: Measured
    place_change_wfrac: Measured
    height_change_frac: Measured
    verdict: Verdict
    why: str
    advice: str
    looks_from: Direction
    looks_to: Direction
    line_crossed: bool = False
    line_confidence: float = 0.0
    line_why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mismatch:
    """One measure of a pair.

    Attributes:
        name: size, headroom, eye line, looking room, lens height or closeness.
        one, other: the readings of the two sides.
        difference: other minus one; for size the ratio other over one.
        limit: what is let pass. matches: None when it cannot be told.
        advice: which side to change and by how much; "" when it matches.
    """

    name: str
    one: Measured
    other: Measured
    difference: Measured
    limit: float
    matches: bool | None
    advice: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnglePair:
    """The two sides of a conversation.

    Attributes:
        person_one, person_other: letters. shots_one, shots_other: the shots of each set-up.
        kind: external (over the shoulder), internal (clean), or one of each.
        named: True when the user named the pair.
        measures: in a fixed order. matches: True when none is off.
    """

    person_one: str
    person_other: str
    shots_one: tuple[int, ...]
    shots_other: tuple[int, ...]
    kind: PairKind
    named: bool
    measures: tuple[Mismatch, ...]

    @property
    def matches(self) -> bool:
        """True when no measure is off."""
        return all(measure.matches is not False for measure in self.measures)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotReading:
    """One shot as the scene sees it.

    Attributes:
        number: in the cut. start_s: from the start of the sequence; None when lengths are unknown.
        person: letter of the main subject, "" for nobody; people: letters of all, in order.
        looks, faces: where the main subject's head and shoulders point.
        closeness_deg: between look and lens, seen from above; 0 straight into it.
        lens_height_deg: how far the lens lies under (+) or over (-) a level look, as the face
            tells it.
        head_frac: size as crown to chin over the picture height.
        external: True over a shoulder.
    """

    number: int
    start_s: float | None
    person: str
    people: tuple[str, ...]
    looks: Direction
    faces: Direction
    closeness_deg: Measured
    lens_height_deg: Measured
    head_frac: Measured
    external: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosenessTrend:
    """How near to the eyeline one person is shot as the sizes change.

    Attributes:
        person: letter. shots: how many can be told.
        wide_deg, tight_deg: median angle of the wider and of the tighter half.
        rank_correlation: Spearman's, of size with nearness to the eyeline; + when tighter shots
            are nearer.
    """

    person: str
    shots: int
    wide_deg: Measured
    tight_deg: Measured
    rank_correlation: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageGap:
    """A size that one person was shown in and another was not."""

    person: str
    size: str
    size_abbr: str
    shown_for: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How long shots last.

    Attributes:
        shots: how many have a length. total_s: of those.
        mean_s: total over shots, the average shot length of the literature.
        median_s, deviation_s: of the lengths (deviation over N - 1).
        log_spread: of the lognormal curve with that mean and median, sqrt(2 ln(mean / median)).
    """

    shots: int
    total_s: float
    mean_s: Measured
    median_s: Measured
    deviation_s: Measured
    log_spread: Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeCount:
    """One shot size in the scene.

    Attributes:
        shots: how many. per_500: the same for 500 shots, as style statistics count them.
        time_share: 0..1 of the length; of the shots where lengths are unknown.
    """

    size: str
    size_abbr: str
    shots: int
    per_500: float
    time_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SceneSummary:
    """The sequence as a whole.

    Attributes:
        shots, cuts: how many. lengths: of the shots.
        sizes: from wide to tight. shot_types: shots of each type.
        verdicts: cuts of each verdict.
        people: letter to how many shots show that person as the main subject.
        early_close: shots that are tight before anything wider was shown, in words.
        gaps: sizes that one of two sides lacks.
        closeness: a trend for each person.
        notes: what a reader should know.
    """

    shots: int
    cuts: int
    lengths: Lengths
    sizes: tuple[SizeCount, ...]
    shot_types: Mapping[str, int]
    verdicts: Mapping[str, int]
    people: Mapping[str, int]
    early_close: tuple[str, ...]
    gaps: tuple[CoverageGap, ...]
    closeness: tuple[ClosenessTrend, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SequenceStudy:
    """All that is said about one sequence.

    Attributes:
        name: of the sequence. thresholds: by which it was judged.
        readings: one a shot. cuts: one fewer.
    """

    name: str
    thresholds: CutThresholds
    readings: tuple[ShotReading, ...]
    cuts: tuple[Cut, ...]
    pairs: tuple[AnglePair, ...]
    scene: SceneSummary
