"""`framecheck measure --on`: what is refused before anything is done."""

import pytest
from typer.testing import CliRunner

from framecheck.cli.app import app
from tests.pipeline.clusters import free_port
from tests.pipeline.fakes import FAKE_TOOLS


def call(*words):
    return CliRunner().invoke(app, ["measure", *map(str, words)], obj=FAKE_TOOLS)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--on", "cloud"), "--on takes local or dask://HOST:PORT, got 'cloud'"),
        (("--on", "dask://head:8786", "--workers", 2), "--workers goes with --on local"),
    ],
)
def test_wrong_usage(tmp_path, words, message):
    result = call(tmp_path, "--out", tmp_path / "out", *words)
    assert result.exit_code == 2
    assert message in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_scheduler_that_does_not_answer(tmp_path, monkeypatch):
    monkeypatch.setattr("framecheck.pipeline.dask_link.ANSWER_S", 0.5)
    (tmp_path / "a.fake").write_text("22", "utf-8")
    place = f"dask://127.0.0.1:{free_port()}"
    result = call(tmp_path / "a.fake", "--out", tmp_path / "out", "--on", place)
    assert result.exit_code not in {0, 1}
    assert "does not answer; start it with 'dask scheduler'" in result.stderr
    assert "Traceback" not in result.stderr
