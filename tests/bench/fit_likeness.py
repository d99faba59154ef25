"""Fit the weights of `framecheck.coverage.likeness` on rendered tuning sequences.

`python -m tests.bench.fit_likeness DIR...` reads measured sets of `tests.bench.cut_scenes` (see
`tests.bench.cuts`), takes every two pictures of people whose truth is known, and fits for each part
a weight and an offset by logistic regression. It prints the constants.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import sys
from pathlib import Path
from typing import Any

import numpy as np

from framecheck.catalog.catalog import CATALOG_NAME
from framecheck.coverage import likeness
from framecheck.records.looks import LOOK_PARTS, PersonLook
from framecheck.records.sequence import SequenceShot
from tests.bench.cuts import read_sequences

LEAST_WEIGHT, RIDGE, ROUNDS, RATE = 0.01, 0.002, 4000, 0.02
TURNS = (6.0, 22.0)
OTHERS = 3  # people of other sequences that each one is compared with
FARTHEST_WFRAC = 0.06


def people_of(
    truth: dict[str, Any], shots: tuple[SequenceShot, ...]
) -> list[tuple[str, PersonLook]]:
    """Who is who among the measured people, by the place of the eyes."""
    found = []
    for record, shot in zip(truth["shots"], shots, strict=True):
        for who, person in zip(record["who"], record["people"], strict=True):
            eyes = [person["marks_px"][f"eye_{side}"] for side in ("left", "right")]
            if None in eyes:
                continue
            x = (eyes[0][0] + eyes[1][0]) / 2 / record["width_px"]
            near = [p for p in shot.best.people if abs(p.x_wfrac - x) < FARTHEST_WFRAC]
            if near and near[0].look is not None:
                found.append((f"{truth['name']} {who}", near[0].look))
    return found


def pairs_of(folders: list[Path]) -> tuple[np.ndarray, np.ndarray]:
    """Distances (N, parts) and whether the two are one person (N,)."""
    distances, same = [], []
    rng = np.random.default_rng(3)
    for folder in folders:
        groups = [
            people_of(truth, shots)
            for truth, shots in read_sequences(folder, folder / "measured" / CATALOG_NAME)
        ]
        everybody = [person for group in groups for person in group]
        for group in groups:
            chosen = list(itertools.combinations(group, 2))
            for person in group:
                picks = rng.integers(0, len(everybody), OTHERS)
                chosen += [(person, everybody[pick]) for pick in picks]
            for one, other in chosen:
                looks = likeness.look_array([one[1], other[1]])
                distances.append(likeness.part_distances(looks[0], looks[1]))
                same.append(one[0] == other[0] if one[1] is not other[1] else True)
    return np.array(distances), np.array(same)


def fit(distances: np.ndarray, same: np.ndarray) -> tuple[np.ndarray, np.ndarray, float, float]:
    """Weights, offsets and prior, and the log loss; both outcomes count alike.

    Each part turns from for to against at a distance within `TURNS`, so that merely seeing a part
    says nothing.
    """
    seen = np.isfinite(distances)
    capped = np.where(seen, np.minimum(distances, likeness.CAPS), 0.0)
    share = np.where(same, 0.5 / same.sum(), 0.5 / (~same).sum())
    weights, turns, prior = np.full(len(LOOK_PARTS), 0.1), np.full(len(LOOK_PARTS), 12.0), 0.0
    for _ in range(ROUNDS):
        odds = prior + (seen * (turns - capped) * weights).sum(axis=1)
        gap = (1 / (1 + np.exp(-odds)) - same) * share
        slope = (gap[:, None] * seen * (turns - capped)).sum(axis=0)
        weights -= RATE * (slope / 10 + RIDGE * weights)
        turns -= 1000 * RATE * (gap[:, None] * seen * weights).sum(axis=0)
        prior -= 50 * RATE * gap.sum()
        weights, turns = np.maximum(weights, LEAST_WEIGHT), np.clip(turns, *TURNS)
    odds = prior + (seen * (turns - capped) * weights).sum(axis=1)
    loss = float((share * np.logaddexp(0, np.where(same, -odds, odds))).sum())
    right = float((share * ((odds > 0) == same)).sum())
    print(json.dumps({"pairs": len(same), "same": int(same.sum()), "loss": loss, "right": right}))
    return weights, turns * weights, float(prior), loss


def main(arguments: list[str] | None = None) -> int:
    """Command line entry."""
    parser = argparse.ArgumentParser(description="Fit how alike people are.")
    parser.add_argument("folders", type=Path, nargs="+")
    options = parser.parse_args(arguments)
    best = (math.inf, "")
    for light in (0.45, 0.6, 0.8, 1.0):
        likeness._AXES[0] = light  # the fit of the weights needs the axes as they will be
        weights, offsets, prior, loss = fit(*pairs_of(options.folders))
        told = (
            f"LIGHT_SHARE = {light}\nWEIGHTS = {tuple(float(w) for w in weights.round(3))}\n"
            f"OFFSETS = {tuple(float(t) for t in offsets.round(2))}\nPRIOR = {prior:.2f}"
        )
        best = min(best, (loss, told))
    print(best[1])
    return 0


if __name__ == "__main__":
    sys.exit(main())
