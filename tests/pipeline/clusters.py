"""A Dask cluster of processes on this machine, parts of which can be killed and started again."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time

import psutil
from distributed import Client

from tests.pipeline.conftest import ROOT
from tests.pipeline.obedient import MARKS

START_S = 60.0


class Cluster:
    """A scheduler and groups of workers, each worker watched by a nanny that starts it anew."""

    def __init__(self, folder, port=None):
        self._folder, self.port = folder, port or free_port()
        self._scheduler = None
        self._groups = []
        self.marks = folder / "marks"
        self.marks.mkdir(exist_ok=True)

    @property
    def place(self):
        """For `Order.place`."""
        return f"dask://127.0.0.1:{self.port}"

    def start_scheduler(self):
        """Start it, on the same port each time."""
        self._scheduler = self._start(
            "scheduler", "--host", "127.0.0.1", "--port", str(self.port), "--no-dashboard"
        )

    def start_workers(self, count, name, **environment):
        """Start a group of workers of one thread each."""
        group = self._start(
            "worker", f"tcp://127.0.0.1:{self.port}", "--nworkers", str(count), "--nthreads", "1",
            "--name", name, "--no-dashboard", "--host", "127.0.0.1", "--death-timeout", "60",
            "--local-directory", str(self._folder / name), **environment,
        )  # fmt: skip
        self._groups.append(group)

    def wait_for(self, count):
        """Wait until so many workers are there."""
        with self.client() as client:
            client.wait_for_workers(count, timeout=START_S)

    def client(self):
        """A connection of the test's own."""
        return Client(f"tcp://127.0.0.1:{self.port}", timeout=START_S, set_as_default=False)

    def kill_scheduler(self):
        """End it without a word."""
        self._scheduler.kill()
        self._scheduler.wait()

    def kill_workers(self):
        """End all of them and their nannies without a word."""
        for group in self._groups:
            _kill_family(group)
        self._groups.clear()

    def stop(self):
        """End all of it."""
        self.kill_workers()
        if self._scheduler is not None:
            self.kill_scheduler()

    def _start(self, what, *arguments, **environment):
        log = (self._folder / f"{what}.log").open("ab")
        with log:
            return subprocess.Popen(
                [sys.executable, "-m", "dask", what, *arguments],
                stdout=log, stderr=log, start_new_session=True, cwd=self._folder,
                env={
                    **os.environ, "PYTHONPATH": ROOT, MARKS: str(self.marks),
                    "DASK_DISTRIBUTED__SCHEDULER__WORK_STEALING_INTERVAL": "100ms",
                    **environment,
                },
            )  # fmt: skip

    def log_of(self, what):
        """What a part of it said."""
        return (self._folder / f"{what}.log").read_text("utf-8", "replace")


def free_port():
    """A port that nobody uses at the moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _kill_family(process):
    with contextlib.suppress(psutil.NoSuchProcess):
        family = psutil.Process(process.pid).children(recursive=True)
        for member in [psutil.Process(process.pid), *family]:
            with contextlib.suppress(psutil.NoSuchProcess):
                member.send_signal(signal.SIGKILL)
    process.wait()


def wait_until(happened, limit_s=30.0):
    """Wait for something to happen."""
    deadline = time.monotonic() + limit_s
    while time.monotonic() < deadline:
        if happened():
            return
        time.sleep(0.02)
    raise AssertionError("it did not happen")
