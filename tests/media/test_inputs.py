from __future__ import annotations

import os
from pathlib import Path

import pytest

from framecheck.media import inputs
from framecheck.media.inputs import find_inputs, search_inputs
from framecheck.media.names import shown_name


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with things of every kind, and the working folder."""
    for name in (
        "shot10.jpg", "shot2.JPG", "shot1.png", "notes.txt", ".hidden.jpg", "._shot1.png",
        "day 1/a.tif", "day 1/b.webp", "day 1/.trash/c.jpg", "day 2/写真.bmp", "day 2/clip.mp4",
        "day 10/d.jpeg", "empty/x.txt",
    ):  # fmt: skip
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.touch()
    monkeypatch.chdir(tmp_path)
    return tmp_path


ALL = [
    "day 1/a.tif", "day 1/b.webp", "day 2/clip.mp4", "day 2/写真.bmp", "day 10/d.jpeg",
    "shot1.png", "shot2.JPG", "shot10.jpg",
]  # fmt: skip


def names(found) -> list[str]:
    return [entry.path.as_posix() for entry in found]


def test_a_folder_gives_its_pictures_and_clips_in_natural_order(folder):
    found = find_inputs(["."])
    assert names(found) == ALL
    assert not any(entry.why for entry in found)
    assert names(find_inputs([str(folder)])) == [f"{folder.as_posix()}/{name}" for name in ALL]


def test_others_are_counted_and_hidden_ones_are_not(folder):
    assert search_inputs(["."]).ignored == 2


def test_a_named_file_is_found_whatever_its_suffix(folder):
    found = find_inputs(["notes.txt", ".hidden.jpg", "day 2/clip.mp4"])
    assert names(found) == ["notes.txt", ".hidden.jpg", "day 2/clip.mp4"]
    assert not any(entry.why for entry in found)


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("*.jpg", ["shot10.jpg"]),
        ("shot?.*", ["shot1.png", "shot2.JPG"]),
        ("shot[12].*", ["shot1.png", "shot2.JPG"]),
        ("day */*", [name for name in ALL if name.startswith("day")]),
        ("day ?", ["day 1/a.tif", "day 1/b.webp", "day 2/clip.mp4", "day 2/写真.bmp"]),
        ("*/*.mp4", ["day 2/clip.mp4"]),
        ("**/*.tif", ["day 1/a.tif"]),
        ("**/*.png", ["shot1.png"]),
        ("**", ALL),
        ("./**/*", ALL),
        ("day 1/**", ["day 1/a.tif", "day 1/b.webp"]),
        ("**/**/d.jp*", ["day 10/d.jpeg"]),
    ],
)
def test_patterns(folder, pattern, expected):
    found = find_inputs([pattern])
    assert names(found) == expected
    assert not any(entry.why for entry in found)


def test_an_absolute_pattern(folder):
    assert names(find_inputs([f"{folder}/day 1/*"])) == [
        f"{folder.as_posix()}/day 1/a.tif",
        f"{folder.as_posix()}/day 1/b.webp",
    ]


def test_a_file_whose_name_looks_like_a_pattern(folder):
    (folder / "a[1].jpg").touch()
    (found,) = find_inputs(["a[1].jpg"])
    assert (found.path.name, found.why) == ("a[1].jpg", "")


def test_each_once_in_the_order_of_the_arguments(folder):
    found = find_inputs(["shot2.JPG", ".", "shot2.JPG", str(folder / "shot1.png"), "./day 1/a.tif"])
    assert names(found) == ["shot2.JPG", *[name for name in ALL if name != "shot2.JPG"]]


def test_through_a_link_to_the_folder_each_is_still_found_once(folder):
    (folder / "again").symlink_to(folder / "day 1", target_is_directory=True)
    assert len(find_inputs(["."])) == len(ALL)


def test_two_links_to_one_file_are_two_inputs(folder):
    (folder / "day 2/copy.jpg").symlink_to(folder / "shot1.png")
    assert "day 2/copy.jpg" in names(find_inputs(["."]))


def test_loops_of_links_end(folder):
    (folder / "day 1/up").symlink_to(folder, target_is_directory=True)
    (folder / "day 1/self").symlink_to(folder / "day 1/self")
    (folder / "day 2/up").symlink_to(folder, target_is_directory=True)
    assert len(find_inputs(["."])) == len(ALL)
    assert len(find_inputs(["**/*"])) == len(ALL)


@pytest.mark.parametrize(
    ("argument", "why"),
    [
        ("gone.jpg", "no such file or folder"),
        ("empty", "no pictures or clips in this folder (1 file of other kinds)"),
        ("*.gif", "nothing matches this pattern"),
        ("nowhere/*.jpg", "nothing matches this pattern"),
        ("empty/*", "matches no picture or clip (1 file of other kinds)"),
        ("gone/take-####.png", "no such folder"),
        ("take-####.png", "no numbered frames match this pattern"),
        ("", "an empty name"),
        ("a\0b", "cannot be looked at: "),
        ("x" * 5000, "cannot be looked at: "),
    ],
)
def test_an_argument_that_names_nothing_gets_its_row(folder, argument, why):
    (found,) = find_inputs([argument])
    assert found.why.startswith(why)
    assert "\0" not in found.name


def test_links_that_point_nowhere(folder):
    (folder / "broken.jpg").symlink_to("gone.jpg")
    (folder / "circle.jpg").symlink_to("circle.jpg")
    by_name = {entry.path.name: entry.why for entry in find_inputs(["."])}
    assert by_name["broken.jpg"] == "a link that points to nothing"
    assert by_name["circle.jpg"].startswith("cannot be looked at")
    assert by_name["shot1.png"] == ""


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_is_told_without_opening_it(folder):
    os.mkfifo(folder / "day 1/pipe.jpg")
    whys = [entry.why for entry in find_inputs(["day 1"]) if entry.path.name == "pipe.jpg"]
    assert whys == ["not a file but a pipe, socket or device"]


def test_a_folder_that_cannot_be_read(folder, monkeypatch):
    real = os.scandir

    def refuse(path):
        if Path(path).name == "day 2":
            raise PermissionError(13, "Permission denied")  # as root really may read everything
        return real(path)

    monkeypatch.setattr(inputs.os, "scandir", refuse)
    found = find_inputs(["."])
    (trouble,) = [entry for entry in found if entry.why]
    assert trouble.path == Path("day 2")
    assert trouble.why == "folder cannot be read: Permission denied"
    assert len(found) == len(ALL) - 1  # a picture and a clip less, one trouble more


def test_hard_names(folder):
    for name in ("two\nlines.jpg", os.fsdecode(b"caf\xe9.jpg"), "tab\t.jpg", " .jpg"):
        try:
            (folder / "empty" / name).touch()
        except OSError:
            continue  # some file systems refuse undecodable names
    found = find_inputs(["empty"])
    assert len(found) >= 3
    for entry in found:
        assert entry.path.exists()
        assert entry.why == ""
        entry.name.encode("utf-8")
        assert entry.name.isprintable()


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("ein bild.jpg", "ein bild.jpg"),
        ("写真 é.jpg", "写真 é.jpg"),
        ("a\nb\tc\x1b[31m.jpg", r"a\nb\tc\x1b[31m.jpg"),
        ("caf\udce9.jpg", r"caf\xe9.jpg"),
        ("a\u2028b\u202eg.jpg", r"a\u2028b\u202eg.jpg"),
        ("lone\ud800.jpg", r"lone\ud800.jpg"),
    ],
)
def test_shown_names(name, shown):
    assert shown_name(name) == shown


@pytest.mark.parametrize(
    ("argument", "kinds"),
    [
        ("day 2", ["clip", "still"]),
        ("day 2/clip.mp4", ["clip"]),
        ("shot1.png", ["still"]),
        ("notes.txt", ["still"]),
        ("gone.MOV", ["clip"]),
        ("gone.png", ["still"]),
    ],
)
def test_kinds_are_told_by_the_suffix(folder, argument, kinds):
    assert [entry.kind for entry in find_inputs([argument])] == kinds


@pytest.fixture
def rows(folder):
    """Rows of numbered pictures, and some that are too few."""
    for name in (
        *(f"row/take-{number:04}.png" for number in range(1, 13)), "row/a clip.mov",
        "row/poster.jpg", *(f"few/x{number}.png" for number in range(7)),
        *(f"row/inner/{number}.jpg" for number in range(9, 18)),
    ):  # fmt: skip
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
    return folder


def test_numbered_pictures_are_stills_unless_asked_for(rows):
    found = find_inputs(["row"])
    assert [entry.kind for entry in found] == ["clip", *["still"] * 9, "still", *["still"] * 12]


@pytest.mark.parametrize("argument", ["row", "row/**", "r*"])
def test_rows_of_pictures_are_clips_when_asked_for(rows, argument):
    found = find_inputs([argument], frames_as_clip=True)
    assert [(entry.path.as_posix(), entry.kind, entry.why) for entry in found] == [
        ("row/a clip.mov", "clip", ""),
        ("row/inner/#.jpg", "frames", ""),
        ("row/poster.jpg", "still", ""),
        ("row/take-####.png", "frames", ""),
    ]


def test_too_few_stay_stills(rows):
    found = find_inputs(["few"], frames_as_clip=True)
    assert [entry.kind for entry in found] == ["still"] * 7


def test_a_pattern_with_number_signs_is_one_clip(rows):
    (found,) = find_inputs(["row/take-####.png"])
    assert (found.path.as_posix(), found.kind, found.why) == ("row/take-####.png", "frames", "")
    assert found.name == "row/take-####.png"
    (again,) = find_inputs(["row/take-####.png", str(rows / "row" / "take-####.png")])
    assert again == found


def test_a_file_with_a_number_sign_in_its_name_is_a_file(rows):
    (rows / "take #2.png").touch()
    (found,) = find_inputs(["take #2.png"])
    assert (found.kind, found.why) == ("still", "")


def test_rows_in_a_folder_with_a_number_sign(rows):
    (rows / "row").rename(rows / "row #1")
    found = find_inputs(["row #1"], frames_as_clip=True)
    assert [entry.kind for entry in found] == ["clip", "frames", "still", "frames"]
