"""Who the picture is about: the largest clear face (common practice), and why."""

import pytest

from framecheck.measure.head import Head
from framecheck.measure.subject import Candidate, prominence, rank_people, shows_face
from framecheck.records.framing import Role
from framecheck.records.values import Box
from tests.measure.figures import the_picture

PICTURE = the_picture(1600, 900)


def a_candidate(
    x_px: float = 800.0, *, head_frac: float = 0.2, face_share: float = 1.0
) -> Candidate:
    head = Head(
        eye_px=(x_px, 300.0), chin_px=(x_px, 360.0), nose_px=(x_px, 330.0), down=(0.0, 1.0),
        eye_to_chin_px=60.0, yaw_deg=0.0, pitch_deg=0.0, roll_deg=0.0, from_mesh=True,
    )  # fmt: skip
    return Candidate(head=head, head_frac=head_frac, face_share=face_share)


def ranked(*candidates: Candidate) -> list[tuple[int, Role]]:
    return [(place.source, place.role) for place in rank_people(candidates, PICTURE)]


def test_nobody_is_no_subject() -> None:
    assert rank_people([], PICTURE) == ()


def test_one_person_is_the_subject_even_from_behind() -> None:
    (place,) = rank_people([a_candidate(face_share=0.0)], PICTURE)
    assert place.role is Role.SUBJECT
    assert place.choice == "the only person found"


def test_the_larger_face_is_the_subject() -> None:
    small, large = a_candidate(600, head_frac=0.15), a_candidate(1000, head_frac=0.25)
    assert ranked(small, large) == [(1, Role.SUBJECT), (0, Role.BACKGROUND)]


def test_over_the_shoulder_the_near_back_is_foreground() -> None:
    back = a_candidate(200, head_frac=0.45, face_share=0.0)
    face = a_candidate(1000, head_frac=0.22)
    assert ranked(back, face) == [(1, Role.SUBJECT), (0, Role.FOREGROUND)]


def test_a_far_back_is_background() -> None:
    back = a_candidate(300, head_frac=0.1, face_share=0.0)
    assert ranked(back, a_candidate(head_frac=0.22))[1] == (0, Role.BACKGROUND)


def test_a_near_face_is_never_foreground() -> None:
    """It is the subject instead, unless it stands far off the middle; its face still shows."""
    aside = a_candidate(30, head_frac=0.24)
    assert ranked(aside, a_candidate(head_frac=0.2)) == [(1, Role.SUBJECT), (0, Role.BACKGROUND)]


def test_of_equal_heads_the_one_nearer_the_middle_is_the_subject() -> None:
    assert ranked(a_candidate(300), a_candidate(900))[0][0] == 1


def test_of_equal_people_the_first_stays_first() -> None:
    assert [source for source, _ in ranked(a_candidate(), a_candidate())] == [0, 1]


def test_the_middle_is_the_active_pictures() -> None:
    right_half = Box(x_px=800, y_px=0, w_px=800, h_px=900)
    assert prominence(a_candidate(1200), right_half) > prominence(a_candidate(850), right_half)


@pytest.mark.parametrize(("face_share", "shows"), [(1.0, True), (0.5, True), (0.49, False)])
def test_a_face_shows_when_that_is_as_likely_as_not(face_share, shows) -> None:
    assert shows_face(a_candidate(face_share=face_share)) is shows


def test_a_face_in_doubt_gives_way_to_one_that_was_found() -> None:
    """0.23 counts 0.3 + 0.7 x 0.6 = 0.72 times: less than a sure face of 0.20."""
    doubtful, sure = a_candidate(head_frac=0.23, face_share=0.6), a_candidate(head_frac=0.2)
    assert ranked(doubtful, sure) == [(1, Role.SUBJECT), (0, Role.BACKGROUND)]


def test_the_reason_is_told() -> None:
    places = rank_people([a_candidate(head_frac=0.3), a_candidate(500, head_frac=0.15)], PICTURE)
    assert places[0].choice == "most prominent of 2: head 0.30 of the height, whose face shows"
    assert places[1].choice == "less prominent: head 0.50 times the subject's"


@pytest.mark.parametrize(
    ("x_px", "share"),
    [(800, 1.0), (1200, 1 - 0.45 * 0.25), (1600, 0.55), (0, 0.55), (2000, 0.1), (9000, 0.1)],
)
def test_a_face_counts_less_the_farther_it_stands_from_the_middle(x_px, share) -> None:
    """1 in the middle, less by 0.45 of the square of the way to the side; at least a tenth."""
    candidate = a_candidate(x_px, head_frac=0.2)
    expected = 0.2 * max(share, 0.1) if x_px <= 1600 else 0.2 * max(0.1, 1 - 0.45 * 1.5**2)
    assert prominence(candidate, PICTURE) == pytest.approx(expected)
    behind = a_candidate(x_px, head_frac=0.2, face_share=0.0)
    assert prominence(behind, PICTURE) == pytest.approx(0.3 * expected)
    moved = Box(x_px=500, y_px=0, w_px=1600, h_px=900)
    assert prominence(a_candidate(x_px + 500, head_frac=0.2), moved) == pytest.approx(expected)


def test_a_back_must_be_nearer_by_more_than_an_eighth_to_frame_the_view() -> None:
    for share, role in ((1.12, Role.BACKGROUND), (1.13, Role.FOREGROUND)):
        back = a_candidate(head_frac=0.2 * share, face_share=0.0)
        assert ranked(a_candidate(head_frac=0.2), back)[1] == (1, role)


def test_everybody_is_told_why() -> None:
    people = [a_candidate(head_frac=0.2), a_candidate(head_frac=0.3, face_share=0.0),
              a_candidate(head_frac=0.05)]  # fmt: skip
    assert [place.choice for place in rank_people(people, PICTURE)] == [
        "most prominent of 3: head 0.20 of the height, whose face shows",
        "nearer to the lens, seen from behind",
        "less prominent: head 0.25 times the subject's",
    ]
    backs = [a_candidate(head_frac=size, face_share=0.0) for size in (0.2, 0.1)]
    assert rank_people(backs, PICTURE)[0].choice == (
        "most prominent of 2: head 0.20 of the height, though seen from behind"
    )


def test_of_equals_the_first_comes_first() -> None:
    assert ranked(*[a_candidate() for _ in range(3)]) == [
        (0, Role.SUBJECT), (1, Role.BACKGROUND), (2, Role.BACKGROUND),
    ]  # fmt: skip
