"""Where contents lie: strange names, moved drives, copies, changes."""

import os
import sqlite3

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.search import FindQuery
from tests.catalog.builders import LAYOUT, a_frame, a_shot, lay_down, measure, measure_still, note

STRANGE = [
    "a\nb.mov", 'quo"te\'s.mov', "semi;colon -- DROP TABLE places.mov", "100%_[a-z]*?.mov",
    " leading and trailing .mov", "кадр.mov", "映像素材.mov", "لقطة.mov", "e\u0301 \u00e9.mov",
    os.fsdecode(b"byte \xe9\xff.mov"), "tab\tand\x1b[31mred.mov", "=cmd().mov", "😀.mov",
]  # fmt: skip


def places(catalog, **query):
    return [row["place"] for row in catalog.find(FindQuery(**query))]


@pytest.mark.skipif(os.name != "posix", reason="Windows allows fewer names")
def test_every_name_survives(tmp_path) -> None:
    path = tmp_path / os.fsdecode(b"folder \xe9") / "a\n#%?.sqlite"
    files = [
        lay_down(tmp_path / "in", name, name.encode("utf-8", "surrogateescape")) for name in STRANGE
    ]
    with Catalog.open(path, layout=LAYOUT) as catalog:
        for file in files:
            number = measure(catalog, file, [(a_shot(file=file.name), [])])
            assert catalog.rows(number).place == file
            assert catalog.rows(number).shots[0]["file"] == file.name
    with Catalog.open_to_read(path) as catalog:
        assert catalog.check() == ()
        assert sorted(places(catalog)) == sorted(map(str, files))
        for file in files:
            status = file.stat()
            assert catalog.known_content(file, status.st_size, status.st_mtime_ns) is not None
            assert catalog.holds_place(file)


def test_a_known_file_is_known_until_its_size_or_date_changes(tmp_path, catalog) -> None:
    file = lay_down(tmp_path, "a.mov", b"one")
    assert catalog.known_content(file, 3, file.stat().st_mtime_ns) is None
    content = note(catalog, file)
    status = file.stat()
    assert catalog.known_content(file, 3, status.st_mtime_ns) == content
    assert catalog.known_content(file, 4, status.st_mtime_ns) is None
    assert catalog.known_content(file, 3, status.st_mtime_ns + 1) is None


def test_relative_and_absolute_paths_are_one_place(tmp_path, catalog, monkeypatch) -> None:
    file = lay_down(tmp_path, "a.mov", b"one")
    content = note(catalog, file)
    monkeypatch.chdir(tmp_path)
    relative = file.relative_to(tmp_path)
    assert catalog.known_content(relative, 3, file.stat().st_mtime_ns) == content


def test_a_moved_drive_is_not_measured_again(tmp_path, catalog) -> None:
    mount, other = tmp_path / "mnt" / "drive", tmp_path / "media" / "drive"
    names = ["day_1/a.mov", "day_1/b.mov", "day_2/c.mov"]
    for name in names:
        file = lay_down((mount / name).parent, (mount / name).name, name.encode())
        measure(catalog, file, [(a_shot(), [])])
    assert places(catalog) == [str(mount / name) for name in names]
    other.parent.mkdir()
    mount.rename(other)
    # Away, but nowhere else seen: the catalog still tells where it was.
    assert places(catalog) == [str(mount / name) for name in names]
    for name in names:
        content = note(catalog, other / name)
        assert catalog.begin(content, "settings", "clip", "{}") is None
        there = catalog.lookup(content, "settings")
        assert (there.state.value, there.attempts) == ("measured", 1)
        assert catalog.rows(there.id).place == other / name
    assert places(catalog) == [str(other / name) for name in names]
    assert places(catalog, folder=mount) == []
    assert len(places(catalog, folder=other / "day_1")) == 2
    # And back again.
    other.rename(mount)
    note(catalog, mount / names[0])
    assert places(catalog) == [str(other / names[1]), str(other / names[2]), str(mount / names[0])]


def test_a_copy_is_listed_at_both_places_and_measured_once(tmp_path, catalog) -> None:
    one = lay_down(tmp_path / "one", "a.mov", b"film")
    other = lay_down(tmp_path / "other", "copy.mov", b"film")
    measure(catalog, one, [(a_shot(0), []), (a_shot(1), [])])
    content = note(catalog, other)
    assert catalog.begin(content, "settings", "clip", "{}") is None
    assert places(catalog) == [str(one)] * 2 + [str(other)] * 2
    assert places(catalog, folder=tmp_path / "other") == [str(other)] * 2
    # The copy is deleted, and the original seen again: it was there all the time.
    other.unlink()
    note(catalog, one)
    assert set(places(catalog, folder=tmp_path / "one")) == {str(one)}
    # The deleted one is struck off when a further place of the content is noted.
    note(catalog, lay_down(tmp_path / "third", "b.mov", b"film"))
    assert set(places(catalog)) == {str(one), str(tmp_path / "third" / "b.mov")}


def test_a_changed_file_is_another_content(tmp_path, catalog) -> None:
    file = lay_down(tmp_path, "a.mov", b"one")
    first = measure(catalog, file, [(a_shot(size="full", size_abbr="FS"), [])])
    file.write_bytes(b"two!")
    second = measure(catalog, file, [(a_shot(), [])])
    assert first != second
    (row,) = catalog.find(FindQuery())
    assert (row["place"], row["size"]) == (str(file), "medium")
    # What it was before is kept, and is back without measuring when the file is.
    file.write_bytes(b"one")
    assert catalog.begin(note(catalog, file), "settings", "clip", "{}") is None
    (row,) = catalog.find(FindQuery())
    assert row["size"] == "full"


def test_a_copy_that_then_changes_leaves_the_original_its_place(tmp_path, catalog) -> None:
    one = lay_down(tmp_path, "a.mov", b"film")
    other = lay_down(tmp_path, "b.mov", b"film")
    measure(catalog, one, [(a_shot(), [])])
    note(catalog, other)
    other.write_bytes(b"other film")
    measure_still(catalog, other, a_frame(size="full"))
    assert [(row["place"], row["size"]) for row in catalog.find(FindQuery())] == [
        (str(one), "medium"), (str(other), "full"),
    ]  # fmt: skip


def test_folders_of_numbered_frames_are_copied_and_moved_like_files(tmp_path, catalog) -> None:
    one, other, third = tmp_path / "one", tmp_path / "other", tmp_path / "third"
    for folder in (one, other):
        folder.mkdir()
        catalog.remember_place("frames content", folder, 100, 5)
    number = catalog.begin("frames content", "settings", "frames", "{}")
    catalog.add_shot(number, a_shot(), [a_frame()], [])
    assert places(catalog) == [str(one), str(other)]
    other.rename(third)
    catalog.remember_place("frames content", third, 100, 5)
    assert places(catalog) == [str(one), str(third)]


def test_noting_the_same_place_again_writes_nothing(tmp_path, catalog) -> None:
    file = lay_down(tmp_path, "a.mov", b"film")
    note(catalog, file)
    watcher = sqlite3.connect(catalog.path)
    seen = watcher.execute("PRAGMA data_version").fetchone()
    note(catalog, file)
    assert watcher.execute("PRAGMA data_version").fetchone() == seen
    note(catalog, lay_down(tmp_path, "b.mov", b"other"))
    assert watcher.execute("PRAGMA data_version").fetchone() != seen
    watcher.close()


def numbered(folder, count):
    """The pattern of so many frames in a folder, with their bytes and their latest date."""
    files = [lay_down(folder, f"take-{number:03}.png", b"frame") for number in range(count)]
    lay_down(folder, "take-notes.txt", b"no frame")
    statuses = [file.stat() for file in files]
    return (
        folder / "take-###.png",
        sum(status.st_size for status in statuses),
        max(status.st_mtime_ns for status in statuses),
    )


def test_a_copy_of_numbered_frames_is_a_place_beside_the_first(tmp_path, catalog) -> None:
    first, copy = numbered(tmp_path / "a", 5), numbered(tmp_path / "b", 5)
    catalog.remember_place("frames", *first)
    catalog.remember_place("frames", *copy)
    assert [catalog.known_content(*place) for place in (first, copy)] == ["frames"] * 2


def test_numbered_frames_that_were_changed_or_moved_have_lost_their_place(
    tmp_path, catalog
) -> None:
    changed, moved = numbered(tmp_path / "a", 5), numbered(tmp_path / "b", 5)
    catalog.remember_place("frames", *changed)
    catalog.remember_place("frames", *moved)
    (tmp_path / "a" / "take-004.png").unlink()
    (tmp_path / "b").rename(tmp_path / "c")
    there = (tmp_path / "c" / "take-###.png", *moved[1:])
    catalog.remember_place("frames", *there)
    known = [catalog.known_content(*place) for place in (changed, moved, there)]
    assert known == [None, None, "frames"]
