"""Make training samples for the mark corrector from rendered scenes with exact truth.

`python -m models.fit.make_samples SCENES... --out samples.npz --crops 5` measures every scene as it
is and cropped at random heights, so that every joint is met inside and outside the picture, and
keeps what the corrector sees beside where the marks really are. Tuning seeds only.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from framecheck.bench.truth import middle_px
from framecheck.measure.corrector import CHAIN, features_of, middles_px, stature_px
from framecheck.measure.head import measure_head
from framecheck.pose.estimator import MediaPipeEstimator
from framecheck.pose.models import provide_models
from framecheck.pose.networks import open_networks
from framecheck.records.picture import Picture
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box

ASPECTS = (4 / 3, 3 / 2, 16 / 9, 1.85, 2.39, 9 / 16)
MATCH_HEADS = 0.6


def read_truth(folder: Path) -> list[dict[str, Any]]:
    """The frames of one folder, from the document or from its line-by-line form."""
    document = folder / "truth.json"
    if document.exists():
        return list(json.loads(document.read_text("utf-8"))["frames"])
    lines = (folder / "truth.jsonl").read_text("utf-8").splitlines()
    return [json.loads(line) for line in lines]


def random_crop(frame: dict[str, Any], rng: np.random.Generator) -> Box | None:
    """A smaller frame around one person, its bottom edge at a random height of the body."""
    people = [p for p in frame["people"] if middle_px(p, "sole") is not None]
    if not people:
        return _any_crop(frame, rng)
    person = people[int(rng.integers(len(people)))]
    x, y, w, h = frame["picture_xywh_px"]
    crown, sole, eye = (middle_px(person, name) for name in ("crown", "sole", "eye"))
    assert crown is not None
    assert sole is not None
    assert eye is not None
    head_px = person["ruler"]["head_height_px"]
    bottom = rng.uniform(eye[1] + 0.3 * head_px, max(sole[1] * 1.02, eye[1] + head_px))
    # In one of four the edge cuts the head, as close-ups do.
    over = rng.uniform(-0.45, 0.0) if rng.random() < 0.25 else rng.uniform(-0.15, 2.0)
    top = crown[1] - over * head_px
    top, bottom = max(y, top), min(y + h, bottom)
    height = bottom - top
    width = min(w, height * ASPECTS[int(rng.integers(len(ASPECTS)))])
    left = np.clip(eye[0] - rng.uniform(0.25, 0.75) * width, x, x + w - width)
    if height < 120 or width < 120:
        return None
    return Box(
        x_px=float(int(left)), y_px=float(int(top)), w_px=float(int(width)), h_px=float(int(height))
    )


def _any_crop(frame: dict[str, Any], rng: np.random.Generator) -> Box:
    """A smaller frame anywhere in a picture of nobody."""
    x, y, w, h = frame["picture_xywh_px"]
    width, height = w * rng.uniform(0.4, 0.9), h * rng.uniform(0.4, 0.9)
    left, top = x + rng.uniform(0, w - width), y + rng.uniform(0, h - height)
    return Box(
        x_px=float(int(left)), y_px=float(int(top)), w_px=float(int(width)), h_px=float(int(height))
    )


def crops_of(frame: dict[str, Any], count: int, seed: int) -> Iterator[Box]:
    """The scene as it is, then random crops of it."""
    x, y, w, h = frame["picture_xywh_px"]
    yield Box(x_px=x, y_px=y, w_px=w, h_px=h)
    rng = np.random.default_rng([seed, int("".join(c for c in frame["file"] if c.isdigit()) or 0)])
    for _ in range(count):
        box = random_crop(frame, rng)
        if box is not None:
            yield box


def sample(
    person: PersonSeen, truths: list[dict[str, Any]], picture: Box
) -> tuple[Any, ...] | None:
    """One sample: features, true shifts in statures, raw marks, edge, unit; None if unmatched."""
    if person.body is None:
        return None
    head = measure_head(person)
    for truth in truths:
        eye, points = middle_px(truth, "eye"), [middle_px(truth, name) for name in CHAIN]
        if eye is None or any(point is None for point in points):
            continue
        if math.dist(eye, head.eye_px) > MATCH_HEADS * truth["ruler"]["head_height_px"]:
            continue
        raw = middles_px(person.body)
        unit_px = stature_px(head, raw)
        shifts = [
            (t - r) / unit_px
            for name, point in zip(CHAIN, points, strict=True)
            if point is not None
            for t, r in zip(point, raw[name], strict=True)
        ]
        edge = [(picture.bottom_px - raw[name][1]) / unit_px for name in CHAIN]
        chin = (picture.bottom_px - head.chin_px[1]) / unit_px
        return features_of(head, person.body, picture), shifts, [*edge, chin]
    return None


def main() -> None:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scenes", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--crops", type=int, default=5)
    parser.add_argument("--start", type=int, default=0)
    options = parser.parse_args()
    rows: list[tuple[Any, ...]] = []
    groups: list[str] = []
    with open_networks(provide_models()) as networks:
        estimator = MediaPipeEstimator(networks)
        for folder in options.scenes:
            for number, frame in enumerate(read_truth(folder)[options.start :]):
                bgr = cv2.imread(str(folder / frame["file"]))
                for box in crops_of(frame, options.crops, seed=len(groups)):
                    whole = Picture(rgb=np.ascontiguousarray(bgr[:, :, ::-1]), active=box)
                    for person in estimator.see(whole):
                        row = sample(person, frame["people"], box)
                        if row is not None:
                            rows.append(row)
                            groups.append(f"{folder.name}/{frame['file']}")
                if number % 50 == 0:
                    print(folder.name, number, len(rows), flush=True)
    np.savez_compressed(
        options.out, x=np.array([r[0] for r in rows]), y=np.array([r[1] for r in rows]),
        edge=np.array([r[2] for r in rows]), group=np.array(groups),
    )  # fmt: skip


if __name__ == "__main__":
    main()
