"""Pump bodies and tops beyond the plain one, and the ports stated face by face."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shapes.bounds import part_box
from shapes.face_ports import FacePort, block_ports
from shapes.inline_pump import InlinePump
from shapes.patterns import G_THREAD_MAJOR_MM
from shapes.pose import IDENTITY, compose
from shapes.pump import Pump
from shapes.pump_top import PumpTop
from shapes.tube_reservoir import TubeReservoir
from tests.shapes.standing import bodies, fixed, overlaps, reach


def test_flange_lies_in_the_motors_height():
    part = Pump(flange_width=64, flange_height=5).build()
    assert reach(part, "motor")[:, 2].tolist() == [0, 33]
    assert reach(part, "flange").tolist() == [[-32, -32, 33], [32, 32, 38]]
    assert part.mounts["top"].mount2part.origin.tolist() == [0, 0, 66]


def test_room_for_the_plug_lies_away_from_the_outlet():
    (zone,) = Pump(out_side="front", cable_room=40).build().zones
    assert zone.zone2part.origin.tolist() == [-50, 0, 8]
    assert zone.primitive.size == (40, 16, 16)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"flange_width": 50}, "flange_width 50 mm is below the motor's 60 mm"),
        ({"flange_width": 70, "motor_height": 5}, "flange_height 5 mm leaves 0 mm of a motor of 5 mm"),
    ],
)
def test_flanges_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        Pump(**written).build()


def test_inline_pump_lies_head_to_the_front():
    part = InlinePump().build()
    assert np.array(part_box(part, IDENTITY)).tolist() == [[-61, -37, 0], [61, 37, 82]]
    places = {name: port.port2part.origin.tolist() for name, port in part.ports.items()}
    assert places == {"in": [61, 0, 45], "out": [45, 0, 82]}
    with pytest.raises(ValueError, match="motor_width 80 mm is above the head's 74 mm"):
        InlinePump(motor_width=80).build()


def test_two_motors_hang_under_one_top():
    top, motor = PumpTop(pumps=2).build(), Pump(with_top=False).build()
    assert not motor.ports
    first, second = (fixed(motor, top, f"motor_{number}") for number in (1, 2))
    assert float(np.linalg.norm(first.origin - second.origin)) == pytest.approx(70)
    assert not overlaps(bodies(top), bodies(motor, first))
    assert not overlaps(bodies(motor, first), bodies(motor, second))
    # Hung upright, feet 38 mm below the top.
    assert compose(motor.mounts["foot"].mount2part, first).origin.tolist() == pytest.approx([-35, 0, -38])


def test_a_reservoir_stands_on_the_tops_own_port():
    top = PumpTop(pumps=2, ports={"out": {"face": "window"}, "in": {"face": "roof", "at": [20, 5]}}).build()
    tank = TubeReservoir().build()
    tank2top = fixed(tank, top, "top")
    assert compose(tank.ports["bottom"].port2part, tank2top).origin.tolist() == pytest.approx([20, 5, 28])
    assert "top" not in PumpTop(ports={"out": {"face": "window"}}).build().mounts


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"pumps": 2, "pump_pitch": 50}, "pump_pitch 50 mm: motors of 60 mm would overlap"),
        ({"width": 50}, "the top, 64 x 50 mm, does not cover its motors, 60 x 60 mm"),
        ({"ports": {"low": {"face": "floor"}}}, "port low opens into a motor, 0 mm from its middle"),
        (
            {"ports": {"a": {"face": "roof"}, "b": {"face": "window", "at": [0, 4]}}, "width": 61},
            None,
        ),
        ({"height": 16}, "port out: a G1/4 thread 0 mm toward roof runs over the edge"),
    ],
)
def test_tops_that_cannot_be(written, message):
    if message is None:
        assert PumpTop(**written).build()
        return
    with pytest.raises(ValueError, match=message):
        PumpTop(**written).build()


@st.composite
def two_ports(draw):
    def one():
        return FacePort(
            face=draw(st.sampled_from(["rear", "front", "window", "tray", "floor", "roof"])),
            at=(draw(st.floats(-25, 25)), draw(st.floats(-25, 25))),
            thread=draw(st.sampled_from(sorted(G_THREAD_MAJOR_MM))),
            depth=draw(st.floats(3, 20)),
        )

    return {"a": one(), "b": one()}


@settings(max_examples=400, deadline=None, derandomize=True)
@given(ports=two_ports())
def test_threads_that_are_let_through_never_meet(ports):
    low, high = (-30.0, -30.0, -15.0), (30.0, 30.0, 15.0)
    try:
        made, bores = block_ports(ports, low, high, "top")
    except ValueError:
        return
    rng = np.random.default_rng(3)
    points = rng.uniform(low, high, (4000, 3))
    inside = np.array([_within(points, bore) for bore in bores])
    assert not inside.all(axis=0).any()
    for port in made.values():
        on_a_face = [
            abs(abs(value) - half) < 1e-9 for value, half in zip(port.port2part.origin, high, strict=True)
        ]
        assert any(on_a_face)


def _within(points, bore):
    there = bore.bore2part.inverse.apply(points)
    return (np.hypot(there[:, 0], there[:, 1]) < bore.diameter / 2) & (there[:, 2] > -bore.depth)
