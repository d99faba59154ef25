"""Catalogs of drawn figures with real picture files behind them, made without any network."""

from __future__ import annotations

import dataclasses
from fractions import Fraction
from functools import lru_cache

import numpy as np
from PIL import Image

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.content import content_id
from framecheck.export.rows import row_of_file, row_of_shot, rows_of_frame
from framecheck.pipeline.settings import Settings, describe_settings, load_judging
from framecheck.pipeline.tables import catalog_layout
from framecheck.records.clips import ShotResult, ShotSpan, ShotSummary, SizeChange, Transition
from framecheck.records.judged import FileReport, FileStatus
from tests.report.figures import a_drawing_of, a_result

# Stature over the picture height and headroom: who is in each still.
STILLS = {
    "01 wide.jpg": [{"stature": 0.4, "crown": 0.3}],
    "02 knees.jpg": [{"stature": 1.22, "crown": 0.09}],
    "03 two.png": [
        {"stature": 2.0, "crown": 0.1, "x": 0.3},
        {"stature": 1.9, "crown": 0.12, "x": 0.7},
    ],
    "04 chest.jpg": [{"stature": 3.2, "crown": 0.08}],
    "05 low.jpg": [{"stature": 1.7, "crown": 0.3}],
    "06 nobody.jpg": [],
}
RATE = Fraction(24)


@lru_cache(maxsize=4)
def judging(vocabulary="trade"):
    return load_judging(Settings(vocabularies=(vocabulary,)))


def judged(people, *, file="a.jpg", wh=(480, 270), vocabulary="trade", **place):
    """A result as a run would have it of these figures."""
    result = a_result(*wh, people=people, file=file)
    judgement = judging(vocabulary).judge(result.measurement)
    return dataclasses.replace(result, judgement=judgement, **place)


def write_picture(path, result):
    image = Image.fromarray(a_drawing_of(result))
    image.save(path, quality=85) if path.suffix == ".jpg" else image.save(path)
    return path


def open_catalog(path):
    return Catalog.open(path, layout=catalog_layout(0))


def note(catalog, path):
    status = path.stat()
    content = content_id(path)
    catalog.remember_place(content, path, status.st_size, status.st_mtime_ns)
    return content


def enter_still(catalog, path, people, *, fingerprint="settings", vocabulary="trade", **more):
    """Draw, judge and enter one still; the number of its measurement."""
    result = judged(people, file=path.name, vocabulary=vocabulary, **more)
    if not path.exists():
        write_picture(path, result)
    content = note(catalog, path)
    catalog.describe_settings(fingerprint, describe_settings(judging(vocabulary), models="drawn"))
    number = catalog.begin(content, fingerprint, "still", "")
    assert number is not None
    frame, persons = rows_of_frame(result)
    catalog.add_shot(number, None, [frame], persons)
    catalog.finish(number, row_of_file(FileReport(file=path.name, status=FileStatus.MEASURED)))
    return number


def enter_clip(catalog, path, shots, *, fingerprint="settings"):
    """Enter a clip; `shots` are (frames long, people), measured in their middle and at their end.

    The file is a real video of drawn figures.
    """
    results = [judged(people, file=path.name) for _, people in shots]
    if not path.exists():
        write_video(
            path, [(length, result) for (length, _), result in zip(shots, results, strict=True)]
        )
    content = note(catalog, path)
    catalog.describe_settings(fingerprint, describe_settings(judging(), models="drawn"))
    number = catalog.begin(content, fingerprint, "clip", "")
    assert number is not None
    start = 0
    for shot, ((length, _), result) in enumerate(zip(shots, results, strict=True)):
        whole = a_shot_of(result, shot, start, start + length)
        pairs = [rows_of_frame(frame) for frame in whole.frames]
        catalog.add_shot(
            number, row_of_shot(whole), [frame for frame, _ in pairs],
            [row for _, rows in pairs for row in rows],
        )  # fmt: skip
        start += length
    report = FileReport(file=path.name, status=FileStatus.MEASURED)
    catalog.finish(number, row_of_file(report) | {"duration_s": start / 24, "rate_fps": 24.0})
    return number


def a_shot_of(result, shot, start, end):
    middle = (start + end) // 2
    frames = tuple(
        dataclasses.replace(result, shot=shot, frame=number, time_s=number / 24,
                            timecode=f"00:00:{number // 24:02}:{number % 24:02}")
        for number in (middle, end - 1)
    )  # fmt: skip
    sizes = result.judgement.sizes
    size = sizes[0] if sizes else None
    span = ShotSpan(
        shot=shot, start_frame=start, end_frame=end, start_s=start / RATE, end_s=end / RATE,
        transition=Transition.CUT if shot else Transition.START, clean_from_frame=start,
        clean_to_frame=end,
    )  # fmt: skip
    summary = ShotSummary(
        size=size, start_size=size, middle_size=size, end_size=size, size_change=SizeChange.STEADY,
        stability=1.0, subject_moves=False, people=len(result.measurement.people),
        shot_type=result.judgement.shot_type,
        flags=tuple(dict.fromkeys(flag.part for flag in result.judgement.flags)), frame=middle,
        samples=2,
    )  # fmt: skip
    return ShotResult(
        file=result.file, span=span, start_timecode=f"00:00:{start // 24:02}:{start % 24:02}",
        end_timecode=f"00:00:{end // 24:02}:{end % 24:02}", frames=frames, summary=summary,
    )  # fmt: skip


def write_video(path, parts):
    import av

    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=24)
        stream.width, stream.height, stream.pix_fmt = 480, 270, "yuv420p"
        for length, result in parts:
            picture = np.ascontiguousarray(a_drawing_of(result))
            for _ in range(length):
                container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        container.mux(stream.encode())


def some_catalog(folder, *, clip=True, stills=None):
    """A catalog of six stills and a clip of three shots, in a folder of its own."""
    media = folder / "media"
    media.mkdir(parents=True)
    path = folder / "framecheck.sqlite"
    with open_catalog(path) as catalog:
        for name, people in (STILLS if stills is None else stills).items():
            enter_still(catalog, media / name, people)
        if clip:
            shots = [
                (24, STILLS["01 wide.jpg"]),
                (36, STILLS["03 two.png"]),
                (12, STILLS["04 chest.jpg"]),
            ]
            enter_clip(catalog, media / "A001 take 1.mp4", shots)
    return path
