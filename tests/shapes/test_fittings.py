"""Straight fittings: thread, mouth, socket, and what is refused."""

from __future__ import annotations

import pytest

from shapes.barb_fitting import BarbFitting
from shapes.bounds import part_box
from shapes.pose import IDENTITY
from shapes.primitives import Cylinder
from shapes.rigid_fitting import RigidFitting
from shapes.soft_fitting import SoftFitting

ALL = [RigidFitting, SoftFitting, BarbFitting]


def bars_of(part):
    """Name -> (diameter, low, high) of each solid, all round about z."""
    found = {}
    for solid in part.solids:
        assert isinstance(solid.primitive, Cylinder)
        middle, half = float(solid.solid2part.origin[2]), solid.primitive.length / 2
        found[solid.name] = (solid.primitive.diameter, middle - half, middle + half)
    return found


@pytest.mark.parametrize("family", ALL)
def test_thread_below_the_sealing_face_mouth_on_top(family):
    part = family().build()
    low, high = part_box(part, IDENTITY)
    thread, mouth = part.ports["thread"], part.ports["mouth"]
    assert tuple(thread.port2part.origin) == (0, 0, 0)
    assert tuple(thread.port2part.z_axis) == (0, 0, -1)
    assert tuple(mouth.port2part.z_axis) == (0, 0, 1)
    assert mouth.port2part.origin[2] == high[2]
    # ISO 228-1: G1/4, 13.157 mm. Common practice, no source: 5 to 6 mm of thread.
    assert bars_of(part)["thread"] == (13.157, -5, 0)
    assert (thread.thread, thread.depth, mouth.thread) == ("G1/4", 5, None)
    assert low[2] == -5


@pytest.mark.parametrize("family", ALL)
def test_base_seals_on_the_stud_face(family):
    # DIN 3852-2: stud face 18 mm for G1/4, spot face of the port 19 mm.
    assert bars_of(family().build())["base"][0] == 18


@pytest.mark.parametrize(("tube", "least", "most"), [(12, 18, 22), (14, 20, 24), (16, 22, 26)])
def test_rigid_collars_lie_in_the_usual_range(tube, least, most):
    # Common practice, no source.
    assert least <= bars_of(RigidFitting(tube_outside=tube).build())["collar"][0] <= most


@pytest.mark.parametrize(
    ("inside", "outside", "least", "most"), [(10, 13, 17, 19), (10, 16, 20, 22), (12, 16, 20, 24)]
)
def test_soft_collars_lie_in_the_usual_range(inside, outside, least, most):
    # Common practice, no source.
    part = SoftFitting(tube_inside=inside, tube_outside=outside).build()
    assert least <= bars_of(part)["collar"][0] <= most


@pytest.mark.parametrize("family", ALL)
def test_the_socket_is_bored_for_the_tube(family):
    part = family().build()
    through, socket = part.bores
    mouth = part.ports["mouth"].port2part.origin[2]
    assert (through.diameter, through.depth, through.into) == (9, mouth + 5, ())
    assert part.socket is not None
    assert (socket.diameter, socket.depth) == (part.socket.outside, part.socket.insertion)
    assert bars_of(part)[socket.into[0]][2] == mouth


@pytest.mark.parametrize("family", [SoftFitting, BarbFitting])
def test_the_barb_fills_the_tube_within_the_socket(family):
    part = family(tube_inside="3/8 in", tube_outside="5/8 in").build()
    assert part.socket is not None
    assert part.socket.kind == "soft"
    assert (part.socket.inside, part.socket.outside) == pytest.approx((9.525, 15.875))
    diameter, low, high = bars_of(part)["barb"]
    assert diameter == part.socket.inside
    assert high - low == part.socket.insertion
    assert high == part.ports["mouth"].port2part.origin[2]


def test_rigid_tube_of_any_bore_fits():
    socket = RigidFitting(tube_outside=16, insertion=8).build().socket
    assert socket is not None
    assert (socket.kind, socket.outside, socket.inside, socket.insertion) == ("rigid", 16, None, 8)


def test_the_clamp_reaches_from_base_to_tip():
    bars = bars_of(BarbFitting().build())
    assert bars["clamp"][1:] == (bars["base"][2], bars["barb"][2]) == (5, 16)


@pytest.mark.parametrize(
    ("fitting", "message"),
    [
        (
            RigidFitting(collar_diameter=15),
            "collar_diameter 15 mm does not go round a tube of 14 mm; least 15.6",
        ),
        (RigidFitting(insertion=15), "insertion 15 mm is deeper than the collar's 14 mm"),
        (RigidFitting(bore=10), "bore 10 mm is too wide for a G1/4 thread; most 9.557"),
        (RigidFitting(tube_outside=10), "bore 9 mm is too wide for a tube end of 10 mm; most 8.4"),
        (RigidFitting(base_diameter=14), "base_diameter 14 mm cannot seal round a G1/4 thread of 13.157 mm"),
        (RigidFitting(thread="G1/2"), "base_diameter 18 mm cannot seal round a G1/2 thread"),
        (SoftFitting(tube_inside=16, tube_outside=16), "tube_inside 16 mm must be below tube_outside 16 mm"),
        (
            SoftFitting(tube_inside=9.525, bore=9),
            "bore 9 mm is too wide for a tube end of 9.525 mm; most 7.925",
        ),
        (BarbFitting(clamp_diameter=19), "clamp_diameter 19 mm does not go round a tube of 19.05 mm"),
        (BarbFitting(tube_inside=20), "tube_inside 20 mm must be below tube_outside 19.05 mm"),
    ],
)
def test_fittings_that_cannot_be(fitting, message):
    with pytest.raises(ValueError, match=message):
        fitting.build()
