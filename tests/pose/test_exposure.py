"""Dark pictures lifted."""

import numpy as np
import pytest

from framecheck.pose.exposure import BRIGHT_SHARE, LIT, lift_shadows
from framecheck.records.picture import Picture
from framecheck.records.values import Box


def grey_picture(values, *, active: Box | None = None) -> Picture:
    rgb = np.repeat(np.asarray(values, np.uint8)[..., None], 3, axis=2)
    rows, columns = rgb.shape[:2]
    whole = Box(x_px=0, y_px=0, w_px=columns, h_px=rows)
    return Picture(rgb=rgb, active=active or whole, name="dark.png")


def test_the_light_of_a_dark_picture_is_lifted_to_what_networks_know() -> None:
    ramp = np.tile(np.linspace(0, 60, 400), (40, 1))
    lifted = lift_shadows(grey_picture(ramp))
    assert lifted is not None
    assert np.quantile(lifted.rgb, BRIGHT_SHARE) == pytest.approx(LIT, abs=3)


def test_black_stays_black_and_the_order_of_tones_stays() -> None:
    ramp = np.tile(np.arange(0, 64), (64, 1))
    lifted = lift_shadows(grey_picture(ramp))
    assert lifted is not None
    tones = lifted.rgb[0, :, 0].astype(int)
    assert tones[0] == 0
    assert (np.diff(tones) >= 0).all()
    assert tones[-1] <= 255


@pytest.mark.parametrize("level", [0, 1, 160, 255])
def test_black_and_bright_pictures_are_left_alone(level) -> None:
    assert lift_shadows(grey_picture(np.full((40, 40), level))) is None


def test_black_bars_do_not_count() -> None:
    """Bright inside, but 95 of 100 rows are bars: nothing to lift."""
    values = np.zeros((400, 40))
    values[200:220] = 200
    active = Box(x_px=0, y_px=200, w_px=40, h_px=20)
    assert lift_shadows(grey_picture(values, active=active)) is None
