"""How likely a face shows."""

import pytest

from framecheck.measure.face_share import HeadTold, face_shares, turned_yaw_deg


def found(face_frac: float = 0.1, yaw_deg: float = 10.0) -> HeadTold:
    return HeadTold(found=True, yaw_deg=yaw_deg, face_frac=face_frac)


def missed(face_frac: float = 0.1, yaw_deg: float = 10.0) -> HeadTold:
    return HeadTold(found=False, yaw_deg=yaw_deg, face_frac=face_frac)


def test_nobody_has_no_share() -> None:
    assert face_shares([]) == ()


def test_a_face_that_was_found_shows_whatever_its_turn() -> None:
    assert face_shares([found(yaw_deg=0.0), found(yaw_deg=150.0)]) == (1.0, 1.0)


@pytest.mark.parametrize(("yaw_deg", "share"), [(0.0, 1.0), (112.5, 0.5), (180.0, 0.0)])
def test_alone_the_turn_decides(yaw_deg, share) -> None:
    """Faces are missed for many reasons; half-way from profile to back it is as likely as not."""
    for sign in (1, -1):
        assert face_shares([missed(yaw_deg=sign * yaw_deg)])[0] == pytest.approx(share, abs=1e-4)


def test_beside_a_face_that_was_found_one_that_was_missed_is_not_there() -> None:
    """Odds of a quarter: one in five."""
    assert face_shares([found(), missed()]) == pytest.approx((1.0, 0.2), abs=1e-5)


@pytest.mark.parametrize(("own", "other", "shows"), [
    (0.1, 0.13, False), (0.1, 0.131, True),  # no smaller by more than 1.3
    (0.08, 0.05, False), (0.079, 0.05, True),  # so small that faces are missed
])  # fmt: skip
def test_the_head_must_be_large_and_no_smaller_than_the_other(own, other, shows) -> None:
    share = face_shares([missed(face_frac=own), found(face_frac=other)])[0]
    assert share == pytest.approx(1.0 if shows else 0.2, abs=1e-5)


def test_the_smallest_face_that_was_found_counts() -> None:
    heads = [found(face_frac=0.3), missed(face_frac=0.1), found(face_frac=0.1)]
    assert face_shares(heads)[1] == pytest.approx(0.2, abs=1e-5)


def test_a_profile_without_a_face_is_no_wonder() -> None:
    """At 85 degrees the odds are 6 times a quarter, 1.5, and the turn is 10 / 6 short of half."""
    share = face_shares([found(), missed(yaw_deg=-85.0)])[1]
    assert share == pytest.approx(1.5 / 2.5 / (1 + 2.718281828 ** (-10 / 6)), abs=1e-6)
    assert share > 0.5
    assert face_shares([found(), missed(yaw_deg=100.0)])[1] < 0.5


@pytest.mark.parametrize(("yaw_deg", "share", "turned"), [
    (30.0, 0.2, 150.0), (-30.0, 0.2, -150.0),  # front and back mixed up
    (100.0, 0.3, 120.0), (-70.0, 0.4, -120.0),  # a back at least
    (30.0, 0.5, 30.0), (130.0, 0.1, 130.0),  # told rightly
])  # fmt: skip
def test_whose_face_does_not_show_is_turned_round(yaw_deg, share, turned) -> None:
    assert turned_yaw_deg(yaw_deg, share) == turned
