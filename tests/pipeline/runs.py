"""Runs over fakes: in this process, or in one of its own that can be killed."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import time
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.pipeline.order import RunLimits
from framecheck.pipeline.plan import plan_order
from framecheck.pipeline.run import measure_to_tables
from framecheck.pipeline.settings import Settings
from tests.pipeline.conftest import ROOT
from tests.pipeline.fakes import FAKE_TOOLS

TABLES = ("frames.csv", "people.csv", "shots.csv", "files.csv")


def order_for(
    paths, out, *, limits=None, afresh=False, format_name="csv", catalog=None, **settings
):
    """An order over fakes; `limits` as a dict for `RunLimits`."""
    order = plan_order([str(path) for path in paths], out, Settings(**settings), FAKE_TOOLS)
    return order.with_handling(
        limits=RunLimits(**{"workers": 1, "task_s": 30.0, **(limits or {})}),
        format_name=format_name,
        afresh=afresh,
        catalog=catalog,
    )


def measure(paths, out, *, watcher=None, **options):
    """Run an order over fakes here."""
    return measure_to_tables(order_for(paths, out, **options), watcher)


def tables_in(out):
    """The bytes of all tables."""
    return {name: (out / name).read_bytes() for name in TABLES}


def rows_in(out, table):
    """The rows of one table as dicts of texts."""
    with (out / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def files_in(out):
    """Status, why and where of every input, by name."""
    return {row["file"]: (row["status"], row["why"], row["where"]) for row in rows_in(out, "files")}


def write_clip(path, shots, **more):
    """A clip made of words, see `FakeClip`."""
    path.write_text(json.dumps({"shots": shots, **more}), "utf-8")
    return path


def is_sound(catalog):
    """True when the catalog passes its integrity check and nobody holds anything in it."""
    with Catalog.open_to_read(catalog) as opened:
        return opened.check() == ()


def start_run(paths, out, **limits):
    """A run in a process of its own."""
    code = (
        "import json, signal, sys; sys.path.insert(0, sys.argv[1])\n"
        "from tests.pipeline.runs import measure\n"
        "if __name__ == '__main__':\n"
        # whoever starts the tests in the background has made their children deaf to Ctrl-C
        "    signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "    from pathlib import Path\n"
        "    paths, out, limits = json.loads(sys.argv[2])\n"
        "    summary = measure([Path(path) for path in paths], Path(out), limits=limits)\n"
        "    print(summary.interrupted, summary.left, len(summary.files))\n"
    )
    content = json.dumps([[str(path) for path in paths], str(out), limits])
    return subprocess.Popen(
        [sys.executable, "-c", code, ROOT, content],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def wait_for_entries(out, count, process, table="frames"):
    """Wait until a run has entered so many rows of a table in its catalog."""
    catalog = out / "framecheck.sqlite"
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline and process.poll() is None:
        if count_entered(catalog, table) >= count:
            return
        time.sleep(0.05)
    raise AssertionError(f"no {count} {table} in the catalog: {process.communicate()}")


def count_entered(catalog, table="frames"):
    """Rows of a table in a catalog that others may be writing to."""
    import contextlib
    import sqlite3

    with (
        contextlib.suppress(sqlite3.Error),
        contextlib.closing(sqlite3.connect(f"{Path(catalog).as_uri()}?mode=ro", uri=True)) as base,
    ):
        return base.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
    return 0
