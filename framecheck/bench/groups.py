"""The bench's figures by tag and by skin tone."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from framecheck.bench.score import Case, figures

TONE = "tone "
SHOWN = (
    "subject_found",
    "people_count_right",
    "crop_level_error_p90",
    "band_right",
    "yaw_error_deg_median",
    "facing_right",
)
TONE_SHARES = ("subject_found", "people_count_right", "band_right", "facing_right")
LEAST_FRAMES = 4


def by_tag(cases: Sequence[Case]) -> dict[str, dict[str, float]]:
    """All figures of the frames that bear each tag; tags of fewer than four frames are left out."""
    tags = sorted({tag for case in cases for tag in case.tags})
    groups = {tag: [case for case in cases if tag in case.tags] for tag in tags}
    return {tag: figures(group) for tag, group in groups.items() if len(group) >= LEAST_FRAMES}


def tone_differences(groups: dict[str, dict[str, float]]) -> dict[str, dict[str, float]]:
    """For every skin tone and every share: how far it lies from the mean of the tones."""
    tones = {tag: found for tag, found in groups.items() if tag.startswith(TONE)}
    means = {
        name: float(np.nanmean([found[name] for found in tones.values()]))
        for name in TONE_SHARES
        if any(not math.isnan(found[name]) for found in tones.values())
    }
    return {
        tone: {name: found[name] - mean for name, mean in means.items()}
        for tone, found in tones.items()
    }


def tag_text(ours: dict[str, dict[str, float]], naive: dict[str, dict[str, float]]) -> str:
    """A table by tag: each figure, and the naive baseline's after a stroke."""
    head = f"{'tag':26} {'frames':>6} " + " ".join(f"{name[:19]:>19}" for name in SHOWN)
    rows = [head]
    for tag, found in ours.items():
        other = naive.get(tag, {})
        cells = [f"{found[n]:9.3f} / {other.get(n, math.nan):7.3f}" for n in SHOWN]
        rows.append(f"{tag:26} {int(found['frames']):6d} " + " ".join(cells))
    return "\n".join(rows)


def tone_text(groups: dict[str, dict[str, float]]) -> str:
    """A table by skin tone: each share, its distance to the tones' mean in points, its error."""
    rows = [f"{'skin tone':12} {'frames':>6} " + " ".join(f"{n:>26}" for n in TONE_SHARES)]
    for tone, gaps in tone_differences(groups).items():
        found = groups[tone]
        cells = [_tone_cell(found[n], gaps.get(n, math.nan), found["frames"]) for n in TONE_SHARES]
        rows.append(f"{tone:12} {int(found['frames']):6d} " + " ".join(cells))
    return "\n".join(rows)


def _tone_cell(share: float, gap: float, frames: float) -> str:
    spread = math.nan if math.isnan(share) else max(share * (1 - share), 0.0)
    error = math.sqrt(spread / max(frames, 1))
    return f"{100 * share:7.1f} % {100 * gap:+6.1f} (se {100 * error:4.1f})"
