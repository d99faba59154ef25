"""Safe areas against the figures of EBU R 95, SMPTE ST 2046-1 and ITU-R BT.1848-1."""

import pytest

from framecheck.geometry.safe_areas import SafeArea, is_within, safe_area, safe_inset_px
from framecheck.records.values import Box


@pytest.mark.parametrize(
    ("raster", "action_px", "graphics_px"),
    [
        # EBU R 95 lists first and last pixels: 67 and 38 from the edges of 1920 x 1080, 96 and 54
        ((1920, 1080), (67, 38), (96, 54)),
        ((1280, 720), (45, 25), (64, 36)),
        ((3840, 2160), (134, 76), (192, 108)),
    ],
)
def test_published_insets(raster, action_px, graphics_px) -> None:
    assert safe_inset_px(raster, SafeArea.ACTION) == action_px
    assert safe_inset_px(raster, SafeArea.GRAPHICS) == graphics_px


@pytest.mark.parametrize(
    ("raster", "action", "graphics"),
    [
        # SMPTE ST 2046-1: 93 % and 90 % of width and height, to the nearest pixel
        ((1920, 1080), (1786, 1004), (1728, 972)),
        ((1280, 720), (1190, 670), (1152, 648)),
        ((3840, 2160), (3571, 2009), (3456, 1944)),
    ],
)
def test_published_sizes(raster, action, graphics) -> None:
    picture = Box(x_px=0, y_px=0, w_px=raster[0], h_px=raster[1])
    for kind, size in ((SafeArea.ACTION, action), (SafeArea.GRAPHICS, graphics)):
        area = safe_area(picture, kind)
        assert (round(area.w_px), round(area.h_px)) == size
        assert area.centre_px == pytest.approx(picture.centre_px)


def test_a_box_inside_another() -> None:
    outer = Box(x_px=10, y_px=10, w_px=100, h_px=50)
    assert is_within(outer, outer)
    assert is_within(Box(x_px=20, y_px=10, w_px=10, h_px=10), outer)
    for x, y in ((9, 10), (10, 9), (101, 10), (10, 51)):
        assert not is_within(Box(x_px=x, y_px=y, w_px=10, h_px=10), outer)
