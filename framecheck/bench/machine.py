"""On what a bench ran: the machine, and the versions of what weighs."""

from __future__ import annotations

import os
import platform
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import psutil

from framecheck.pipeline.settings import own_version

_PACKAGES = {
    "mediapipe": "mediapipe", "ONNX Runtime": "onnxruntime", "NumPy": "numpy", "PyAV": "av",
    "Pillow": "pillow",
}  # fmt: skip


def describe_machine() -> dict[str, str | int | float]:
    """Processor, cores, memory, system, and how busy it is."""
    usable = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return {
        "processor": processor_name(),
        "architecture": platform.machine(),
        "cores": int(usable or 1),
        "memory_gb": round(psutil.virtual_memory().total / 1e9, 1),
        "system": f"{platform.system()} {platform.release()}",
        "load_before": round(psutil.getloadavg()[0], 2),
    }


def describe_versions() -> dict[str, str]:
    """Of Python, of the program, and of the libraries that decode and infer."""
    import av
    import cv2

    found = {name: _version_of(package) for name, package in _PACKAGES.items()}
    libraries = av.library_versions
    codec = ".".join(map(str, libraries.get("libavcodec", ())))
    return {
        "Python": platform.python_version(),
        "framecheck": own_version(),
        **found,
        "OpenCV": str(cv2.__version__),
        "FFmpeg (libavcodec in PyAV)": codec,
    }


def processor_name() -> str:
    """As the system calls it; its architecture when it says no more."""
    try:
        lines = Path("/proc/cpuinfo").read_text("utf-8", "replace").splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.machine()


def _version_of(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"
