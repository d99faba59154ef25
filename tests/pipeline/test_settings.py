"""Data files of a run, the fingerprint, names of annotated copies, and staffing."""

import dataclasses
from importlib import resources
from pathlib import Path

import psutil
import pytest

from framecheck.errors import ConfigError
from framecheck.pipeline.order import RunLimits
from framecheck.pipeline.overlay_names import name_overlays
from framecheck.pipeline.settings import (
    Settings,
    load_judging,
    load_vocabulary,
    packaged_vocabulary_names,
    settings_fingerprint,
)
from framecheck.pipeline.staffing import WORKER_BUDGET_BYTES, choose_threads, choose_workers


def test_the_default_vocabulary_comes_first():
    assert packaged_vocabulary_names()[0] == "trade"
    assert [v.name for v in load_judging(Settings()).vocabularies] == ["trade"]
    assert [v.name for v in load_judging(Settings(vocabularies=())).vocabularies] == ["trade"]


def test_a_vocabulary_of_the_user(tmp_path):
    packaged = resources.files("framecheck.classify") / "data" / "vocabularies" / "trade.toml"
    text = packaged.read_text("utf-8")
    own = tmp_path / "ours.toml"
    own.write_text(text.replace('name = "trade"', 'name = "ours"', 1), "utf-8")
    assert load_vocabulary(str(own)).name == "ours"


@pytest.mark.parametrize("content", [b"name = 3", b"\xff\xfe", b"name = ["])
def test_a_broken_data_file_is_a_wrong_option(tmp_path, content):
    path = tmp_path / "broken.toml"
    path.write_bytes(content)
    for settings in (
        Settings(vocabularies=(str(path),)),
        Settings(thresholds=path),
        Settings(room=path),
    ):
        with pytest.raises(ConfigError, match=r"broken\.toml"):
            load_judging(settings)


def test_the_fingerprint_changes_with_a_threshold_and_with_nothing_else():
    judging = load_judging(Settings())
    same = load_judging(Settings())
    thresholds = dataclasses.replace(judging.thresholds, knee_to_level=0.34)
    other = dataclasses.replace(judging, thresholds=thresholds)
    assert settings_fingerprint(judging, "m") == settings_fingerprint(same, "m")
    assert settings_fingerprint(judging, "m") != settings_fingerprint(other, "m")
    assert settings_fingerprint(judging, "m") != settings_fingerprint(judging, "n")


@pytest.mark.parametrize(
    ("files", "names"),
    [
        (["d/x.jpg"], ["overlays/x.jpg"]),
        (["d/a/x.jpg", "d/b/x.jpg"], ["overlays/a/x.jpg", "overlays/b/x.jpg"]),
        (["d/x.jpg", "d/x.png"], ["overlays/x.jpg", "overlays/x.png.jpg"]),
        (["d/x.png", "d/x.png.jpg"], ["overlays/x.png.jpg", "overlays/x.png-2.jpg"]),
        (["d/X.jpg", "d/x.jpg"], ["overlays/X.jpg", "overlays/x-2.jpg"]),
        (["d/a\nb.jpg", "d/a\tb.jpg"], ["overlays/a_b.jpg", "overlays/a_b-2.jpg"]),
        (["d/c\x1b/x.jpg", "d/y.jpg"], ["overlays/c_/x.jpg", "overlays/y.jpg"]),
        (["d/\udce9t\u00e9.jpg"], ["overlays/_t\u00e9.jpg"]),
    ],
)
def test_annotated_copies_mirror_the_inputs_and_never_share_a_name(files, names):
    assert list(name_overlays([Path(file) for file in files])) == names


def test_a_name_at_the_limit_of_file_systems_is_shortened(tmp_path):
    long, other = "a" * 251 + ".png", "a" * 250 + "b.png"
    names = [Path(name).name for name in name_overlays([Path(long), Path(other)])]
    assert len(set(names)) == 2
    for name in names:
        assert len(name) <= 200
        (tmp_path / name).touch()


def test_no_files_have_no_names():
    assert name_overlays([]) == ()


def test_the_wanted_workers_are_taken_as_they_are():
    assert choose_workers(7) == 7


@pytest.mark.parametrize(("free", "most"), [(0.2, 1), (1.5, 1), (2.5, 2)])
def test_short_memory_makes_fewer_workers(monkeypatch, free, most):
    memory = psutil.virtual_memory()._replace(available=int(free * WORKER_BUDGET_BYTES))
    monkeypatch.setattr(psutil, "virtual_memory", lambda: memory)
    monkeypatch.setattr("framecheck.pipeline.staffing._cores", lambda: 64)
    assert choose_workers(None) == most


@pytest.mark.parametrize(
    ("readers", "threads", "clips", "expected"),
    [(1, 2, 9, 2), (8, 2, 100, 2), (8, 2, 8, 2), (8, 2, 4, 4), (8, 2, 1, 4), (1, 1, 0, 1)],
)
def test_few_clips_are_decoded_by_more_threads_each(readers, threads, clips, expected):
    limits = RunLimits(workers=2 * readers, readers=readers, threads=threads)
    assert choose_threads(limits, clips) == expected
