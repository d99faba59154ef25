"""What a catalog shows: for each place the one measurement that counts there."""

from __future__ import annotations

import os
from pathlib import Path

from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.store import Store


def shown_places(store: Store) -> list[tuple[Path, MeasurementId]]:
    """Each place that is not known to be gone, with the measurement of its content, by place."""
    rows = store.all(
        "SELECT p.path, c.shown FROM places p JOIN contents c ON c.id = p.content "
        "WHERE NOT p.gone AND c.shown IS NOT NULL ORDER BY p.path"
    )
    return [(Path(os.fsdecode(path)), MeasurementId(int(number))) for path, number in rows]
