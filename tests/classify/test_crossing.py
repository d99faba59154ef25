from __future__ import annotations

import pytest

from framecheck.classify.crossing import Crossing, beyond_px, first_crossing
from framecheck.records.framing import Edge
from framecheck.records.values import Box

PICTURE = Box(x_px=100, y_px=50, w_px=200, h_px=100)  # x 100..300, y 50..150


@pytest.mark.parametrize(
    ("edge", "distance_px"),
    [(Edge.LEFT, -20), (Edge.RIGHT, -180), (Edge.TOP, -40), (Edge.BOTTOM, -60)],
)
def test_distance_is_negative_on_the_pictures_side(edge: Edge, distance_px: float) -> None:
    assert beyond_px((120, 90), PICTURE, edge) == distance_px


@pytest.mark.parametrize(
    ("points", "crossing"),
    [
        pytest.param([(200, 100), (210, 120)], None, id="stays inside"),
        pytest.param([(200, 300), (200, 400)], None, id="stays outside"),
        pytest.param([(200, 300), (200, 100)], None, id="comes in only"),
        pytest.param(
            [(200, 100), (200, 200)], Crossing(segment=0, share=0.5, edge=Edge.BOTTOM), id="bottom"
        ),
        pytest.param(
            [(200, 100), (200, 0)], Crossing(segment=0, share=0.5, edge=Edge.TOP), id="top"
        ),
        pytest.param(
            [(200, 100), (150, 100), (50, 100)],
            Crossing(segment=1, share=0.5, edge=Edge.LEFT),
            id="left on the second segment",
        ),
        pytest.param(
            [(250, 100), (450, 250)],
            Crossing(segment=0, share=0.25, edge=Edge.RIGHT),
            id="beyond two edges, the right one is met first",
        ),
        pytest.param([(200, 150), (200, 150)], None, id="on the rim is inside"),
    ],
)
def test_first_crossing(points: list[tuple[float, float]], crossing: Crossing | None) -> None:
    assert first_crossing(points, PICTURE) == crossing
