"""Files at addresses: a web server and an object store on this machine, well-behaved and not."""

import io
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

pytest.importorskip("fsspec")
pytest.importorskip("aiohttp")

from framecheck.errors import CannotOpen, ConfigError, MediaError, OverLimit
from framecheck.media import remote
from framecheck.media.address import RemotePath
from framecheck.media.clips import open_clip
from framecheck.media.files import read_bytes
from framecheck.media.inputs import find_inputs
from framecheck.media.remote import open_remote, stat_remote
from framecheck.media.remote_inputs import NO_NUMBERED
from framecheck.media.remote_trouble import NoParts, RemoteTrouble
from framecheck.media.stills import read_still
from framecheck.pipeline.identify import identify
from tests.media.clip_builders import Recipe, a_clip
from tests.media.servers import SECRET, ObjectStore, WebServer


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A still, a clip of some 300 kB with its index at the end, and other things."""
    folder = tmp_path_factory.mktemp("served")
    random = np.random.default_rng(1)
    noise = random.integers(0, 256, (24, 144, 256, 3), dtype=np.uint8)
    a_clip(folder / "a.mp4", Recipe(frames=24), lambda number: noise[number])
    Image.fromarray(noise[0]).save(folder / "a.jpg")
    (folder / "empty.mp4").touch()
    (folder / "private.jpg").write_bytes((folder / "a.jpg").read_bytes())
    return folder


def shown_frames(path):
    with open_clip(path, "a clip") as clip:
        return [np.asarray(frame.picture().rgb) for frame in clip.frames()]


def why_of(address):
    (found,) = find_inputs([address])
    assert SECRET not in repr(found)
    return found.why


def test_a_still_and_a_clip_are_the_same_as_on_a_disk(folder):
    with WebServer(folder) as web:
        still = RemotePath(web.at("a.jpg"))
        assert read_bytes(still, 10**6) == (folder / "a.jpg").read_bytes()
        assert (read_still(still).rgb == read_still(folder / "a.jpg").rgb).all()
        there, here = shown_frames(RemotePath(web.at("a.mp4"))), shown_frames(folder / "a.mp4")
        assert len(there) == len(here) == 24
        assert all((a == b).all() for a, b in zip(there, here, strict=True))


def test_a_clip_is_read_in_parts_each_once_and_ahead(folder, monkeypatch):
    size = (folder / "a.mp4").stat().st_size
    block = size // 9
    monkeypatch.setattr(remote, "BLOCK_BYTES", block)
    with WebServer(folder) as web:
        shown_frames(RemotePath(web.at("a.mp4")))
        parts = [asked for method, _name, asked in web.asked if method == "GET"]
    starts = [int(part.removeprefix("bytes=").split("-")[0]) for part in parts]
    assert sorted(starts) == [n * block for n in range(10)]
    assert len(set(parts)) == len(parts) == 10


def test_the_content_is_told_as_that_of_a_copy(folder):
    with WebServer(folder) as web, WebServer(folder, parts=False, head=False) as stubborn:
        for name in ("a.jpg", "a.mp4"):
            here = identify((folder / name,))
            for server in (web, stubborn):
                there = identify((RemotePath(server.at(name)),))
                assert there.trouble is None
                assert there.content == here.content


def test_the_kind_is_told_by_name_or_by_what_the_server_says(folder):
    with WebServer(folder) as web:
        kinds = [found.kind for found in find_inputs([web.at("a.jpg"), web.at("a.mp4")])]
    assert kinds == ["still", "clip"]


def test_a_signed_address_that_allows_reading_alone(folder):
    """As object stores sign them: asking for the state is another permission."""
    with WebServer(folder, head=False) as web:
        assert why_of(web.at("private.jpg")) == ""
        assert read_still(RemotePath(web.at("private.jpg"))).rgb.shape == (144, 256, 3)


def test_an_address_with_a_name_and_a_password(folder, tmp_path):
    (tmp_path / "locked.jpg").write_bytes((folder / "a.jpg").read_bytes())
    with WebServer(tmp_path) as web:
        plain = web.at("locked.jpg", signed=False)
        assert why_of(plain) == "it may not be read; sign in by the settings of its library"
        (found,) = find_inputs([plain.replace("http://", f"http://me:{SECRET}@")])
        assert (found.name, found.why) == (plain, "")
        assert read_still(found.path).name == plain


@pytest.mark.parametrize(
    ("name", "signed", "words"),
    [
        ("no.jpg", True, "there is no such file"),
        ("private.jpg", False, "it may not be read; sign in by the settings of its library"),
        ("folder/", True, "web servers have no folders that can be listed; name each file"),
    ],
)
def test_what_cannot_be_had_is_said_in_words_without_a_signature(folder, name, signed, words):
    with WebServer(folder) as web:
        assert why_of(web.at(name, signed=signed)) == words
        if not name.endswith("/"):
            with pytest.raises(CannotOpen, match=words) as caught:
                read_still(RemotePath(web.at(name, signed=signed)))
            assert SECRET not in f"{caught.value}{caught.value.where}{caught.value.__cause__!r}"


def test_a_server_that_is_not_there(folder):
    with WebServer(folder) as web:
        address = web.at("a.jpg")
    assert why_of(address) == "its server cannot be reached"


def test_no_server_sends_us_anywhere_else(folder):
    with WebServer(folder) as other:
        elsewhere = other.at("a.jpg")
        with WebServer(folder, moved={"a.jpg": elsewhere, "b.mp4": "/a.mp4"}) as web:
            why = why_of(web.at("a.jpg"))
            assert why == (
                f"its server sends on to {other.at('a.jpg', signed=False)}, which is not followed; "
                "name that address instead"
            )
            with pytest.raises(CannotOpen, match="is not followed"):
                read_still(RemotePath(web.at("a.jpg")))
            with pytest.raises(CannotOpen, match="sends on to another place on it"):
                open_clip(RemotePath(web.at("b.mp4")), "b")
            assert {name for _method, name, _range in web.asked} == {"a.jpg", "b.mp4"}
        assert other.asked == []


def test_a_server_that_stumbles_is_asked_again_and_one_that_stays_away_is_not_for_ever(
    folder, monkeypatch
):
    monkeypatch.setattr(remote, "BLOCK_BYTES", 40_000)
    monkeypatch.setattr(remote, "PAUSES_S", (0.01, 0.01))
    with WebServer(folder, stumbles=2) as web:
        data = open_remote(RemotePath(web.at("a.mp4"))).read()
        assert data == (folder / "a.mp4").read_bytes()
        assert web.stumbles == 0
    with WebServer(folder, stumbles=1000) as web, pytest.raises(RemoteTrouble, match="code 503"):
        open_remote(RemotePath(web.at("a.mp4"))).read()
    assert 3 <= 1000 - web.stumbles <= 6


def test_a_server_without_parts_gives_stills_but_no_clips(folder):
    with WebServer(folder, parts=False) as web:
        assert (read_still(RemotePath(web.at("a.jpg"))).rgb.shape) == (144, 256, 3)
        with pytest.raises(CannotOpen, match="only whole, not in parts; copy it to a disk first"):
            open_clip(RemotePath(web.at("a.mp4")), "a.mp4")


def test_a_server_that_names_no_size(folder):
    with WebServer(folder, sizes=False, parts=False) as web:
        path = RemotePath(web.at("a.jpg"))
        assert stat_remote(path).st_size == -1
        assert read_bytes(path, 10**6) == (folder / "a.jpg").read_bytes()
        with pytest.raises(NoParts):
            open_remote(RemotePath(web.at("a.mp4")))
        with pytest.raises(OverLimit):
            read_bytes(path, 1000)


def test_too_large_a_still_is_not_fetched(folder):
    with WebServer(folder) as web:
        with pytest.raises(CannotOpen, match="more than the limit"):
            read_bytes(RemotePath(web.at("a.jpg")), 1000)
        assert {method for method, _name, _range in web.asked} == {"HEAD"}


def test_a_change_shows_in_the_state(folder, tmp_path):
    (tmp_path / "a.jpg").write_bytes(b"first")
    with WebServer(tmp_path) as web, WebServer(tmp_path, marks=False) as silent:
        path = RemotePath(web.at("a.jpg"))
        before = stat_remote(path)
        assert stat_remote(path) == before
        (tmp_path / "a.jpg").write_bytes(b"other")
        assert stat_remote(path).st_size == before.st_size
        assert stat_remote(path) != before
        assert stat_remote(RemotePath(silent.at("a.jpg"))).st_mtime_ns == 0
        assert -(2**63) <= before.st_mtime_ns < 2**63  # as the catalog keeps it


@pytest.mark.parametrize(
    "text",
    [
        "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n{0}\n#EXT-X-ENDLIST\n",
        "ffconcat version 1.0\nfile '{0}'\n",
        "<?xml version='1.0'?><MPD xmlns='urn:mpeg:dash:schema:mpd:2011'>"
        "<BaseURL>{0}</BaseURL></MPD>",
    ],
)
def test_a_playlist_at_an_address_reaches_nothing(folder, tmp_path, text):
    with WebServer(folder) as bait:
        (tmp_path / "a.mp4").write_text(text.format(bait.at("a.mp4")), "utf-8")
        with WebServer(tmp_path) as web, pytest.raises(CannotOpen, match="is not a clip that can"):
            open_clip(RemotePath(web.at("a.mp4")), "a.mp4")
        assert bait.asked == []


@pytest.mark.parametrize("kept", [0.2, 0.6, 0.95])
def test_a_clip_that_is_cut_off_at_an_address_fails_as_one_on_a_disk(folder, tmp_path, kept):
    data = (folder / "a.mp4").read_bytes()
    (tmp_path / "a.mp4").write_bytes(data[: int(len(data) * kept)])
    with WebServer(tmp_path) as web:
        words = [_failure(tmp_path / "a.mp4"), _failure(RemotePath(web.at("a.mp4")))]
    assert words[0] == words[1]


def _failure(path):
    with pytest.raises(MediaError) as caught:
        shown_frames(path)
    return type(caught.value), str(caught.value)


def test_an_empty_clip(folder):
    with WebServer(folder) as web, pytest.raises(CannotOpen, match="is empty"):
        open_clip(RemotePath(web.at("empty.mp4")), "empty.mp4")


@pytest.mark.parametrize("kind", ["https", "s3", "gs"])
def test_a_missing_library_is_named_with_the_way_to_get_it(monkeypatch, kind):
    for name in ("fsspec", "fsspec.implementations.http", "s3fs", "gcsfs", "aiohttp"):
        monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(ConfigError, match=r"pip install 'framecheck\[remote\]'"):
        find_inputs([f"{kind}://rushes/a.jpg"])


def test_one_address_named_twice_is_one_input(folder):
    with WebServer(folder) as web:
        assert len(find_inputs([web.at("a.jpg"), web.at("a.jpg")])) == 1
        first, second = find_inputs([web.at("a.jpg") + "&v=1", web.at("a.jpg") + "&v=2"])
    assert first.path != second.path


def test_a_file_of_a_disk_that_looks_like_an_address_is_read_from_the_disk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "http:").mkdir()
    Image.new("RGB", (32, 32)).save(tmp_path / "http:" / "a.jpg")
    (found,) = find_inputs(["http://a.jpg"])
    assert (found.why, found.path) == ("", Path("http:/a.jpg"))


@pytest.fixture(scope="module")
def bucket(folder):
    """An object store with a bucket, and what its library must know to reach it."""
    pytest.importorskip("moto")
    pytest.importorskip("s3fs")
    store, clip, still = ObjectStore(), (folder / "a.mp4").read_bytes(), b""
    with io.BytesIO() as buffer:
        Image.new("RGB", (64, 48), (9, 90, 200)).save(buffer, "JPEG")
        still = buffer.getvalue()
    with pytest.MonkeyPatch.context() as patch:
        for name, value in store.start().items():
            patch.setenv(name, value)
        store.fill(
            {
                "day 1/take10.mp4": clip, "day 1/take2.mp4": clip, "day 1/b/still?1#2.jpg": still,
                "day 1/notes.txt": b"n", "day 1/.hidden.jpg": still, "day 1/.old/c.jpg": still,
                "day 2/[x].jpg": still, "other/notes.txt": b"n",
            }
        )  # fmt: skip
        yield "s3://rushes"
        store.stop()


def test_a_folder_of_a_bucket_is_searched_as_one_on_a_disk(bucket):
    found = find_inputs([f"{bucket}/day 1"])
    assert [(one.name, one.kind, one.why) for one in found] == [
        (f"{bucket}/day 1/b/still?1#2.jpg", "still", ""),
        (f"{bucket}/day 1/take2.mp4", "clip", ""),
        (f"{bucket}/day 1/take10.mp4", "clip", ""),
    ]
    assert all(one.path.stat().st_size > 100 for one in found)


@pytest.mark.parametrize(
    ("text", "names", "why"),
    [
        ("/day 1/take2.mp4", ["day 1/take2.mp4"], ""),
        ("/*/take*.mp4", ["day 1/take2.mp4", "day 1/take10.mp4"], ""),
        ("/day 2/[x].jpg", ["day 2/[x].jpg"], ""),  # a key before a pattern
        ("/day 3", ["day 3"], "there is no such file or folder"),
        ("/day 1/z*.jpg", ["day 1/z*.jpg"], "no pictures or clips there (0 files of other kinds)"),
        ("/other", ["other"], "no pictures or clips there (1 file of other kinds)"),
        (
            "/take-####.png",
            ["take-####.png"],
            NO_NUMBERED,
        ),
    ],
)
def test_what_an_address_in_a_bucket_names(bucket, text, names, why):
    found = find_inputs([f"{bucket}{text}"])
    assert [one.name for one in found] == [f"{bucket}/{name}" for name in names]
    assert {one.why for one in found} == {why}


def test_a_bucket_that_is_not_there(bucket):
    assert why_of("s3://no-such-bucket-here/a.jpg") == "there is no such file or folder"


def test_a_store_that_lets_nobody_in(bucket, monkeypatch):
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.delenv(name)
    remote._filesystem(RemotePath(bucket + "/a")).clear_instance_cache()
    why = why_of(f"{bucket}/day 1")
    remote._filesystem(RemotePath(bucket + "/a")).clear_instance_cache()
    assert why == "no way to sign in was found; set it up for its library"


def test_a_clip_in_a_bucket_is_the_same_as_on_a_disk(bucket, folder, monkeypatch):
    monkeypatch.setattr(remote, "BLOCK_BYTES", 40_000)
    path = RemotePath(f"{bucket}/day 1/take2.mp4")
    assert all(
        (a == b).all()
        for a, b in zip(shown_frames(path), shown_frames(folder / "a.mp4"), strict=True)
    )
    assert identify((path,)).content == identify((folder / "a.mp4",)).content
    found, asked = find_inputs([str(path)])[0].path.stat(), stat_remote(path)
    assert found == asked  # a listing and a question give the same state
    listed = {str(one.path): one.path.stat() for one in find_inputs([f"{bucket}/day 1"])}
    assert listed[str(path)] == asked


def test_nothing_is_read_behind_the_end_of_a_file(bucket):
    with closing(open_remote(RemotePath(f"{bucket}/day 1/take2.mp4"))) as reader:
        assert reader.seek(0, 2) == reader.size_bytes
        assert reader.read(10) == b""
        reader.seek(reader.size_bytes - 5)
        assert len(reader.read(100)) == 5
        reader.seek(-7, 2)
        assert len(reader.read()) == 7
    with pytest.raises(RemoteTrouble, match="there is no such file"):
        open_remote(RemotePath(f"{bucket}/day 1/take3.mp4"))
