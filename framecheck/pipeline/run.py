"""One run from inputs to tables: take over what is done, measure the rest, write."""

from __future__ import annotations

from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.errors import ConfigError
from framecheck.export.writers import check_writer
from framecheck.pipeline.desk import Desk
from framecheck.pipeline.foreman import Foreman
from framecheck.pipeline.order import Order, RunSummary, Watcher, nobody
from framecheck.pipeline.tables import catalog_layout, write_tables


def measure_to_tables(order: Order, watcher: Watcher | None = None) -> RunSummary:
    """Measure all inputs and write the tables; Ctrl-C writes the tables of what is done.

    Raises:
        CatalogError: the catalog cannot be used, or is full; what was entered is kept.
        ConfigError: the format or the output folder cannot be used.
        ExportError: an output cannot be written.
        ModelError: the networks would not load.
        WorkerError: the workers cannot be started.
    """
    check_writer(order.format_name)
    _make_folder(order.out)
    watcher = watcher or nobody()
    with Catalog.open(order.catalog, layout=catalog_layout(order.further)) as catalog:
        for note in catalog.notes:
            watcher.told(note)
        catalog.describe_settings(order.fingerprint, order.described)
        desk = Desk(order, catalog)
        try:
            Foreman(desk, watcher).run()
        except KeyboardInterrupt:
            return write_tables(desk, interrupted=True)
        return write_tables(desk, interrupted=False)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ConfigError(f"cannot use {folder} for output: {reason}", where=str(folder)) from error
