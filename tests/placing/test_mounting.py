"""Fixing by mounts: holes meet holes, faces meet face to face, what cannot fit is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout3d.placing.mounting import MountError, mounted, slides
from layout3d.scene.model import FixedTo
from shapes.fan import Fan
from shapes.graphics_card import GraphicsCard
from shapes.motherboard import Motherboard
from shapes.part import Hole, Mount, Part
from shapes.pose import Pose, compose
from shapes.radiator import Radiator

# Fan hole spacings 105 and 124.5 mm: the fan tables of references such as the "Computer fan"
# encyclopaedia article; fans of one radiator stand 120 mm apart (geometry).
FAN_120 = tuple(Hole((x, y), 4.3) for x in (-52.5, 52.5) for y in (-52.5, 52.5))
FAN_140 = tuple(Hole((x, y), 4.3) for x in (-62.25, 62.25) for y in (-62.25, 62.25))
RADIATOR_360 = tuple(Hole((x + n * 120.0, y), 4.0) for n in (-1, 0, 1) for x, y in (h.at for h in FAN_120))


def rails(half: float, travel: float) -> tuple[Hole, ...]:
    """One long slot on each side."""
    return (Hole((0.0, -half), 4.5, travel), Hole((0.0, half), 4.5, travel))


def part_with(name: str, mount2part: Pose, kind: str = "fan", **rows: tuple[Hole, ...]) -> Part:
    return Part((), mounts={name: Mount(mount2part, kind, rows or {"": ()}, sheet=1.0)})


CASE = part_with(
    "roof",
    Pose.facing((240.0, 100.0, 470.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)),
    **{"120": rails(52.5, 400.0), "140": rails(62.25, 400.0)},
)
RADIATOR = part_with(
    "a", Pose.facing((0.0, 0.0, 15.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)), **{"120": RADIATOR_360}
)


def test_a_radiator_hangs_under_the_roof() -> None:
    seat = mounted(RADIATOR, FixedTo(mount="case.roof", slide=12.0), CASE)
    assert (seat.by, seat.row) == ("a", "120")
    # Its mounting face lies in the roof's plane, 15 mm above its centre; it slid to the front.
    np.testing.assert_allclose(seat.guest2host.origin, (252.0, 100.0, 455.0), atol=1e-12)
    np.testing.assert_allclose(seat.guest2host.rotation, np.eye(3), atol=1e-12)


def test_on_the_outside_it_stands_on_the_sheet() -> None:
    fixed = FixedTo(mount="case.roof", side="outside", slide=12.0)
    seat = mounted(RADIATOR, fixed, CASE)
    # 1 mm of sheet further up, then the other way over: the part's roof face looks down.
    np.testing.assert_allclose(seat.guest2host.origin, (252.0, 100.0, 486.0), atol=1e-12)
    np.testing.assert_allclose(seat.guest2host.z_axis, (0.0, 0.0, -1.0), atol=1e-12)


def test_lift_turn_and_shift() -> None:
    stand = part_with("shroud", Pose.facing((300.0, 50.0, 100.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)), "stand")
    foot = part_with("foot", Pose.facing((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)), "stand")
    fixed = FixedTo(mount="case.shroud", slide=10.0, shift=20.0, lift=3.0, turn=90.0)
    seat = mounted(foot, fixed, stand)
    np.testing.assert_allclose(seat.guest2host.origin, (310.0, 70.0, 103.0), atol=1e-12)
    np.testing.assert_allclose(seat.guest2host.x_axis, (0.0, 1.0, 0.0), atol=1e-12)


@pytest.mark.parametrize(
    ("fixed", "guest", "fragments"),
    [
        (
            FixedTo(mount="case.roof", row="140"),
            RADIATOR,
            ["hole patterns differ", "12 holes 345 x 105", "2 holes 0 x 124.5"],
        ),
        (
            FixedTo(mount="case.roof", slide=60.0),
            RADIATOR,
            ["slide 60 mm is beyond the slots", "-27.5 to 27.5 mm"],
        ),
        (FixedTo(mount="case.roof", row="92"), RADIATOR, ["unknown row '92'", "120, 140"]),
        (FixedTo(mount="case.roof", by="b"), RADIATOR, ["unknown mount 'b'", "it has a"]),
        (FixedTo(mount="case.roof", flip=True), RADIATOR, ["cannot be flipped"]),
        (FixedTo(mount="case.roof", shift=5.0), RADIATOR, ["shift 5 mm", "slide"]),
        (
            FixedTo(mount="case.roof"),
            part_with("foot", Pose.at((0, 0, 0)), "stand"),
            ["a 'fan' mount", "stand"],
        ),
    ],
)
def test_what_cannot_fit_is_refused(fixed: FixedTo, guest: Part, fragments: list[str]) -> None:
    with pytest.raises(MountError) as error:
        mounted(guest, fixed, CASE)
    for fragment in fragments:
        assert fragment in str(error.value)


def test_a_card_stands_straight_in_its_slot() -> None:
    board, card = Motherboard().build(), GraphicsCard().build()
    name = next(name for name, mount in board.mounts.items() if mount.kind == "slot")
    mounted(card, FixedTo(mount=f"board.{name}", turn=360.0), board)
    for key, value in (("turn", 30.0), ("lift", 5.5)):
        with pytest.raises(MountError, match="goes into a slot") as error:
            mounted(card, FixedTo(mount=f"board.{name}", **{key: value}), board)
        assert error.value.key == key


def test_a_radiator_is_not_hung_by_the_place_of_one_fan() -> None:
    face = Pose.facing((0.0, 0.0, 15.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    one_fan = Mount(face, "fan", {"120": FAN_120}, row_of="a")
    radiator = Part((), mounts={"a": RADIATOR.mounts["a"], "a2": one_fan})
    single = part_with("rear", Pose.at((0, 0, 0)), **{"120": FAN_120})
    with pytest.raises(MountError, match="hole patterns differ: this part has 12 holes"):
        mounted(radiator, FixedTo(mount="case.rear"), single)
    assert mounted(radiator, FixedTo(mount="case.rear", by="a2"), single).by == "a2"


def test_a_140_fan_fits_only_the_140_row() -> None:
    fan = part_with("inlet", Pose.at((0, 0, 0)), **{"140": FAN_140})
    assert mounted(fan, FixedTo(mount="case.roof"), CASE).row == "140"


angles = st.floats(-180, 180)
poses = st.builds(Pose.at, st.tuples(*[st.floats(-500, 500)] * 3), st.tuples(angles, angles, angles))


@given(poses, poses, st.floats(-100, 100), angles, st.booleans())
def test_holes_meet_wherever_the_mounts_are(
    host_mount: Pose, guest_mount: Pose, slide: float, turn: float, outside: bool
) -> None:
    holes = tuple(Hole((x, y), 4.0) for x, y in ((-30.0, -10.0), (30.0, -10.0), (20.0, 25.0)))
    guest = part_with("a", guest_mount, row=holes)
    sine, cosine = np.sin(np.radians(turn)), np.cos(np.radians(turn))
    side = -1.0 if outside else 1.0
    # Seen from the host, y is mirrored, then turned, then slid; from outside mirrored once more.
    seen = [
        Hole((slide + cosine * x + sine * y, side * (sine * x - cosine * y)), 4.0)
        for x, y in (h.at for h in holes)
    ]
    host = part_with("m", host_mount, row=tuple(seen))
    fixed = FixedTo(mount="h.m", slide=slide, turn=turn, side="outside" if outside else "inside")
    seat = mounted(guest, fixed, host)
    guest_frame = compose(guest_mount, seat.guest2host)
    depth = -1.0 if outside else 0.0
    for hole, there in zip(holes, seen, strict=True):
        here = guest_frame.apply(np.array([*hole.at, 0.0]))
        np.testing.assert_allclose(here, host_mount.apply(np.array([*there.at, depth])), atol=1e-9)
    assert float(guest_frame.z_axis @ host_mount.z_axis) == pytest.approx(1.0 if outside else -1.0)


def test_a_plain_surface_ends() -> None:
    surface = Mount(Pose.at((300.0, 50.0, 100.0)), "stand", surface=((-200.0, -40.0), (150.0, 60.0)))
    host = Part((), mounts={"shroud": surface})
    foot = part_with("foot", Pose.facing((0.0, 0.0, 0.0), (0.0, 0.0, -1.0)), "stand")
    assert mounted(foot, FixedTo(mount="case.shroud", slide=150.0, shift=-40.0), host).by == "foot"
    with pytest.raises(MountError, match=r"slide 151 mm is beyond the surface .*; -200 to 150 mm"):
        mounted(foot, FixedTo(mount="case.shroud", slide=151.0), host)
    with pytest.raises(MountError, match=r"shift 61 mm is beyond the surface"):
        mounted(foot, FixedTo(mount="case.shroud", shift=61.0), host)


def test_the_place_for_one_fan_that_would_fit_is_named() -> None:
    # A two-fan radiator on one fan: it meets by one of its places, and which of them is its owner's choice.
    fan, radiator = Fan().build(), Radiator(fans=2).build()
    with pytest.raises(MountError, match=r"say `by: a1` \(a1, a2, b1, b2\)"):
        mounted(radiator, FixedTo(mount="fan.outlet"), fan)
    assert mounted(radiator, FixedTo(mount="fan.outlet", by="a2"), fan).by == "a2"
    assert mounted(Radiator().build(), FixedTo(mount="fan.outlet"), fan).by == "a"


def test_slides_are_what_the_slots_allow_without_the_play() -> None:
    # Geometry: a hole 105 mm apart in slots with 40 mm of travel slides 20 mm each way.
    slots = tuple(Hole((x, y), 4.5, 40.0) for x in (-52.5, 52.5) for y in (-52.5, 52.5))
    host = part_with("rail", Pose.at((0, 0, 0)), **{"120": slots})
    found = slides(Fan().build(), FixedTo(mount="case.rail"), host)
    assert found == (pytest.approx((-20.0, 20.0)),)


def test_the_row_that_would_fit_is_named() -> None:
    fan = part_with("inlet", Pose.at((0, 0, 0)), **{"140": FAN_140})
    with pytest.raises(MountError, match="its row 140 would fit"):
        mounted(fan, FixedTo(mount="case.roof", row="120"), CASE)
