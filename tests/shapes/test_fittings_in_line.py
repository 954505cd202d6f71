"""Extenders, couplers, tees, plugs, bulkheads, valves, couplings, drains and meters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.realise import brep
from shapes import shape_named
from shapes.bounds import part_box
from shapes.patterns import G_THREAD_MAJOR_MM
from shapes.pose import DIRECTIONS, IDENTITY

THREADED = ["extender", "male_coupler", "tee", "cross", "plug", "temperature_plug", "drain"]
LINKS = ["ball_valve", "quick_disconnect", "flow_meter", "bulkhead"]


def built(name, **parameters):
    return shape_named(name)(**parameters).build()


def volumes(part):
    return {name: shape.Volume() for name, _, shape in brep.part_solids(part, IDENTITY)}


def disc(diameter):
    return math.pi / 4 * diameter**2


@pytest.mark.parametrize("thread", sorted(G_THREAD_MAJOR_MM))
@pytest.mark.parametrize("name", THREADED)
def test_each_stands_on_a_thread_of_iso_228_1(name, thread):
    # ISO 228-1 major diameters. DIN 3852-2: the stud face of G1/4 is 18.
    major = {"G1/8": 9.728, "G1/4": 13.157, "G3/8": 16.662, "G1/2": 20.955}[thread]
    sizes = {"base_diameter": major + 5, "bore": 5}
    sizes |= {"body_diameter": major + 5} if name == "extender" else {}
    sizes |= {"block": major + 20} if name in ("tee", "cross") else {}
    if name in ("plug", "temperature_plug"):
        del sizes["bore"]
    part = built(name, thread=thread, **sizes)
    solid = next(solid for solid in part.solids if solid.name == "thread")
    assert solid.primitive.diameter == major
    port = part.ports["thread"]
    assert (port.thread, port.male, tuple(port.port2part.z_axis)) == (thread, True, (0, 0, -1))
    assert tuple(port.port2part.origin) == (0, 0, 0)
    assert part_box(part, IDENTITY)[0][2] == -port.depth == -solid.primitive.length


@settings(max_examples=60, deadline=None, derandomize=True)
@given(length=st.floats(8, 150), depth=st.floats(3, 6))
def test_an_extender_moves_its_port_straight_out(length, depth):
    part = built("extender", body_length=length, port_depth=depth)
    mouth = part.ports["mouth"]
    assert mouth.port2part.origin == pytest.approx((0, 0, length))
    assert tuple(mouth.port2part.z_axis) == (0, 0, 1)
    assert mouth.depth == depth
    assert part_box(part, IDENTITY)[1][2] == pytest.approx(length)


def test_an_extender_is_a_bored_bar():
    # 18 mm bar from 4 to 20, bored 9, the port 13.157 x 6 at its end.
    body = volumes(built("extender"))["body"]
    assert body == pytest.approx((disc(18) - disc(9)) * 16 - (disc(13.157) - disc(9)) * 6, rel=1e-9)


@pytest.mark.parametrize(("rotary", "apart"), [(False, 4), (True, 12)])
def test_a_coupler_keeps_two_ports_apart(rotary, apart):
    part = built("male_coupler", rotary=rotary)
    mouth = part.ports["mouth"]
    assert tuple(mouth.port2part.origin) == (0, 0, apart)
    assert (mouth.male, mouth.depth) == (True, 5)
    assert part_box(part, IDENTITY)[1][2] == apart + 5


@pytest.mark.parametrize(
    ("name", "parameters", "faces"),
    [
        ("tee", {}, ["front", "rear"]),
        ("tee", {"thread_on": "run"}, ["roof", "front"]),
        ("cross", {}, ["roof", "front", "rear"]),
    ],
)
def test_branches_open_in_the_faces_they_are_named_after(name, parameters, faces):
    part = built(name, **parameters)
    assert list(part.ports) == ["thread", *faces]
    for face in faces:
        pose = part.ports[face].port2part
        assert tuple(pose.z_axis) == DIRECTIONS[face]
        # The block is 26 mm, its middle 13 above the base of 4.
        assert pose.origin == pytest.approx(np.array(DIRECTIONS[face]) * 13 + (0, 0, 17))


def test_the_ways_of_a_tee_meet_in_its_middle():
    # All metal but the ways: with the base's way the block loses three 9 mm ways that meet, two ports.
    part = built("tee")
    assert all(shape.isValid() for _, _, shape in brep.part_solids(part, IDENTITY))
    run = disc(9) * 26
    branch = disc(9) * 13 - steinmetz_half(4.5)
    ports = 2 * (disc(13.157) - disc(9)) * 6
    assert volumes(part)["block"] == pytest.approx(26**3 - run - branch - ports, rel=1e-4)


def steinmetz_half(radius):
    """Half of what two equal bars crossing at right angles share: 16 r^3 / 3 in all."""
    return 8 * radius**3 / 3


@pytest.mark.parametrize("name", ["plug", "temperature_plug"])
def test_plugs_let_nothing_through(name):
    part = built(name)
    assert part.bores == ()
    assert list(part.ports) == ["thread"]
    assert volumes(part)["base"] == pytest.approx(disc(18) * 4)


def test_a_sensors_cable_has_room_above_the_head():
    [zone] = built("temperature_plug", cable_room=30, base_length=6).zones
    assert zone.zone2part.origin[2] - zone.primitive.length / 2 == pytest.approx(6)
    assert zone.primitive.length == 30
    assert zone.severity == "error"


@pytest.mark.parametrize("panel", [0.8, 1.2, 4.0])
def test_a_bulkheads_nut_stands_behind_the_sheet(panel):
    part = built("bulkhead", panel=panel)
    spans = {
        solid.name: solid.solid2part.origin[2] + np.array((-0.5, 0.5)) * solid.primitive.length
        for solid in part.solids
    }
    assert spans["flange"] == pytest.approx((0, 5))
    assert spans["barrel"] == pytest.approx((-panel, 0))
    assert spans["nut"] == pytest.approx((-panel - 5, -panel))
    assert tuple(part.mounts["sheet"].mount2part.z_axis) == (0, 0, -1)
    assert part.ports["flange"].port2part.origin[2] == 5
    assert part.ports["nut"].port2part.origin[2] == -18


@pytest.mark.parametrize("name", LINKS)
def test_links_have_two_ports_back_to_back(name):
    first, second = built(name).ports.values()
    assert not first.male
    assert not second.male
    assert first.port2part.z_axis == pytest.approx(-second.port2part.z_axis)
    between = second.port2part.origin - first.port2part.origin
    assert np.linalg.norm(np.cross(between, first.port2part.z_axis)) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("name", ["ball_valve", "quick_disconnect"])
def test_an_inlet_may_be_a_thread(name):
    part = built(name, inlet="male")
    assert list(part.ports) == ["thread", "out"]
    assert part.ports["thread"].male
    longer = built(name, inlet="male").ports["out"].port2part.origin[2]
    assert longer == built(name).ports["out"].port2part.origin[2] + 4


@pytest.mark.parametrize("name", ["ball_valve", "drain"])
def test_a_lever_stays_in_its_room_all_through_its_quarter_turn(name):
    part = built(name)
    zone = next(zone for zone in part.zones if zone.name == "lever")
    lever = next(solid for solid in part.solids if solid.name == "lever")
    stem = next(solid for solid in part.solids if solid.name == "stem")
    half = np.array(lever.primitive.size) / 2
    corners = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * half
    corners = lever.solid2part.apply(corners) - stem.solid2part.origin
    room = np.array(zone.primitive.size) / 2
    for turn in (0.0, 90.0):
        # Turning about x from z toward y, the tip comes to lie along y.
        angle = math.radians(-turn)
        y = corners[:, 1] * math.cos(angle) - corners[:, 2] * math.sin(angle)
        z = corners[:, 1] * math.sin(angle) + corners[:, 2] * math.cos(angle)
        there = np.column_stack((corners[:, 0], y, z)) + stem.solid2part.origin - zone.zone2part.origin
        assert (np.abs(there) <= room + 1e-9).all(), turn


def test_a_coupling_is_drawn_apart_along_its_axis():
    [zone] = built("quick_disconnect", pull=40).zones
    assert zone.severity == "warning"
    assert zone.primitive.length == 40
    assert zone.zone2part.origin[2] - 20 == built("quick_disconnect").ports["out"].port2part.origin[2]


@pytest.mark.parametrize(
    ("name", "parameters", "message"),
    [
        ("extender", {"body_length": 7}, "body_length 7 mm is too short .* least 8"),
        (
            "extender",
            {"body_diameter": 16},
            "body_diameter 16 mm does not go round a G1/4 port .* least 16.157",
        ),
        ("tee", {"block": 25}, "block 25 mm is too small for G1/4 ports 6 mm deep .* least 25.157"),
        ("plug", {"base_diameter": 16}, "base_diameter 16 mm cannot seal .* least 16.157"),
        ("bulkhead", {"panel": 14}, "does not reach through a panel of 14 mm .* least 19"),
        ("bulkhead", {"barrel_diameter": 16}, "barrel_diameter 16 mm does not go round .* least 16.157"),
        ("bulkhead", {"nut_diameter": 22}, "nut_diameter 22 mm does not bear .* least 23"),
        ("ball_valve", {"body_length": 13}, "body_length 13 mm is too short for 2 .* least 14"),
        (
            "quick_disconnect",
            {"sleeve_length": 8, "port_depth": 7},
            "8 mm is too short for a port 7 .* least 9",
        ),
        ("flow_meter", {"body_width": 16}, "body_width 16 mm does not go round .* least 16.157"),
        ("drain", {"bore": 10}, "bore 10 mm is too wide for a G1/4 thread; most 9.557"),
        ("drain", {"end_diameter": 35}, "end_diameter 35 mm stands in the lever's way .* most 34"),
    ],
)
def test_what_cannot_be_is_refused_with_what_could(name, parameters, message):
    with pytest.raises(ValueError, match=message):
        built(name, **parameters)
