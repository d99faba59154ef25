"""`framecheck lens` from numbers, from a still, and with wrong options."""

import csv
import io
import json
import xml.etree.ElementTree as ET

import pytest
from PIL import Image
from typer.testing import CliRunner

from framecheck.cli.app import app
from framecheck.cli.lens import parse_aspect, parse_lenses, parse_stature
from framecheck.errors import ConfigError
from framecheck.pipeline.lensing import NOTICE
from tests.cli.results import some_results

SVG = "{http://www.w3.org/2000/svg}"


def call(*words):
    return CliRunner().invoke(app, ["lens", *map(str, words)])


def at(distance, *words):
    return call("--distance", distance, "--lens", 50, "--sensor", "full-frame", *words)


def test_from_a_distance() -> None:
    # published: on 36 mm, 1.8 m wide is 24 mm at 1.20 m, 50 at 2.50, 100 at 5.00
    result = at(2.5, "--lenses", "24,100", "--format", "json")
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert [row["distance_m"] for row in answer["lenses"]] == [1.2, 2.5, 5.0]
    assert answer["lenses"][1]["view_wh_deg"][0] == pytest.approx(39.6, abs=0.05)
    assert answer["camera"] is None
    assert answer["notice"] == NOTICE
    assert answer["set_up"]["used_wh_mm"] == [36.0, 20.25]


def test_the_table_for_reading() -> None:
    result = at(2.5, "--room", 4)
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "50 mm * " in result.stdout
    assert "MCU medium close-up" in result.stdout
    assert " ".join(NOTICE.split()) in " ".join(result.stdout.split())
    lines = [line for line in result.stdout.splitlines() if line.startswith("  100 mm")]
    assert lines[0].endswith("no")  # 5 m do not fit into 4 m less 1.2
    assert "0.5 m behind" in result.stdout  # the wall


def test_a_size_that_no_lens_gives_in_the_room() -> None:
    # 2.5 m less 1.2 leave 1.3; a wide shot needs a shorter lens than the shortest at hand
    shown = at(1, "--room", 2.5, "--lenses", "35").stdout
    (line,) = [line for line in shown.splitlines() if line.startswith("  WS ")]
    rows = json.loads(at(1, "--room", 2.5, "--lenses", "35", "--format", "json").stdout)["sizes"]
    (wide,) = [row for row in rows if row["abbr"] == "WS"]
    # from the same distance twice the field takes half the lens: 1.3 / (walk on 50 mm) x 50
    assert wide["room_mm"] == pytest.approx(1.3 / wide["walk_m"] * 50, rel=1e-3)
    assert line.endswith(f"needs {wide['room_mm']:.0f} mm")


def test_a_camera_on_its_side_uses_the_sensor_so() -> None:
    upright = json.loads(at(2, "--aspect", "2:3", "--turned", "--format", "json").stdout)
    assert upright["set_up"]["used_wh_mm"] == [24.0, 36.0]
    cut_out = json.loads(at(2, "--aspect", "2:3", "--format", "json").stdout)
    assert cut_out["set_up"]["used_wh_mm"] == [16.0, 24.0]


def test_csv_holds_both_tables() -> None:
    rows = list(csv.DictReader(io.StringIO(at(2.5, "--format", "csv").stdout)))
    assert {row["row"] for row in rows} == {"lens", "size"}
    sizes = {row["size_abbr"]: float(row["distance_m"]) for row in rows if row["row"] == "size"}
    assert sizes["WS"] > sizes["FS"] > sizes["MS"] > sizes["CU"]


def test_the_plan_is_svg_with_every_lens_and_the_notice(tmp_path) -> None:
    path = tmp_path / "the plan.svg"
    assert at(2.5, "--lenses", "24,100", "--svg", path).exit_code == 0
    root = ET.fromstring(path.read_text("utf-8"))
    texts = [node.text or "" for node in root.iter(f"{SVG}text")]
    for label in ("24 mm 1.20 m", "50 mm 2.50 m", "100 mm 5.00 m", "subject"):
        assert label in texts
    assert NOTICE.split()[0] in " ".join(texts)
    assert "local rules" in " ".join(texts).replace("  ", " ")
    assert len(list(root.iter(f"{SVG}polygon"))) == 3


@pytest.mark.parametrize("distance", [0.01, 1000, 100_000])
def test_a_plan_of_any_size_has_its_scale(tmp_path, distance) -> None:
    path = tmp_path / "plan.svg"
    done = at(distance, "--lenses", "1,5000", "--behind", 100_000, "--svg", path)
    assert done.exit_code == 0, done.stderr
    root = ET.fromstring(path.read_text("utf-8"))
    lengths = [node.text or "" for node in root.iter(f"{SVG}text") if node.get("class") == "quiet"]
    assert any(text.endswith(" m") and float(text[:-2]) > 0 for text in lengths)


def test_sensors_are_listed_with_their_sources() -> None:
    result = call("--sensors")
    assert result.exit_code == 0
    assert "super-35" in result.stdout
    assert "36 x 24 mm" in result.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "name a still, or start from --distance"),
        (["--distance", "2"], "give it with --lens"),
        (["--distance", "2", "--lens", "50"], "give it with --sensor"),
        (["--distance", "2", "--lens", "50", "--sensor", "big"], "no sensor 'big'"),
        (["absent.jpg", "--lens", "50", "--sensor", "36x24"], "not there"),
    ],
)
def test_what_is_missing_is_told(words, told, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = call(*words)
    assert result.exit_code in {2, 3}
    assert told in result.stderr
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--stature", "9"], "--stature takes metres"),
        (["--lenses", "24,x"], "--lenses takes focal lengths"),
        (["--lenses", "0"], "--lenses takes focal lengths"),
        (["--room", "1"], "leaves no distance"),
        (["--aspect", "wide"], "looks like 2.39 or 16:9"),
        (["--vocabulary", "nothing"], "no vocabulary"),
        (["--format", "xml"], "choose from table, csv, json"),
        (["--svg", "plan.png"], "end its name in .svg"),
        (["a still.jpg"], "needs no still"),
        (["--tilt", "10"], "needs no still"),
    ],
)
def test_wrong_words_are_told(words, told) -> None:
    result = at(2, *words)
    assert result.exit_code == 2
    assert told in result.stderr
    assert not result.stdout  # nothing is half done


def test_a_folder_without_results(tmp_path) -> None:
    result = call(tmp_path, "--lens", 50, "--sensor", "36x24")
    assert result.exit_code == 2
    assert "holds no tables" in result.stderr


def test_words_of_the_options() -> None:
    assert parse_stature("1.75+-0.03").sd_m == 0.03
    assert parse_stature("1.75±0.03").mean_m == 1.75
    assert parse_lenses(" 24, 35mm ,50") == (24.0, 35.0, 50.0)
    assert parse_aspect("16:9") == pytest.approx(16 / 9)
    assert parse_aspect("2.39") == pytest.approx(2.39)
    for wrong in ("", "0", "16:0", "99:1", "1e3", "16:9:4", "-2"):
        with pytest.raises(ConfigError):
            parse_aspect(wrong)


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    return some_results(tmp_path_factory.mktemp("my results"))


def of(results, *words):
    return call(results, "--lens", 50, "--sensor", "36x20.25", "--format", "json", *words)


def test_a_picture_that_was_measured_before(results) -> None:
    # the fake figure is half as high as the picture and upright: 1.70 m are 10.125 mm of 20.25,
    # so that 50 mm see it from 1700 x 50 / 10.125 = 8395 mm
    done = of(results, "--file", "01 wide.jpg", "--standing", "--tilt", 0)
    assert done.exit_code == 0, done.stderr
    camera = json.loads(done.stdout)["camera"]
    assert camera["ahead_m"] == pytest.approx(8.395, rel=0.05)
    assert set(camera["height_m"]) == {"value", "low", "high"}


def test_which_picture_of_a_result_is_meant(results) -> None:
    clip = of(results, "--file", "A001 C002.clip")
    assert clip.exit_code == 2
    assert "say with --frame" in clip.stderr
    unnamed = of(results)
    assert unnamed.exit_code == 2
    assert "01 wide.jpg" in unnamed.stderr
    nobody = of(results, "--file", "nobody.jpg")
    assert nobody.exit_code == 3
    assert "nobody is found" in nobody.stderr
    assert of(results, "--file", "01 wide.jpg", "--person", 3).exit_code == 2


@pytest.mark.model
def test_a_rendered_still_with_its_lens_and_stature() -> None:
    # sample_frames/truth.json: 25 mm on 24.89 x 14.0 mm, 3.78 m to the eyes, 0.96 m high, level
    result = call(
        "sample_frames/02-keeper-full.jpg", "--lens", 25, "--sensor", "24.89x14.0",
        "--stature", 1.78, "--format", "json",
    )  # fmt: skip
    assert result.exit_code == 0
    camera = json.loads(result.stdout)["camera"]
    assert camera["distance_m"]["value"] == pytest.approx(3.7824, rel=0.05)
    assert camera["distance_m"]["low"] < 3.7824 < camera["distance_m"]["high"]
    assert camera["height_m"]["low"] < 0.9554 < camera["height_m"]["high"]
    assert abs(camera["tilt_deg"]["value"]) < 6


@pytest.mark.model
def test_the_lens_that_a_still_names(tmp_path) -> None:
    path = tmp_path / "with lens.jpg"
    exif = Image.Exif()
    exif[0x0112] = 1
    # 25 mm whose angle of view is that of 43.26 / 28.56 x 25 = 37.9 mm on 36 x 24
    exif.get_ifd(0x8769).update({0x920A: 25.0, 0xA405: 38})
    Image.open("sample_frames/02-keeper-full.jpg").save(path, exif=exif, quality=95)
    result = call(path, "--stature", 1.78, "--format", "json")
    assert result.exit_code == 0
    assert json.loads(result.stdout)["camera"]["distance_m"]["value"] == pytest.approx(
        3.78, rel=0.06
    )


@pytest.mark.model
def test_a_still_without_people(tmp_path) -> None:
    path = tmp_path / "grey.png"
    Image.new("RGB", (320, 180), (90, 90, 90)).save(path)
    result = call(path, "--lens", 50, "--sensor", "36x24")
    assert result.exit_code == 3
    assert "nobody is found" in result.stderr
