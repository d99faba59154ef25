"""Runs of their own on a catalog, for tests that start and kill them."""

import os
import random
import resource
import sys
import time
import urllib.parse  # noqa: F401  # as psutil below
from pathlib import Path

# Loaded now: once the rights are given up, Python's own files may be out of reach.
import psutil  # noqa: F401

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.measurements import State
from framecheck.catalog.search import FindQuery
from framecheck.errors import CatalogError
from tests.catalog.builders import LAYOUT, a_file_row, a_frame, a_person, a_shot

SHOTS = 60


def tell(*words):
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


def measure_slowly(path: Path) -> None:
    """One clip of many shots, told step by step; goes on where an earlier run was killed."""
    with Catalog.open(path, layout=LAYOUT) as catalog:
        number = catalog.begin("content", "settings", "clip", "{}")
        tell("begun", number)
        done = catalog.shots_done(number)
        for shot in range(SHOTS):
            if shot in done:
                continue
            tell("measuring", shot)
            frames = [a_frame(shot, frame, crop_level=shot + frame / 1000) for frame in range(5)]
            people = [a_person(person) for person in range(4)]
            catalog.add_shot(number, a_shot(shot, flags="knee; chin"), frames, people)
            tell("entered", shot)
        catalog.finish(number, a_file_row())
        tell("finished")


def measure_together(path: Path, contents: int, seed: int, start_s: float) -> None:
    """All contents in an order of its own, beside other runs that do the same."""
    time.sleep(max(0.0, start_s - time.time()))
    left = [f"content {number}" for number in range(contents)]
    random.Random(seed).shuffle(left)
    with Catalog.open(path, layout=LAYOUT) as catalog:
        while left:
            content = left.pop(0)
            number = catalog.begin(content, "settings", "clip", "{}")
            if number is not None:
                tell("measuring", content)
                for shot in range(3):
                    time.sleep(0.001)
                    catalog.add_shot(number, a_shot(shot), [a_frame(shot)], [a_person()])
                catalog.finish(number, a_file_row())
            elif catalog.lookup(content, "settings").state is not State.MEASURED:
                left.append(content)  # in another run's hands: look again later
                time.sleep(0.002)
    tell("ended")


def make_anew(path: Path, start_s: float) -> None:
    """The same new catalog at the same moment as others."""
    time.sleep(max(0.0, start_s - time.time()))
    with Catalog.open(path, layout=LAYOUT) as catalog:
        number = catalog.begin(f"content of {os.getpid()}", "settings", "clip", "{}")
        catalog.finish(number, a_file_row())
    tell("made")


def hold(path: Path) -> None:
    """Take a measurement in hand, and do nothing more."""
    with Catalog.open(path, layout=LAYOUT) as catalog:
        tell("begun", catalog.begin("content", "settings", "clip", "{}"))
        sys.stdin.read()


def fill_the_disk(path: Path, most_bytes: int) -> None:
    """Shots until no file may grow any more."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    catalog = Catalog.open(path, layout=LAYOUT)
    number = catalog.begin("content", "settings", "clip", "{}")
    shot = 0
    try:
        while True:
            catalog.add_shot(number, a_shot(shot, notes="x" * 2000), [a_frame(shot)], [])
            shot += 1
    except CatalogError as error:
        tell("entered", shot)
        tell("error", error)
    catalog.close()


def as_nobody() -> None:
    """Become a user whom permissions bind."""
    if os.getuid() == 0:
        os.setuid(65534)


def read_without_rights(path: Path) -> None:
    """What a search finds where nothing can be written, and what a run is told."""
    as_nobody()
    try:
        with Catalog.open_to_read(path) as catalog:
            tell("found", len(catalog.find(FindQuery())), "wrong", len(catalog.check()))
            there = catalog.lookup("content", "settings")
            tell("shots", len(catalog.shots_done(there.id)) if there else 0)
            catalog.begin("another", "settings", "clip", "{}")
    except CatalogError as error:
        tell("error", error)
    try:
        Catalog.open(path, layout=LAYOUT).close()
    except CatalogError as error:
        tell("error", error)


TASKS = {
    "measure-slowly": measure_slowly,
    "measure-together": lambda path, contents, seed, start_s: measure_together(
        path, int(contents), int(seed), float(start_s)
    ),
    "make-anew": lambda path, start_s: make_anew(path, float(start_s)),
    "hold": hold,
    "fill-the-disk": lambda path, most_bytes: fill_the_disk(path, int(most_bytes)),
    "read-without-rights": read_without_rights,
}

if __name__ == "__main__":
    TASKS[sys.argv[1]](Path(sys.argv[2]), *sys.argv[3:])
