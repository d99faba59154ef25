"""Reads the mark corrector's weights, which belong to this pose backend."""

from __future__ import annotations

import json
from importlib import resources

import numpy as np

from framecheck.errors import ModelBroken
from framecheck.measure.corrector import Corrector

WEIGHTS = "mark_correction.json"
SCHEMA = "framecheck-mark-correction-1"


def load_corrector(text: str | None = None) -> Corrector:
    """The packaged corrector, or one from the text of another weights file.

    Raises:
        ModelBroken: the weights are of another schema or shape.
    """
    if text is None:
        folder = resources.files("framecheck.pose").joinpath("data")
        text = folder.joinpath(WEIGHTS).read_text("utf-8")
    try:
        document = json.loads(text)
        _check_schema(document["schema"])
        return Corrector(
            mean=np.array(document["mean"]),
            scale=np.array(document["scale"]),
            layers=tuple(
                (np.array(layer["weights"]), np.array(layer["offsets"]))
                for layer in document["layers"]
            ),
            version=str(document["version"]),
        )
    except (LookupError, TypeError, ValueError) as error:
        raise ModelBroken(
            f"the mark corrector's weights are broken ({error}); install framecheck again",
            where=WEIGHTS,
        ) from error


def _check_schema(schema: object) -> None:
    if schema != SCHEMA:
        raise ValueError(f"schema {schema!r}, expected {SCHEMA!r}")
