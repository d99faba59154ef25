"""Dask's client: opened, asked, and left. The only place that sets up the library."""

from __future__ import annotations

import logging
from asyncio import CancelledError
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.errors import ConfigError, WorkerError
from framecheck.pipeline.dask_worker import stop_run

if TYPE_CHECKING:
    from distributed import Client

LOG = logging.getLogger(__name__)
RUNNING = "running"


def open_client(address: str, limit_s: float) -> Client:
    """A connection to the scheduler at that host and port.

    Raises:
        ConfigError: Dask is missing.
        WorkerError: nobody answers in that time.
    """
    client_of = _import_client()
    try:
        return client_of(
            f"{_protocol()}://{address}", timeout=limit_s, set_as_default=False, name="framecheck"
        )
    except (OSError, RuntimeError, ValueError, CancelledError) as error:
        raise WorkerError(
            f"the scheduler at {address} does not answer; start it with 'dask scheduler', and "
            "check host and port",
            where="--on",
        ) from error


def count_workers(client: Client) -> Mapping[str, int] | None:
    """The threads of each worker; None when nobody answers."""
    if client.status != RUNNING:
        return None
    try:
        return dict(client.nthreads())
    except (OSError, RuntimeError, ValueError, CancelledError):
        return None


def leave(client: Client, stopped_run: str = "") -> None:
    """Close the connection; tell the workers first when a run ends before its work is done."""
    try:
        if stopped_run and client.status == RUNNING:
            client.run(stop_run, stopped_run, on_error="ignore")
    except (Exception, CancelledError):  # whoever is gone need not be told
        LOG.debug("the workers were not told", exc_info=True)
    finally:
        client.close(timeout=1)


def route_words(log: Path | None) -> None:
    """What Dask says goes to the log, or nowhere: what matters is told in our own words.

    Raises:
        ConfigError: Dask is missing.
    """
    _import_client()  # importing it sets up its own way
    words = logging.getLogger("distributed")
    words.handlers = [logging.NullHandler() if log is None else logging.FileHandler(log)]
    words.propagate = False


def cluster_words(workers: Mapping[str, int]) -> str:
    """What the user should know of the cluster."""
    if not workers:
        return "the cluster has no workers yet; waiting for them"
    words = f"the cluster has {len(workers)} worker{'s' if len(workers) > 1 else ''}"
    if max(workers.values()) > 1:
        words += "; each measures one picture at a time: start them with --nthreads 1"
    return words


def _import_client() -> Callable[..., Client]:
    try:
        from distributed import Client
    except ImportError as error:
        raise ConfigError(
            "a cluster needs Dask: pip install 'framecheck[cluster]'", where="--on"
        ) from error
    opened: Callable[..., Client] = Client
    return opened


def _protocol() -> str:
    import dask

    return "tls" if dask.config.get("distributed.comm.require-encryption", None) else "tcp"
