"""Whole runs over addresses: the tables of a disk, and nothing secret in anything written."""

import dataclasses
import shutil

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

pytest.importorskip("fsspec")
pytest.importorskip("aiohttp")

from framecheck.cli.app import app
from framecheck.pipeline.order import RunLimits
from framecheck.pipeline.plan import plan_order, real_tools
from framecheck.pipeline.run import measure_to_tables
from framecheck.pipeline.settings import Settings
from tests.media.clip_builders import Recipe, a_clip, a_picture
from tests.media.servers import SECRET, ObjectStore, WebServer
from tests.pipeline.fakes import provide_fake, write_real_overlay
from tests.pipeline.runs import TABLES, files_in, rows_in


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Two stills, a whole clip, and one that is cut off."""
    folder = tmp_path_factory.mktemp("served")
    for number in (1, 2):
        Image.fromarray(a_picture(256, 144, number)).save(folder / f"{number}.png")
    a_clip(
        folder / "a.mkv", Recipe(frames=40), lambda n: a_picture(256, 144, n)[:, :: 1 - n // 20 * 2]
    )
    cut = a_clip(folder / "b.mkv", Recipe(frames=40, timecode="10:00:00:00")).read_bytes()
    (folder / "b.mkv").write_bytes(cut[: len(cut) * 2 // 3])
    return folder


def run(paths, out, *, catalog=None, **settings):
    """Real readers, and the measuring of the fakes."""
    tools = dataclasses.replace(real_tools(write_real_overlay), provide_measurer=provide_fake)
    order = plan_order([str(path) for path in paths], out, Settings(**settings), tools)
    order = dataclasses.replace(
        order, limits=RunLimits(workers=1), catalog=catalog or order.catalog
    )
    return measure_to_tables(order)


def tables_without(out, prefix):
    """The tables with names as if there were no folder before them."""
    return {
        name: (out / name).read_text("utf-8").replace(prefix.rstrip("/") + "/", "")
        for name in TABLES
    }


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_web_server_gives_the_tables_of_a_disk_and_its_signatures_go_nowhere(folder, tmp_path):
    run([folder / name for name in names_in(folder)], tmp_path / "disk", overlays=True)
    with WebServer(folder) as web:
        addresses = [web.at(name) for name in names_in(folder)]
        run([*addresses, web.at("no.jpg")], tmp_path / "web", overlays=True)
        prefix = web.at("", signed=False)
    there, here = (
        tables_without(tmp_path / "web", prefix),
        tables_without(tmp_path / "disk", str(folder)),
    )
    gone = there["files.csv"].splitlines().pop()
    assert gone.startswith("no.jpg,failed,there is no such file,finding")
    there["files.csv"] = there["files.csv"].removesuffix(gone + "\r\n").removesuffix(gone + "\n")
    assert there == here
    assert files_in(tmp_path / "disk")[f"{folder}/b.mkv"][0] == "failed"
    assert len(list((tmp_path / "web" / "overlays").rglob("*.jpg"))) == 2
    written = [path for path in (tmp_path / "web").rglob("*") if path.is_file()]
    assert len(written) >= 8
    assert not [path for path in written if SECRET.encode() in path.read_bytes()]


def test_a_bucket_gives_the_tables_of_a_disk_and_knows_a_copy(folder, tmp_path, monkeypatch):
    pytest.importorskip("moto")
    pytest.importorskip("s3fs")
    store = ObjectStore()
    for name, value in store.start().items():
        monkeypatch.setenv(name, value)
    try:
        store.fill({f"day/{name}": (folder / name).read_bytes() for name in names_in(folder)})
        run([folder], tmp_path / "disk")
        run(["s3://rushes/day"], tmp_path / "bucket")
        assert tables_without(tmp_path / "bucket", "s3://rushes/day") == tables_without(
            tmp_path / "disk", str(folder)
        )
        catalog = tmp_path / "disk" / "framecheck.sqlite"
        summary = run(["s3://rushes/day"], tmp_path / "again", catalog=catalog)
        assert summary.taken_over == 3  # by content; what had failed is tried again
        assert rows_in(tmp_path / "again", "files")[0]["file"] == "s3://rushes/day/1.png"
        found = CliRunner().invoke(app, ["find", str(catalog), "--folder", "s3://rushes/day"])
        assert found.stdout.startswith("In s3://rushes/day/\n"), found.output
    finally:
        store.stop()


def test_a_server_that_says_nothing_of_its_files_state_is_read_again_each_time(folder, tmp_path):
    """The same address may hold another file by then."""
    served = tmp_path / "served"
    served.mkdir()
    shutil.copy(folder / "1.png", served / "a.png")
    with WebServer(served, marks=False) as web:
        run([web.at("a.png")], tmp_path / "out")
        before = rows_in(tmp_path / "out", "frames")
        pixels = np.zeros((144, 256, 3), np.uint8)
        size = (served / "a.png").stat().st_size
        Image.fromarray(pixels).save(served / "a.png")
        data = (served / "a.png").read_bytes()
        (served / "a.png").write_bytes(data + bytes(size - len(data)))  # of the same size
        assert (served / "a.png").stat().st_size == size
        assert run([web.at("a.png")], tmp_path / "out").taken_over == 0
    assert rows_in(tmp_path / "out", "frames") != before
