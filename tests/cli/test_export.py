"""`framecheck export` on results that fakes have measured."""

import csv
import os
import shutil

import numpy as np
import opentimelineio as otio
import pytest
from PIL import Image
from typer.testing import CliRunner

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.catalog.confirmed import Field
from framecheck.catalog.corrections import STILL_ANCHOR
from framecheck.cli.app import app
from framecheck.export.xmp_embed import embed
from framecheck.media.cut_order import read_cut_order
from framecheck.media.headers import kind_of
from tests.cli.results import some_results

pyexiv2 = pytest.importorskip("pyexiv2", reason="no wheel of Exiv2 for this machine")
ALL = ("otio", "edl", "xmp", "vtt", "csv", "jsonl", "parquet", "xlsx", "md")


def call(*words):
    return CliRunner().invoke(app, ["export", *map(str, words)])


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    return some_results(tmp_path_factory.mktemp("my results"))


@pytest.fixture
def media(results):
    return results.parent / f"{results.name} media"


def names_in(folder):
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def content_of(folder):
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_everything_at_once_leaves_media_and_results_alone(results, media, tmp_path) -> None:
    before = content_of(media)
    tables = {name: (results / name).read_bytes() for name in ("frames.csv", "shots.csv")}
    words = [word for name in ALL for word in ("--as", name)]
    done = call(results, *words, "--out", tmp_path / "my edit")
    assert done.exit_code == 0, done.stderr
    assert content_of(media) == before
    assert {name: (results / name).read_bytes() for name in tables} == tables
    found = names_in(tmp_path / "my edit")
    for name in ("A001 C002.otio", "B 7.edl", "B 7.vtt", "close-up é.xmp", "A001 C002.xmp",
                 "framecheck.xlsx", "summary.md", "frames.csv", "people.parquet",
                 "shots.schema.json"):  # fmt: skip
        assert name in found


def test_the_same_results_give_the_same_files(results, tmp_path) -> None:
    words = [word for name in ALL for word in ("--as", name)]
    for folder in ("a", "b"):
        assert call(results, *words, "--out", tmp_path / folder).exit_code == 0
    one, other = (content_of(tmp_path / folder) for folder in ("a", "b"))
    assert [one[path] for path in sorted(one)] == [other[path] for path in sorted(other)]


def test_timelines_point_at_the_media_from_where_they_lie(results, media, tmp_path) -> None:
    assert call(results, "--as", "otio", "--out", tmp_path / "x").exit_code == 0
    timeline = otio.adapters.read_from_file(str(tmp_path / "x" / "A001 C002.otio"))
    clips = list(timeline.find_clips())
    assert [clip.source_range.duration.value for clip in clips] == [48, 24, 36]
    url = clips[0].media_reference.target_url
    assert not url.startswith(("/", "file:"))
    assert "%20" in url
    assert clips[0].metadata["framecheck"]["size"] == clips[0].metadata["framecheck"]["size_start"]


def test_one_sequence_holds_stills_as_well(results, tmp_path) -> None:
    done = call(results, "--as", "otio", "--as", "edl", "--sequence", "day 3/4", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert names_in(tmp_path) == ["day 3_4.edl", "day 3_4.otio"]
    timeline = otio.adapters.read_from_file(str(tmp_path / "day 3_4.otio"))
    assert len(list(timeline.find_clips())) == 3 + 1 + 3
    assert timeline.name == "day 3/4"


def test_exports_from_a_catalog_and_of_a_part(results, media, tmp_path) -> None:
    done = call(results / CATALOG_NAME, "--as", "edl", "--file", "b*.CLIP", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert names_in(tmp_path) == ["B 7.edl"]
    other = call(results, "--as", "otio", "--folder", media.parent / "no", "--out", tmp_path)
    assert other.exit_code == 2
    assert "fits --folder" in other.stderr
    no_name = call(results, "--as", "otio", "--file", "z*.mov", "--out", tmp_path)
    assert no_name.exit_code == 2
    assert "fits --file 'z*.mov'" in no_name.stderr


def test_an_exported_list_is_a_cut_order(results, media, tmp_path) -> None:
    copy = tmp_path / "media"
    shutil.copytree(media, copy)
    assert call(results, "--as", "edl", "--out", copy).exit_code == 0
    order = read_cut_order(copy / "A001 C002.edl")
    assert [entry.file for entry in order.entries] == ["A001 C002.clip"] * 3


def xmp_of(path):
    with pyexiv2.Image(str(path)) as image:
        return image.read_xmp()


def test_sidecars_are_merged_and_never_overwritten(results, media, tmp_path) -> None:
    moved = tmp_path / "drive"
    shutil.copytree(media, moved)
    theirs = (
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF '
        'xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" '
        'xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmp:Rating="5"/></rdf:RDF></x:xmpmeta>'
    )
    (moved / "01 wide.xmp").write_text(theirs)
    (moved / "close-up é.xmp").write_text("not xml at all")
    words = (results, "--as", "xmp", "--media", moved, "--beside", "--out", tmp_path / "x")
    done = call(*words)
    assert done.exit_code == 3
    assert done.stderr.count("\n") == 1
    assert "cannot be merged" in done.stderr
    assert (moved / "close-up é.xmp").read_text() == "not xml at all"
    found = xmp_of(moved / "01 wide.xmp")
    assert found["Xmp.xmp.Rating"] == "5"
    assert found["Xmp.xmpDM.shotSize"]
    clip = xmp_of(moved / "A001 C002.xmp")
    assert clip["Xmp.xmpDM.Tracks[1]/xmpDM:markers[3]/xmpDM:startTime"] == "72"
    again = {path: path.read_bytes() for path in moved.glob("*.xmp")}
    call(*words)
    assert {path: path.read_bytes() for path in moved.glob("*.xmp")} == again


def test_sidecars_elsewhere_start_from_those_beside(results, media, tmp_path) -> None:
    done = call(results, "--as", "xmp", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert not list(media.glob("*.xmp"))
    assert names_in(tmp_path) == [
        "01 wide.xmp", "A001 C002.xmp", "B 7.xmp", "close-up é.xmp", "nobody.xmp",
    ]  # fmt: skip


@pytest.fixture
def real_stills(results, media, tmp_path):
    """The media with pictures in the place of the words that the fakes measured."""
    drive = tmp_path / "drive"
    shutil.copytree(media, drive)
    rng = np.random.default_rng(3)
    for path in drive.glob("*.jpg"):
        Image.fromarray(rng.integers(0, 255, (90, 160, 3), dtype=np.uint8)).save(path, "JPEG")
    return drive


def embed_all(results, drive, tmp_path):
    return call(results, "--as", "xmp", "--embed", "--media", drive, "--out", tmp_path / "x")


def test_embedding_changes_the_metadata_and_not_one_pixel(results, real_stills, tmp_path) -> None:
    path = real_stills / "01 wide.jpg"
    path.chmod(0o640)
    before = np.asarray(Image.open(path)).copy()
    clip = (real_stills / "B 7.clip").read_bytes()
    done = embed_all(results, real_stills, tmp_path)
    assert done.exit_code == 0, done.stderr
    assert np.array_equal(np.asarray(Image.open(path)), before)
    assert xmp_of(path)["Xmp.xmpDM.shotSize"]
    assert path.stat().st_mode & 0o777 == 0o640
    assert (real_stills / "B 7.clip").read_bytes() == clip
    assert names_in(tmp_path / "x") == ["A001 C002.xmp", "B 7.xmp"]
    once = path.read_bytes()
    embed_all(results, real_stills, tmp_path)
    assert path.read_bytes() == once


def test_stills_with_metadata_inside_need_not_be_measured_again(tmp_path) -> None:
    own = some_results(tmp_path / "own results")
    media = tmp_path / "own results media"
    path = media / "01 wide.jpg"
    Image.fromarray(np.full((90, 160, 3), 50, dtype=np.uint8)).save(path, "JPEG")
    status = path.stat()
    with Catalog.open(own / CATALOG_NAME) as catalog:  # as if the picture had been measured
        number = {place.name: number for place, number in catalog.shown_places()}["01 wide.jpg"]
        row = catalog._store.first(
            "SELECT c.content FROM contents c JOIN measurements m ON m.content = c.id "
            "WHERE m.id = ?", (number,),
        )  # fmt: skip
        catalog.remember_place(str(row[0]), path, status.st_size, status.st_mtime_ns)
    done = call(own, "--as", "xmp", "--embed", "--file", "01*", "--out", tmp_path / "x")
    assert done.exit_code == 0, done.stderr
    changed = path.stat()
    assert changed.st_size > status.st_size
    with Catalog.open_to_read(own / CATALOG_NAME) as catalog:
        known = catalog.known_content(path, changed.st_size, changed.st_mtime_ns)
    assert known == str(row[0])


def test_a_still_that_may_only_be_read_is_left_alone(results, real_stills, tmp_path) -> None:
    path = real_stills / "01 wide.jpg"
    before = path.read_bytes()
    path.chmod(0o444)
    done = embed_all(results, real_stills, tmp_path)
    assert done.exit_code == 3
    assert "01 wide.jpg may only be read" in done.stderr
    assert path.read_bytes() == before
    assert xmp_of(real_stills / "nobody.jpg")  # the others are done


def test_links_stay_links(results, real_stills, tmp_path) -> None:
    path = real_stills / "01 wide.jpg"
    target = tmp_path / "original.jpg"
    path.rename(target)
    path.symlink_to(target)
    assert embed_all(results, real_stills, tmp_path).exit_code == 0
    assert path.is_symlink()
    assert xmp_of(target)["Xmp.xmpDM.shotSize"]


def test_a_picture_that_would_change_is_left_alone(
    results, real_stills, tmp_path, monkeypatch
) -> None:
    def spoil(data, kind, packet, where):
        other = Image.new("RGB", (160, 90), (1, 2, 3))
        path = tmp_path / "spoilt.jpg"
        other.save(path)
        return embed(path.read_bytes(), kind_of(path.read_bytes()), packet, where)

    monkeypatch.setattr("framecheck.pipeline.sidecars.embed", spoil)
    before = content_of(real_stills)
    done = embed_all(results, real_stills, tmp_path)
    assert done.exit_code == 3
    assert "would change" in done.stderr
    assert content_of(real_stills) == before


def test_another_picture_of_that_name_is_left_alone(results, real_stills, tmp_path) -> None:
    path = real_stills / "01 wide.jpg"
    Image.new("RGB", (300, 200)).save(path)
    before = path.read_bytes()
    done = embed_all(results, real_stills, tmp_path)
    assert done.exit_code == 3
    assert "not the 160 x 90 that was measured" in done.stderr
    assert path.read_bytes() == before


def test_what_a_person_has_corrected_is_exported(results, tmp_path) -> None:
    """Also from the tables, which were written before."""
    own = tmp_path / "own"
    shutil.copytree(results, own)
    with Catalog.open(own / CATALOG_NAME) as catalog:
        content = {place.name: number for place, number in catalog.shown_places()}
        number = content["01 wide.jpg"]
        row = catalog._store.first(
            "SELECT c.content FROM contents c JOIN measurements m ON m.content = c.id "
            "WHERE m.id = ?", (number,),
        )  # fmt: skip
        said = {Field.SIZE: {"size": "cowboy", "size_abbr": "CS", "vocabulary": "trade"}}
        catalog.corrections.enter(str(row[0]), STILL_ANCHOR, said)
    assert call(own, "--as", "csv", "--as", "xmp", "--out", tmp_path / "x").exit_code == 0
    with (tmp_path / "x" / "frames.csv").open(encoding="utf-8", newline="") as source:
        rows = {row["file"]: row for row in csv.DictReader(source)}
    wide = rows["01 wide.jpg"]
    assert wide["size"] == "cowboy"
    assert wide["confirmed"].startswith("size (measured ")
    assert rows["close-up é.jpg"]["confirmed"] == ""
    told = xmp_of(tmp_path / "x" / "01 wide.xmp")
    assert "cowboy" in told["Xmp.dc.subject"]
    assert told["Xmp.xmpDM.shotSize"] == "MWS"
    assert told["Xmp.framecheck.framing/framecheck:confirmed"].startswith("size")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_drive_that_may_only_be_read(results, real_stills, tmp_path) -> None:
    real_stills.chmod(0o500)
    done = embed_all(results, real_stills, tmp_path)
    real_stills.chmod(0o700)
    assert done.exit_code == 3
    assert "cannot write" in done.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--as", "docx"], "choose with --as from otio"),
        (["--as", "csv", "--embed"], "--embed is about XMP"),
    ],
)
def test_wrong_words_are_told(results, tmp_path, words, told) -> None:
    done = call(results, *words, "--out", tmp_path)
    assert done.exit_code == 2
    assert told in done.stderr
    assert names_in(tmp_path) == []


def test_missing_media_and_missing_results(results, tmp_path) -> None:
    assert call(tmp_path / "no", "--as", "csv", "--out", tmp_path).exit_code == 2
    gone = call(results, "--as", "xmp", "--media", tmp_path / "empty drive", "--out", tmp_path)
    # the catalog beside the tables still knows where they lie
    assert gone.exit_code == 0
    copy = tmp_path / "tables alone"
    copy.mkdir()
    for path in results.glob("*.csv"):
        text = path.read_text("utf-8").replace(str(results.parent), "/nowhere")
        (copy / path.name).write_text(text, "utf-8")
    lost = call(copy, "--as", "xmp", "--out", tmp_path / "x")
    assert lost.exit_code == 3
    assert "say with --media" in lost.stderr
    assert lost.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("name", "module", "extra"),
    [
        ("otio", "opentimelineio", "timeline"), ("xlsx", "xlsxwriter", "xlsx"),
        ("xmp", "lxml", "xmp"), ("parquet", "pyarrow", "parquet"),
    ],
)  # fmt: skip
def test_a_missing_extra_is_named(results, tmp_path, monkeypatch, name, module, extra) -> None:
    import builtins

    whole = builtins.__import__

    def without(wanted, *more, **others):
        if wanted.partition(".")[0] == module:
            raise ImportError(wanted)
        return whole(wanted, *more, **others)

    monkeypatch.setattr(builtins, "__import__", without)
    done = call(results, "--as", name, "--out", tmp_path)
    assert done.exit_code == 2
    assert f"framecheck[{extra}]" in done.stderr
    assert names_in(tmp_path) == []
