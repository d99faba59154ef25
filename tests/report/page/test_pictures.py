"""Small pictures: their budget, and files that are not what was measured."""

import io

import numpy as np
import pytest
from PIL import Image

from framecheck.report.page.entries import gather_entries
from framecheck.report.page.pictures import encode_picture, make_pictures, picture_budget
from tests.report.catalogs import (
    STILLS,
    enter_clip,
    enter_still,
    judged,
    open_catalog,
    some_catalog,
)
from tests.report.figures import a_drawing_of


def noise(width, height):
    return np.random.default_rng(5).integers(0, 255, (height, width, 3), dtype=np.uint8)


def decoded(picture):
    return Image.open(io.BytesIO(picture.webp)).convert("RGB")


@pytest.mark.parametrize("budget", [6_000, 13_000, 60_000, 150_000])
def test_even_noise_stays_near_its_budget(budget):
    picture = encode_picture(noise(1280, 720), budget)
    assert len(picture.webp) <= max(budget, 16_000)  # the smallest step is taken whatever it needs
    assert decoded(picture).size == (picture.width_px, picture.height_px)


def test_plain_pictures_stay_large_and_keep_their_shape():
    picture = encode_picture(np.full((900, 1600, 3), 120, np.uint8), 13_000)
    assert picture.width_px / picture.height_px == pytest.approx(16 / 9, abs=0.02)
    assert picture.width_px >= 480
    small = encode_picture(np.full((40, 60, 3), 120, np.uint8), 13_000)
    assert (small.width_px, small.height_px) == (60, 40)


@pytest.mark.parametrize(("entries", "people"), [(1, 1), (18, 30), (2000, 2000), (2000, 8000)])
def test_pictures_leave_a_page_of_2000_shots_under_40_mb(entries, people):
    budget = picture_budget(entries, people)
    assert 5_000 <= budget <= 150_000
    words = entries * 1900 + people * 1100
    assert words + entries * budget * 4 / 3 < 40e6


def test_each_entry_shows_the_frame_that_was_measured(tmp_path):
    path = some_catalog(tmp_path)
    with open_catalog(path) as catalog:
        entries = gather_entries(catalog)
    told = []
    pictures = make_pictures(entries, told.append)
    assert set(pictures) == {entry.key for entry in entries}
    assert told[-1] == len(entries) == 9
    by_name = {entry.source.place.name: entry for entry in entries if entry.shot is None}
    for name, people in STILLS.items():
        wanted = Image.fromarray(a_drawing_of(judged(people)))
        shown = decoded(pictures[by_name[name].key])
        assert np.abs(np.asarray(shown, float) - np.asarray(wanted, float)).mean() < 6, name
    shots = [entry for entry in entries if entry.shot is not None]
    middles = [np.asarray(decoded(pictures[entry.key]), float).mean(axis=(0, 1)) for entry in shots]
    people = [STILLS["01 wide.jpg"], STILLS["03 two.png"], STILLS["04 chest.jpg"]]
    for mean, who in zip(middles, people, strict=True):
        assert mean == pytest.approx(a_drawing_of(judged(who)).mean(axis=(0, 1)), abs=6)


def test_a_file_that_has_gone_or_changed_has_no_picture_but_a_reason(tmp_path):
    path = some_catalog(tmp_path, clip=False)
    with open_catalog(path) as catalog:
        entries = gather_entries(catalog)
    (tmp_path / "media" / "01 wide.jpg").unlink()
    Image.fromarray(noise(64, 64)).save(tmp_path / "media" / "02 knees.jpg")
    pictures = make_pictures(entries, lambda _done: None)
    by_name = {entry.source.place.name: pictures[entry.key] for entry in entries}
    assert by_name["01 wide.jpg"].why == "the file is not where it was measured"
    assert by_name["02 knees.jpg"].why == "the file has changed since it was measured"
    assert by_name["04 chest.jpg"].webp


def test_whatever_one_file_does_the_others_have_their_pictures(tmp_path, monkeypatch):
    from framecheck.media import stills

    path = some_catalog(tmp_path, clip=False)
    with open_catalog(path) as catalog:
        entries = gather_entries(catalog)
    real = stills.read_still

    def odd(place):
        if place.name == "02 knees.jpg":
            raise KeyError("surprise")
        return real(place)

    monkeypatch.setattr(stills, "read_still", odd)
    pictures = make_pictures(entries, lambda _done: None)
    missing = [picture.why for picture in pictures.values() if not picture.webp]
    assert missing == ["it could not be shown (KeyError)"]


def test_a_file_with_a_new_date_alone_is_still_the_same(tmp_path):
    import os

    path = some_catalog(tmp_path, clip=False)
    with open_catalog(path) as catalog:
        entries = gather_entries(catalog)
    os.utime(tmp_path / "media" / "01 wide.jpg", (1, 1))
    pictures = make_pictures(entries[:1], lambda _done: None)
    assert pictures[entries[0].key].webp


def test_entries_come_by_place_then_by_shot_and_keep_their_keys(tmp_path):
    path = some_catalog(tmp_path)
    with open_catalog(path) as catalog:
        entries = gather_entries(catalog)
        names = [(entry.source.place.name, entry.row.get("shot")) for entry in entries]
        assert names == sorted(names, key=lambda one: (one[0], -1 if one[1] is None else one[1]))
        keys = [entry.key for entry in entries]
        assert len(set(keys)) == len(keys)
        enter_still(
            catalog, tmp_path / "media" / "01 wide.jpg", STILLS["01 wide.jpg"], fingerprint="new"
        )
        assert [entry.key for entry in gather_entries(catalog)] == keys
        assert len(gather_entries(catalog, tmp_path / "media")) == 9
        assert gather_entries(catalog, tmp_path / "elsewhere") == ()
        clip = next(entry for entry in entries if entry.number == 1)
        assert (clip.anchor, [person["person"] for person in clip.people]) == (42, [0, 1])
        enter_clip(catalog, tmp_path / "media" / "B.mp4", [(12, [])])
        empty = gather_entries(catalog)[-1]
        assert (empty.people, empty.row["people"]) == ((), 0)


def test_numbered_frames_show_the_frame_that_was_measured(tmp_path):
    import dataclasses

    from framecheck.catalog.content import frames_content_id

    files = []
    for number in range(8):
        path = tmp_path / f"take-{number:04}.png"
        Image.fromarray(np.full((60, 96, 3), 20 * number, np.uint8)).save(path)
        files.append(path)
    with open_catalog(some_catalog(tmp_path / "other", clip=True)) as catalog:
        shot = gather_entries(catalog)[-1]
    source = dataclasses.replace(
        shot.source, kind="frames", place=tmp_path / "take-####.png",
        content=frames_content_id(files),
    )  # fmt: skip
    entry = dataclasses.replace(shot, source=source, best={**shot.best, "frame": 5})
    pictures = make_pictures([entry], lambda _done: None)
    assert np.asarray(decoded(pictures[entry.key])).mean() == pytest.approx(100, abs=2)
    files[3].write_bytes(files[4].read_bytes())
    assert make_pictures([entry], lambda _done: None)[entry.key].why.startswith(
        "the file has changed"
    )
