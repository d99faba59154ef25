"""A page of many shots with pictures as heavy as a page of so many allows."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.sources import Source
from framecheck.export.rows import row_of_shot, rows_of_frame
from framecheck.report.page.compose import PageParts, compose_page
from framecheck.report.page.entries import Entry
from framecheck.report.page.pictures import encode_picture, picture_budget
from framecheck.report.page.render import render_page
from tests.report.catalogs import a_shot_of, judged, judging
from tests.report.figures import a_drawing_of

SHOTS_OF_A_CLIP = 50
_UNLIKE = 40


def a_page_of_many(count):
    """The page of `count` shots of fifty-shot clips, each with one to three people."""
    rng = np.random.default_rng(3)
    results = [_a_result(rng) for _ in range(_UNLIKE)]
    entries = [_an_entry(number, results[number % _UNLIKE]) for number in range(count)]
    budget = picture_budget(count, sum(len(entry.people) for entry in entries))
    pictures = [_a_picture(result, rng, budget) for result in results]
    parts = PageParts(
        title=f"{count} shots", entries=entries, studies=(), vocabulary=judging().vocabularies[0],
        ranges=judging().ranges, version="test", written="2020-02-02",
    )  # fmt: skip
    shown = {entry.key: pictures[number % _UNLIKE] for number, entry in enumerate(entries)}
    return render_page(compose_page(parts, shown))


def _a_result(rng):
    people = [
        {"stature": float(rng.uniform(0.5, 4.0)), "crown": float(rng.uniform(0.02, 0.3)),
         "x": float(rng.uniform(0.2, 0.8))}
        for _ in range(rng.integers(1, 4))
    ]  # fmt: skip
    return judged(people, wh=(1280, 720))


def _a_picture(result, rng, budget):
    """Grain makes a drawing as hard to pack as footage is."""
    grain = rng.normal(0, 14, (720, 1280, 1))
    return encode_picture(np.clip(a_drawing_of(result) + grain, 0, 255).astype(np.uint8), budget)


def _an_entry(number, result):
    clip, shot = divmod(number, SHOTS_OF_A_CLIP)
    whole = a_shot_of(result, shot, 48 * shot, 48 * shot + 48)
    pairs = [rows_of_frame(frame) for frame in whole.frames]
    frames = tuple(frame | {"confirmed": ""} for frame, _ in pairs)
    source = Source(
        place=Path(f"/rushes/day {clip % 4}/A{clip:03} take {clip % 7}.mov"),
        content=f"content{clip}",
        size_bytes=1, mtime_ns=1, measurement=MeasurementId(clip), kind="clip", fingerprint="f",
        described="{}",
    )  # fmt: skip
    return Entry(
        key=f"content{clip}-{shot}", source=source, shot=row_of_shot(whole), best=frames[0],
        frames=frames, people=tuple(pairs[0][1]), file={"duration_s": 100.0, "rate_fps": 24.0},
    )  # fmt: skip
