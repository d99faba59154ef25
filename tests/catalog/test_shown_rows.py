"""What is read of a clip to show it: the frame that shows each shot best, and who is in it."""

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.layout import Layout
from framecheck.catalog.shown_rows import OF_EVERY_FRAME
from tests.catalog.builders import a_file_row, a_frame, a_person, a_shot


def enter(catalog, *shots):
    number = catalog.begin("content", "settings", "clip", "{}")
    for row, frames, people in shots:
        catalog.add_shot(number, row, frames, people)
    return number


def persons(shown):
    return [(row["frame"], row["person"]) for row in shown.people]


def test_the_frame_that_the_shot_names_and_the_people_in_it(catalog) -> None:
    people = [a_person(p, shot=0, frame=frame) for frame in (3, 50, 90) for p in (0, 1)]
    frames = [a_frame(0, frame, size=f"size {frame}") for frame in (3, 50, 90)]
    number = enter(catalog, (a_shot(0, frame=50), frames, people), (a_shot(1), [], []))
    first, second = catalog.shown_clip(number).shots
    assert first.best == {**catalog.rows(number).frames[1], "confirmed": None}
    assert first.best["size"] == "size 50"
    assert persons(first) == [(50, 0), (50, 1)]
    assert [frame["frame"] for frame in first.frames] == [3, 50, 90]
    assert set(first.frames[0]) == set(OF_EVERY_FRAME)
    assert (second.shot["shot"], second.best, second.frames, second.people) == (1, None, (), ())


def test_a_shot_that_names_no_measured_frame_is_shown_by_its_first(catalog) -> None:
    people = [a_person(0, shot=2, frame=frame) for frame in (7, 9)]
    frames = [a_frame(2, 7), a_frame(2, 9)]
    for name in (None, 8):
        number = enter(catalog, (a_shot(2, frame=name), frames, people))
        (shown,) = catalog.shown_clip(number).shots
        assert shown.best["frame"] == 7
        assert persons(shown) == [(7, 0)]
        catalog.fail(number, "stopped", "")


def test_more_shots_than_one_statement_asks_for(catalog) -> None:
    shots = [
        (a_shot(n, frame=3 * n), [a_frame(n, 3 * n), a_frame(n, 3 * n + 1)],
         [a_person(0, shot=n, frame=3 * n), a_person(1, shot=n, frame=3 * n + 1)])
        for n in range(502)
    ]  # fmt: skip
    with catalog.together():
        number = enter(catalog, *shots)
    shown = catalog.shown_clip(number).shots
    assert [shot.best["frame"] for shot in shown] == [3 * n for n in range(502)]
    assert [persons(shot) for shot in shown] == [[(3 * n, 0)] for n in range(502)]


def test_the_row_of_the_file_comes_when_the_clip_is_finished(catalog) -> None:
    number = enter(catalog, (a_shot(0), [a_frame(0)], []))
    assert catalog.shown_clip(number).file is None
    catalog.finish(number, a_file_row())
    assert catalog.shown_clip(number).file == a_file_row()


def test_names_with_stray_bytes_come_back_whole(catalog) -> None:
    stray = "caf\udce9.mov"
    number = enter(catalog, (a_shot(0, file=stray), [a_frame(0, file=stray)], []))
    (shown,) = catalog.shown_clip(number).shots
    assert (shown.shot["file"], shown.best["file"]) == (stray, stray)


def test_a_catalog_without_frames_shows_shots_alone(tmp_path) -> None:
    layout = Layout(shots=(("shot", "whole number"),))
    with Catalog.open(tmp_path / "b.sqlite", layout=layout) as catalog:
        number = enter(catalog, ({"shot": 0}, [], []))
        (shown,) = catalog.shown_clip(number).shots
        assert (shown.shot["shot"], shown.best, shown.people) == (0, None, ())
