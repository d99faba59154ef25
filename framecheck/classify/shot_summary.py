"""One label for a shot, from all its measured frames, each weighed by the time it stands for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import TypeVar

from framecheck.classify.shot_change import name_change, samples_in_motion, tell_movement
from framecheck.classify.shot_subject import SubjectAt, follow_subject
from framecheck.records.clips import ShotSpan, ShotSummary
from framecheck.records.judged import FrameResult, Severity, ShotType, SizeName

FLAGGED_SHARE = 0.5
"""A part counts as flagged in the shot from this share of the measured time on."""
SECOND_SHARE = 0.5
"""A second name that this share of the agreeing time tells is the second name of the shot."""
LEVEL_WEIGHT = 2.0
"""How much a crop level of 1 off the shot's own weighs against the confidence of a frame."""

_WORST_FIRST = (Severity.HIGH, Severity.MEDIUM, Severity.LOW)
_ENOUGH = 1e-9  # shares of a whole are sums of fractions

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sample:
    """One measured frame, with the share of the shot that it stands for."""

    index: int
    share: float
    middle: float
    result: FrameResult

    @property
    def size(self) -> SizeName | None:
        sizes = self.result.judgement.sizes
        return sizes[0] if sizes else None

    @property
    def name(self) -> str:
        return self.size.name if self.size else ""

    @property
    def people(self) -> int:
        return len(self.result.measurement.people)

    @property
    def shot_type(self) -> ShotType:
        return self.result.judgement.shot_type


def summarise_shot(span: ShotSpan, frames: Sequence[FrameResult]) -> ShotSummary:
    """The shot as a whole.

    Args:
        span: where the shot lies.
        frames: its measured frames, in order of time, at least one, each with its `frame` number
            and `time_s`.

    Returns:
        `size` is the name that most of the measured time agrees on, and its confidence the mean
        over the frames that agree. Its `second` is the next name in time, or else the second name
        that most of them tell.
    """
    if not frames:
        raise ValueError("a shot without a measured frame cannot be summarised")
    samples = _weigh(span, frames)
    subject = follow_subject(frames)
    size = _label(samples)
    name = size.name if size else ""
    summary = ShotSummary(
        size=size,
        start_size=_size_between(samples, 0.0, 1 / 3, near=0.0),
        middle_size=_size_between(samples, 1 / 3, 2 / 3, near=0.5),
        end_size=_size_between(samples, 2 / 3, 1.0, near=1.0),
        size_change=name_change(subject),
        stability=min(1.0, sum(sample.share for sample in samples if sample.name == name)),
        subject_moves=tell_movement(subject),
        people=_usual_count(samples),
        shot_type=_most((sample.shot_type, sample.share) for sample in samples),
        flags=_flags(samples),
        frame=0,
        samples=len(samples),
        notes=_notes(samples),
    )
    return replace(summary, frame=_best_frame(samples, subject, summary))


def time_shares(span: ShotSpan, times_s: Sequence[float]) -> list[float]:
    """The share of the shot that each frame stands for: what is nearer to it than to another."""
    edges = [float(span.start_s), *((a + b) / 2 for a, b in pairwise(times_s)), float(span.end_s)]
    lengths = [max(0.0, high - low) for low, high in pairwise(edges)]
    whole = sum(lengths)
    return [length / whole if whole > 0 else 1 / len(lengths) for length in lengths]


def _weigh(span: ShotSpan, frames: Sequence[FrameResult]) -> list[_Sample]:
    times_s = [frame.time_s or 0.0 for frame in frames]
    shares = time_shares(span, times_s)
    first_s, lasts_s = times_s[0], max(times_s[-1] - times_s[0], _ENOUGH)
    return [
        _Sample(index=i, share=share, middle=(time_s - first_s) / lasts_s, result=frame)
        for i, (share, time_s, frame) in enumerate(zip(shares, times_s, frames, strict=True))
    ]


def _most(weighed: Iterable[tuple[Key, float]]) -> Key:
    """The key with the most weight; of equals the one that came first."""
    weights: dict[Key, float] = defaultdict(float)
    for key, weight in weighed:
        weights[key] += weight
    most = max(weights.values())
    return next(key for key, weight in weights.items() if weight >= most - _ENOUGH)


def _usual_count(samples: Sequence[_Sample]) -> int:
    """The most usual number of people; of equals the larger, as people are sooner missed."""
    falling = sorted(samples, key=lambda sample: -sample.people)
    return _most((sample.people, sample.share) for sample in falling)


def _label(samples: Sequence[_Sample]) -> SizeName | None:
    named = [(sample.size, sample.share) for sample in samples if sample.size is not None]
    if not named:
        return None
    name = _most((size.name, share) for size, share in named)
    agreeing = [(size, share) for size, share in named if size.name == name]
    others = [(size.name, share) for size, share in named if size.name != name]
    whole = max(sum(share for _, share in agreeing), _ENOUGH)
    confidence = sum(size.confidence * share for size, share in agreeing) / whole
    second = _most(others) if others else ""
    if not others:
        told = _most((size.second, share) for size, share in agreeing)
        share = sum(share for size, share in agreeing if size.second == told)
        second = told if share >= SECOND_SHARE * whole - _ENOUGH else ""
    return replace(agreeing[0][0], confidence=min(1.0, confidence), second=second)


def _size_between(
    samples: Sequence[_Sample], low: float, high: float, *, near: float
) -> SizeName | None:
    """The size in one part of the shot, of the frame nearest to `near`; 0 first, 1 last frame."""
    inside = [sample for sample in samples if low - _ENOUGH <= sample.middle <= high + _ENOUGH]
    if not inside:  # so short a shot that nothing was measured there
        return min(samples, key=lambda sample: _off(sample, near)).size
    named = [sample for sample in inside if sample.size]
    return min(named, key=lambda sample: _off(sample, near)).size if named else None


def _off(sample: _Sample, near: float) -> float:
    """How far a frame is from a place; of two as far the earlier counts, wherever the shot lies."""
    return round(abs(sample.middle - near), 6)


def _flags(samples: Sequence[_Sample]) -> tuple[str, ...]:
    """Parts flagged most of the time: the most severe first, then the longest flagged."""
    shares: dict[str, float] = defaultdict(float)
    worst: dict[str, int] = {}
    for sample in samples:
        ranks: dict[str, int] = {}
        for flag in sample.result.judgement.flags:
            rank = _WORST_FIRST.index(flag.severity)
            ranks[flag.part] = min(rank, ranks.get(flag.part, rank))
        for part, rank in ranks.items():
            shares[part] += sample.share
            worst[part] = min(rank, worst.get(part, rank))
    usual = [part for part, share in shares.items() if share >= FLAGGED_SHARE - _ENOUGH]
    return tuple(sorted(usual, key=lambda part: (worst[part], -round(shares[part], 9), part)))


def _best_frame(
    samples: Sequence[_Sample], subject: Sequence[SubjectAt], summary: ShotSummary
) -> int:
    """The frame that shows the shot best.

    Before all it shows what the summary says, and nobody in fast motion; among those the reading
    nearest to the shot's own and the surest counts, then the nearness to the middle.
    """
    moving = samples_in_motion(subject)
    name = summary.size.name if summary.size else ""
    levels = {at.sample: at.crop_level for at in subject if at.crop_level is not None}
    agreeing = [levels[s.index] for s in samples if s.name == name and s.index in levels]
    own_level = median(agreeing) if agreeing else 0.0

    def goodness(sample: _Sample) -> tuple[int, float, float]:
        says_so = (
            4 * (sample.name == name)
            + 2 * (sample.shot_type is summary.shot_type)
            + (sample.people == summary.people)
        )
        off = abs(levels.get(sample.index, own_level) - own_level)
        sure = sample.size.confidence if sample.size else 0.0
        score = round(sure - LEVEL_WEIGHT * off, 6)
        return 2 * says_so + (sample.index not in moving), score, -_off(sample, 0.5)

    return max(samples, key=goodness).result.frame or 0


def _notes(samples: Sequence[_Sample]) -> tuple[str, ...]:
    notes = []
    if len(samples) == 1:
        notes.append("one frame measured")
    counts = [sample.people for sample in samples]
    if min(counts) != max(counts):
        notes.append(f"people counted: {min(counts)} to {max(counts)}")
    shares: dict[str, float] = defaultdict(float)
    for sample in samples:
        shares[sample.name or "none"] += sample.share
    if len(shares) > 1:
        told = sorted(shares.items(), key=lambda item: (-round(item[1], 9), item[0]))
        sizes = ", ".join(f"{name} {round(share, 9) * 100:.0f} %" for name, share in told)
        notes.append(f"sizes by time: {sizes}")
    elif "none" in shares:
        notes += [n for n in samples[0].result.judgement.notes if n.startswith("size not named")]
    return tuple(notes)
