"""XMP of all results: sidecars, and metadata inside of stills."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.errors import ConfigError, FramecheckError
from framecheck.pipeline.edit_clips import edit_clip_of
from framecheck.pipeline.export_order import Exported, ExportOrder
from framecheck.pipeline.results import FileResult, Results
from framecheck.pipeline.sidecars import embed_facts, sidecar_paths, write_sidecar
from framecheck.pipeline.signature import sign
from framecheck.pipeline.xmp_facts import facts_of_clip, facts_of_still


def export_xmp(results: Results, order: ExportOrder) -> Exported:
    """Sidecars, or metadata inside of stills, for everything that was measured and is there."""
    there = [file for file in results.files if file.path is not None]
    problems = _gone([file.file for file in results.files if file.path is None])
    sidecars = [file for file in there if not (order.embed and file.is_still)]
    folder = None if order.beside else order.out
    targets = sidecar_paths([_path_of(file) for file in sidecars], folder)
    written = []
    with _catalog_to_tell(results, order) as catalog:
        for file in there:
            try:
                with _remembered(catalog, _path_of(file)):
                    written.append(_write_xmp(file, targets, order))
            except ConfigError:
                raise
            except FramecheckError as error:  # one bad sidecar must not stop the others
                problems.append(str(error))
    return Exported(written=tuple(written), problems=tuple(problems))


@contextlib.contextmanager
def _catalog_to_tell(results: Results, order: ExportOrder) -> Iterator[Catalog | None]:
    """The catalog of the results, when stills are about to change."""
    source = results.source if results.source.is_file() else results.source / CATALOG_NAME
    if not order.embed or not source.is_file():
        yield None
        return
    with Catalog.open(source) as catalog:
        yield catalog


@contextlib.contextmanager
def _remembered(catalog: Catalog | None, path: Path) -> Iterator[None]:
    """Let the catalog take a still for the same one after its metadata has changed.

    Its pixels were proven to be the same, so that what was measured of it holds, and it need not be
    measured again.
    """
    if catalog is None or not path.is_file():
        yield
        return
    before = sign((path,))
    yield
    content = catalog.known_content(path, *before)
    if content is not None and (after := sign((path,))) != before:
        catalog.remember_place(content, path, *after)


def _gone(files: Sequence[str]) -> list[str]:
    if not files:
        return []
    count = "1 file is not where it was"
    if len(files) > 1:
        count = f"{len(files)} files are not where they were"
    return [f"{count} measured, {files[0]} first; say with --media where the media lie"]


def _write_xmp(file: FileResult, targets: Mapping[Path, Path], order: ExportOrder) -> Path:
    path = _path_of(file)
    if file.is_still:
        frame, people = next(file.pictures())
        facts = facts_of_still(frame, people)
        if order.embed:
            size = (int(frame["width_px"] or 0), int(frame["height_px"] or 0))
            return embed_facts(path, facts, size)
    else:
        facts = facts_of_clip(file, edit_clip_of(file, order.out))
    return write_sidecar(path, targets[path], facts)


def _path_of(file: FileResult) -> Path:
    if file.path is None:
        raise ValueError(f"{file.file} has no place")
    return file.path
