"""The limits by which shot boundaries are told, with what each is for."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

LENGTHS_GROWTH = 1.25
"""Each length of a dissolve that is tried over the one before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSettings:
    """What makes a step from one frame to the next a cut; times in seconds, for every rate.

    Attributes:
        levels: least jump of a cut, root mean square of the levels 0..255.
        ratio: least jump over the movement around it.
        sure_ratio: from this ratio on a jump is a cut even when the outlines are alike.
        moved_alike: correlation of the outlines from which a jump is a movement.
        apart: least distance of the frames before and after the jump, over the jump.
        around_s: how far around a cut movement and likeness are looked at.
        near_s: the part of it next to the cut whose movement counts in full.
        unlike_ratio: least jump over the movement around it for a cut out of a fast pan or into a
            shaking picture; such a jump must stand out from the steps right beside it
            (`unlike_beside`), be large (`unlike_levels`), and its two sides must share neither
            outlines nor brightness (`unlike_outlines`, `unlike_alike`).
        lit_alike, lit_outlines: correlations of brightness and of outlines from which a jump is
            the same picture in other light, as when a lamp is switched on.
    """

    levels: float = 4.0
    ratio: float = 2.4
    sure_ratio: float = 4.0
    moved_alike: float = 0.5
    apart: float = 0.5
    around_s: float = 0.25
    near_s: float = 0.085
    unlike_ratio: float = 1.5
    unlike_beside: float = 2.0
    unlike_levels: float = 8.0
    unlike_outlines: float = 0.3
    unlike_alike: float = 0.5
    lit_alike: float = 0.92
    lit_outlines: float = 0.7

    def around_frames(self, rate: Fraction) -> int:
        """How many frames on either side of a cut are looked at."""
        return max(4, round(self.around_s * float(rate)))


@dataclass(frozen=True, slots=True, kw_only=True)
class DissolveSettings:
    """What makes a stretch of frames a dissolve.

    No one sign tells a dissolve from a moving camera, so they are weighed together: the doubt is
    the weighted sum of the signs, less a share of the logarithm of the length in seconds, as a
    long even change is rarely chance. Weights by logistic regression on the tuning clips.

    Attributes:
        length_s: shortest and longest dissolve.
        levels: least difference of its two ends.
        bend: most that the shares of the mixture may stray from growing evenly.
        rest: most of a frame in it that is no mixture of the ends, over their difference.
        edges: most strength of the edges half way, over that at the ends: two pictures laid over
            each other show the edges of each at half the contrast.
        plain_edges: from this strength on the ends must not show the same outlines, moved
            (`moved_alike`, a correlation), as in a slow pan over large shapes.
        alike: most correlation of its ends: more is one picture in other light.
        lit_alike: correlation from which half of a dissolve is a change of light.
        bend_weight, rest_weight, edges_weight, alike_weight, length_weight: of the doubt.
        most_doubt: more is no dissolve.
    """

    length_s: tuple[float, float] = (0.2, 2.6)
    levels: float = 12.0
    bend: float = 0.17
    rest: float = 0.33
    edges: float = 0.95
    plain_edges: float = 0.72
    moved_alike: float = 0.5
    alike: float = 0.80
    lit_alike: float = 0.97
    bend_weight: float = 0.6
    rest_weight: float = 0.9
    edges_weight: float = 0.75
    alike_weight: float = 0.16
    length_weight: float = 0.26
    most_doubt: float = 0.97

    def lengths(self, rate: Fraction) -> tuple[int, ...]:
        """The lengths that are tried, in frames, from the shortest to the longest."""
        shortest, longest = (max(3, round(length_s * float(rate))) for length_s in self.length_s)
        lengths = [shortest]
        while lengths[-1] < longest:
            grown = max(lengths[-1] + 1, round(lengths[-1] * LENGTHS_GROWTH))
            lengths.append(min(longest, grown))
        return tuple(lengths)


@dataclass(frozen=True, slots=True, kw_only=True)
class FadeSettings:
    """What makes a way through frames that show nothing a fade, and not a flash.

    Attributes:
        flat_levels: most contrast of a frame that shows nothing.
        longest_s: longest way into or out of such frames.
        flash_s: longest flash, its rise and fall with it.
        flash_levels, flash_alike: distance and correlation of the pictures before and after it.
    """

    flat_levels: float = 3.0
    longest_s: float = 2.0
    flash_s: float = 0.6
    flash_levels: float = 14.0
    flash_alike: float = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundarySettings:
    """Limits of the whole search."""

    cut: CutSettings = CutSettings()
    dissolve: DissolveSettings = DissolveSettings()
    fade: FadeSettings = FadeSettings()
