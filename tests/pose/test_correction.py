"""The corrector's weights: the packaged ones load, broken ones are refused with one line."""

import json
from importlib import resources

import numpy as np
import pytest

from framecheck.errors import ModelBroken
from framecheck.measure.corrector import FEATURES, run_corrector
from framecheck.pose.correction import SCHEMA, WEIGHTS, load_corrector


def a_document() -> dict[str, object]:
    return {
        "schema": SCHEMA, "version": "t1", "mean": [0.0] * FEATURES, "scale": [1.0] * FEATURES,
        "layers": [
            {"weights": [[0.0] * 4] * FEATURES, "offsets": [0.0] * 4},
            {"weights": [[0.0] * 15] * 4, "offsets": [0.25] * 15},
        ],
    }  # fmt: skip


def test_the_packaged_weights_load_and_are_used_as_they_are_written() -> None:
    text = resources.files("framecheck.pose").joinpath("data", WEIGHTS).read_text("utf-8")
    document = json.loads(text)
    corrector = load_corrector()
    assert corrector.version == str(document["version"]) != ""
    assert np.array_equal(corrector.mean, document["mean"])
    assert len(corrector.layers) == len(document["layers"])
    for (weights, offsets), layer in zip(corrector.layers, document["layers"], strict=True):
        assert np.array_equal(weights, layer["weights"])
        assert np.array_equal(offsets, layer["offsets"])


def test_the_packaged_weights_are_stable_from_load_to_load() -> None:
    one, other = load_corrector(), load_corrector()
    assert one.version == other.version
    features = np.linspace(-1, 1, FEATURES)
    assert np.array_equal(run_corrector(one, features)[0], run_corrector(other, features)[0])


def test_the_packaged_weights_are_sane() -> None:
    """For a mean pose nothing moves by more than a third of a stature, and errors are positive."""
    corrector = load_corrector()
    assert (corrector.scale > 0).all()
    shifts, errors = run_corrector(corrector, corrector.mean)
    assert np.isfinite(shifts).all()
    assert np.abs(shifts).max() < 1 / 3
    assert (errors > 0).all()


def test_named_weights_are_read() -> None:
    corrector = load_corrector(json.dumps(a_document()))
    assert corrector.version == "t1"
    shifts, errors = run_corrector(corrector, np.zeros(FEATURES))
    assert shifts == pytest.approx([0.25] * 10)
    assert errors == pytest.approx([1.0] * 5)


def broken(**changed: object) -> str:
    return json.dumps({**a_document(), **changed})


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "{}",
        broken(schema="another-1"),
        broken(mean=[0.0] * 3),
        broken(mean="none"),
        broken(scale=None),
        broken(layers=[{"weights": [[0.0] * 15] * FEATURES}]),
        broken(layers=[{"weights": [[0.0] * 4] * FEATURES, "offsets": [0.0] * 4}]),
        broken(layers=7),
        broken(layers=[]),
    ],
    ids=[
        "empty", "cut off", "a list", "no keys", "other schema", "few inputs", "words", "no scale",
        "no offsets", "few outputs", "no layers", "empty layers",
    ],
)  # fmt: skip
def test_broken_weights_are_one_line(text) -> None:
    with pytest.raises(ModelBroken, match="mark corrector's weights are broken") as caught:
        load_corrector(text)
    assert "\n" not in str(caught.value)
    assert "install framecheck again" in str(caught.value)
