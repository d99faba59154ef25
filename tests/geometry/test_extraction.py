"""Delivery frames, against the worked examples of the ASC Framing Decision List.

The figures are those of the specification 2.0.1 (appendices and section 7.4.12) and of the test
vectors that its working group publishes with it (github.com/ascmitc/fdl, in
native/core/tests/vectors).
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.geometry.extraction import (
    Rounding,
    RoundMode,
    centred,
    extract,
    fit_aspect,
    round_length,
    shift_inside,
    spare_px,
)
from framecheck.records.delivery import Delivery
from framecheck.records.values import Box

EVEN, WHOLE = True, False
ASKED = 1608.75


def box(x, y, w, h) -> Box:
    return Box(x_px=x, y_px=y, w_px=w, h_px=h)


@pytest.mark.parametrize(
    ("value", "even", "mode", "expected"),
    [
        # section 7.4.12
        (ASKED, EVEN, "round", 1608), (ASKED, EVEN, "up", 1610), (ASKED, EVEN, "down", 1608),
        (ASKED, WHOLE, "round", 1609), (ASKED, WHOLE, "up", 1609), (ASKED, WHOLE, "down", 1608),
        # rounding_vectors.json
        (0.0, EVEN, "up", 0), (1.0, EVEN, "up", 2), (1.0, EVEN, "down", 0), (1.0, EVEN, "round", 2),
        (1.5, WHOLE, "round", 2), (2.5, WHOLE, "round", 3), (2.5, EVEN, "round", 2),
        (3.0, EVEN, "round", 4), (19.456, WHOLE, "up", 20), (19.456, EVEN, "down", 18),
        (79.5, EVEN, "up", 80), (80.5, WHOLE, "down", 80), (-3.5, WHOLE, "up", -4),
        (-3.5, EVEN, "down", -2), (-3.5, WHOLE, "round", -4), (-19.456, EVEN, "up", -20),
    ],
)  # fmt: skip
def test_published_roundings(value, even, mode, expected) -> None:
    assert round_length(value, Rounding(even=even, mode=RoundMode(mode))) == expected


@pytest.mark.parametrize(
    ("canvas", "aspect", "protection", "protected", "frame"),
    [
        # appendices: protection dimensions and anchor, then framing dimensions and anchor
        ((4448, 3096), "2/1", "0.10", (0, 436, 4448, 2224), (222, 547, 4004, 2002)),
        # from_intent_vectors.json
        ((4096, 2160), "239/100", "0", (0, 223, 4096, 1714), (0, 223, 4096, 1714)),
        ((4096, 2160), "239/100", "0.1", (0, 223, 4096, 1714), (204, 308, 3688, 1544)),
        ((4096, 2160), "133/100", "0", (611, 0, 2874, 2160), (611, 0, 2874, 2160)),
        ((4096, 2160), "133/100", "0.05", (611, 0, 2874, 2160), (682, 54, 2732, 2052)),
        ((4096, 2160), "1", "0", (968, 0, 2160, 2160), (968, 0, 2160, 2160)),
        ((1920, 1080), "16/9", "0", (0, 0, 1920, 1080), (0, 0, 1920, 1080)),
        ((4096, 2160), "239/100", "0.5", (0, 223, 4096, 1714), (1024, 651, 2048, 858)),
    ],
)
def test_published_frames(canvas, aspect, protection, protected, frame) -> None:
    delivery = Delivery(name="d", aspect=Fraction(aspect), protection=Fraction(protection))
    found = extract(box(0, 0, *canvas), delivery)
    assert found.protected == box(*protected)
    assert found.frame == box(*frame)


def test_the_published_frame_in_an_effective_area() -> None:
    # appendix: effective area 4004 x 2786 at 222, 155, 2:1 with 5 % protection
    delivery = Delivery(name="d", aspect=Fraction(2), protection=Fraction("0.05"))
    found = extract(box(222, 155, 4004, 2786), delivery)
    assert found.protected == box(222, 547, 4004, 2002)
    assert found.frame == box(322, 597, 3804, 1902)


@pytest.mark.parametrize(
    ("even", "mode", "height", "y"), [(WHOLE, "round", 1714, 223), (EVEN, "down", 1712, 224)]
)
def test_published_frames_rounded_otherwise(even, mode, height, y) -> None:
    found = extract(
        box(0, 0, 4096, 2160),
        Delivery(name="d", aspect=Fraction(239, 100)),
        rounding=Rounding(even=even, mode=RoundMode(mode)),
    )
    assert found.frame == box(0, y, 4096, height)


def test_the_published_squeezed_frame() -> None:
    delivery = Delivery(name="d", aspect=Fraction(239, 100))
    found = extract(box(0, 0, 4096, 3432), delivery, squeeze=Fraction(2))
    assert found.frame == box(0, 2, 4096, 3428)


def test_offsets_stop_at_the_edge() -> None:
    picture = box(10, 20, 1920, 1080)
    # (1920 - 608) / 2 = 656 to either side
    upright = Delivery(name="9:16", aspect=Fraction(9, 16), offset_x_frac=0.1)
    assert extract(picture, upright).frame == box(10 + 656 + 192, 20, 608, 1080)
    far = Delivery(name="9:16", aspect=Fraction(9, 16), offset_x_frac=-0.9, offset_y_frac=0.5)
    assert extract(picture, far).frame == box(10, 20, 608, 1080)
    assert spare_px(box(0, 0, 608, 1080), picture) == (656, 0)


def test_a_fixed_frame_is_taken_as_it_is() -> None:
    fixed = Delivery(name="a", aspect=Fraction(1), fixed_frac=(0.25, 0.5, 0.5, 0.25))
    assert extract(box(0, 40, 400, 200), fixed).frame == box(100, 140, 200, 50)


def test_odd_pictures_are_never_left() -> None:
    found = extract(box(0, 0, 1081, 607), Delivery(name="d", aspect=Fraction(1081, 607)))
    assert found.frame == box(0, 0, 1081, 607)


@pytest.mark.parametrize(
    ("aspect", "protection"), [("0", "0"), ("-1", "0"), ("1", "1"), ("1", "-0.1")]
)
def test_deliveries_that_cannot_be(aspect, protection) -> None:
    with pytest.raises(ValueError, match=r"must be above 0|from 0 to below 1"):
        Delivery(name="d", aspect=Fraction(aspect), protection=Fraction(protection))


@given(
    st.integers(16, 8000), st.integers(16, 8000),
    st.fractions(Fraction(1, 4), 4), st.fractions(0, Fraction(9, 10)),
    st.floats(-1, 1), st.floats(-1, 1),
)  # fmt: skip
def test_frames_lie_inside_their_picture(width, height, aspect, protection, x, y) -> None:
    picture = box(7, 3, width, height)
    delivery = Delivery(
        name="d", aspect=aspect, protection=protection, offset_x_frac=x, offset_y_frac=y
    )
    found = extract(picture, delivery)
    for inner, outer in ((found.frame, found.protected), (found.protected, picture)):
        assert outer.x_px <= inner.x_px
        assert inner.right_px <= outer.right_px + 1e-9
        assert outer.y_px <= inner.y_px
        assert inner.bottom_px <= outer.bottom_px + 1e-9
    exact = fit_aspect((width, height), aspect)
    assert abs(found.protected.w_px - exact[0]) <= 2
    assert abs(found.protected.h_px - exact[1]) <= 2


def test_centred_and_shifted_boxes() -> None:
    inner = centred((10, 4), box(0, 0, 30, 10))
    assert inner == box(10, 3, 10, 4)
    assert shift_inside(inner, (100, -1), box(0, 0, 30, 10)) == box(20, 2, 10, 4)
