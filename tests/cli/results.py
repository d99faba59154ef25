"""Results of a small run over fakes: stills and clips made of words."""

from __future__ import annotations

from tests.pipeline.runs import measure, write_clip


def some_results(folder, **options):
    """Measure three stills and two clips into `folder`; their names have spaces and other traps."""
    media = folder.parent / f"{folder.name} media"
    media.mkdir()
    stills = [media / "01 wide.jpg", media / "close-up é.jpg", media / "nobody.jpg"]
    for path, size in zip(stills, ("5", "14", "0"), strict=True):
        path.write_text(size)
    clips = [
        write_clip(media / "A001 C002.clip", [[48, 5], [24, 9], [36, 14]]),
        write_clip(media / "B 7.clip", [[30, 12]]),
    ]
    summary = measure([*stills, *clips], folder, **options)
    assert all(row["status"] == "measured" for row in summary.files)
    return folder
