from __future__ import annotations

from dataclasses import replace

import pytest

from framecheck.classify.arm_flags import find_arm_flags
from framecheck.records.framing import Edge
from framecheck.records.judged import Severity


def an_arm(a_joint, elbow, wrist, tips, side="left"):
    places = {"elbow": elbow, "wrist": wrist, "fingertips": tips}
    return tuple(a_joint(part, *at, side) for part, at in places.items() if at is not None)


# The picture is 1600 px wide, its bottom edge at y = 500; the shoulder lies at (800, 282), and the
# figure is 1000 px long, so that 10 px are 0.01 on the ruler.
@pytest.mark.parametrize(
    ("elbow", "wrist", "tips", "expected"),
    [
        pytest.param((760, 400), (760, 440), (760, 480), None, id="all inside"),
        pytest.param((760, 400), (760, 510), (760, 600), ("wrist", 0.01), id="wrist just lost"),
        pytest.param((760, 380), (760, 480), (760, 570), ("wrist", -0.02), id="wrist just shown"),
        pytest.param((760, 400), (760, 560), (760, 660), None, id="mid-forearm"),
        pytest.param((760, 480), (760, 620), (760, 720), ("elbow", -0.02), id="elbow just shown"),
        pytest.param((760, 520), (760, 660), (760, 760), ("elbow", 0.02), id="elbow just lost"),
        pytest.param((760, 600), (760, 740), (760, 840), None, id="upper arm"),
        pytest.param((760, 380), (760, 430), (760, 520), ("fingertips", 0.02), id="finger lost"),
        pytest.param((760, 380), (760, 450), (760, 550), None, id="mid-hand"),
        pytest.param((760, 400), (760, 490), (900, 480), None, id="near the edge, but not cut"),
        pytest.param((760, 490), (700, 400), (700, 350), None, id="elbow near, but not cut"),
        pytest.param((760, 515), (700, 400), (700, 350), ("elbow", 0.015), id="elbow pokes out"),
        pytest.param((760, 400), (760, 520), None, ("wrist", 0.02), id="no fingertips known"),
        pytest.param(None, None, None, None, id="no arm known"),
    ],
)
def test_bottom_edge(a_person, a_picture, a_joint, thresholds, elbow, wrist, tips, expected):
    picture = a_picture(0.6)
    person = a_person(picture, joints=an_arm(a_joint, elbow, wrist, tips))
    flags = list(find_arm_flags(person, person.ruler, picture, thresholds))
    found = [(flag.part, pytest.approx(flag.distance_level)) for flag in flags]
    assert found == ([] if expected is None else [expected])
    assert all(flag.edge is Edge.BOTTOM for flag in flags)


@pytest.mark.parametrize(
    ("side", "x_px", "edge"), [("left", 1580, Edge.RIGHT), ("right", 20, Edge.LEFT)]
)
def test_a_raised_arm_cut_by_a_side(
    a_person, a_picture, a_joint, thresholds, side, x_px, edge
) -> None:
    picture = a_picture(0.6)
    outward = 1 if edge is Edge.RIGHT else -1
    arm = an_arm(
        a_joint, (x_px - 140 * outward, 300), (x_px, 300), (x_px + 100 * outward, 300), side
    )
    person = a_person(picture, joints=arm)
    flags = list(find_arm_flags(person, person.ruler, picture, thresholds))
    assert [(f.part, f.edge, f.severity) for f in flags] == [("wrist", edge, Severity.MEDIUM)]
    assert flags[0].distance_level == pytest.approx(-0.02)


def test_an_unseen_wrist_squeezed_to_the_edge_is_put_back_to_a_forearms_length(
    a_person, a_picture, a_joint, thresholds
) -> None:
    # Elbow 80 px over the edge, the wrist guessed 10 px under it: a whole forearm (146 px) ends
    # 66 px under it, so that the cut goes through the middle of the forearm.
    picture = a_picture(0.6)
    seen = an_arm(a_joint, (760, 420), (760, 510), (760, 520))
    guessed = (seen[0], *(replace(joint, seen=False, inside=False) for joint in seen[1:]))
    person = a_person(picture, joints=seen)
    assert [f.part for f in find_arm_flags(person, person.ruler, picture, thresholds)] == ["wrist"]
    person = replace(person, joints=guessed)
    assert list(find_arm_flags(person, person.ruler, picture, thresholds)) == []


def test_a_guessed_joint_is_less_certain(a_person, a_picture, a_joint, thresholds) -> None:
    picture = a_picture(0.6)
    seen = an_arm(a_joint, (760, 364), (760, 510), (760, 618))
    guessed = (seen[0], *(replace(joint, seen=False) for joint in seen[1:]))
    certainties = []
    for joints in (seen, guessed):
        person = a_person(picture, joints=joints)
        flags = list(find_arm_flags(person, person.ruler, picture, thresholds))
        assert [flag.distance_level for flag in flags] == [pytest.approx(0.01)]
        certainties.append(flags[0].certainty)
    assert certainties[1] < certainties[0]


def test_a_guess_on_top_of_the_joint_before_it_has_no_direction(
    a_person, a_picture, a_joint, thresholds
) -> None:
    picture = a_picture(0.6)
    joints = an_arm(a_joint, (760, 450), (760, 450), None)
    person = a_person(picture, joints=(joints[0], replace(joints[1], seen=False)))
    assert list(find_arm_flags(person, person.ruler, picture, thresholds)) == []


def test_a_flag_carries_the_number_of_its_person(a_person, a_picture, a_joint, thresholds) -> None:
    picture = a_picture(0.6)
    arm = an_arm(a_joint, (760, 400), (760, 510), (760, 600))
    person = a_person(picture, person=3, joints=arm)
    assert [f.person for f in find_arm_flags(person, person.ruler, picture, thresholds)] == [3]


@pytest.mark.parametrize(("across", "down"), [(30, 40), (0, 50), (50, 0)])
def test_an_unseen_wrist_is_a_forearm_away_from_the_elbow(
    a_person, a_picture, a_joint, thresholds, across, down
) -> None:
    """A forearm is 146 px here: 30 and 40 px of it become 87.6 and 116.8."""
    picture = a_picture(0.6, w_px=890.0)
    elbow, wrist = a_joint("elbow", 800, 420), a_joint("wrist", 800 + across, 420 + down)
    person = a_person(picture, joints=(elbow, replace(wrist, seen=False)))
    wide = replace(thresholds, elbow_reach_level=0.0, wrist_reach_level=1.0)
    (flag,) = find_arm_flags(person, person.ruler, picture, wide)
    x, y = 800 + across / 50 * 146, 420 + down / 50 * 146
    beyond = (x - 890) if flag.edge is Edge.RIGHT else y - 500
    assert flag.distance_level == pytest.approx(beyond / 1000)
    assert flag.edge is (Edge.RIGHT if across == 50 else Edge.BOTTOM)
