"""Pump and tube reservoir: outline, ports, mounts that meet, and what is refused."""

from __future__ import annotations

import math

import pytest

from shapes.bounds import part_box
from shapes.pose import IDENTITY, TURNED_OVER, compose
from shapes.primitives import Plate, RoundOpening
from shapes.pump import Pump
from shapes.tube_reservoir import TubeReservoir


def box_of(part):
    return [tuple(float(value) for value in corner) for corner in part_box(part, IDENTITY)]


def places_of(part):
    return {
        name: (
            tuple(float(value) for value in port.port2part.origin),
            tuple(float(value) + 0.0 for value in port.port2part.z_axis),
        )
        for name, port in part.ports.items()
    }


def test_pump_outline():
    assert box_of(Pump().build()) == [(-32, -32, 0), (32, 32, 66)]
    square = Pump(motor="square", motor_width=70, motor_height=20, top_height=30).build()
    assert box_of(square) == [(-35, -35, 0), (35, 35, 50)]


def test_pump_ports():
    assert places_of(Pump().build()) == {
        "in": ((0, 0, 66), (0, 0, 1)),
        "out": ((0, -32, 52), (0, -1, 0)),
    }
    turned = places_of(Pump(out_side="front", side_inlet=True).build())
    assert turned["out"] == ((32, 0, 52), (1, 0, 0))
    assert turned["in_side"] == ((-32, 0, 52), (-1, 0, 0))


def test_a_reservoir_on_the_pump_stands_upright_port_on_port():
    pump, reservoir = Pump().build(), TubeReservoir().build()
    top, base = pump.mounts["top"], reservoir.mounts["base"]
    assert top.kind == base.kind == "reservoir"
    reservoir2pump = compose(base.mount2part.inverse, TURNED_OVER, top.mount2part)
    assert reservoir2pump.rotation.tolist() == IDENTITY.rotation.tolist()
    bottom = compose(reservoir.ports["bottom"].port2part, reservoir2pump)
    assert bottom.origin.tolist() == pump.ports["in"].port2part.origin.tolist()
    assert (bottom.z_axis + pump.ports["in"].port2part.z_axis).tolist() == [0, 0, 0]


def test_feet_stand_on_plain_surfaces():
    foot = Pump().build().mounts["foot"]
    back = TubeReservoir(holder="back").build().mounts["back"]
    assert foot.kind == back.kind == "stand"
    assert foot.rows == back.rows == {"": ()}
    assert tuple(back.mount2part.z_axis) == (0, 1, 0)
    assert tuple(back.mount2part.x_axis) == (0, 0, 1)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"top_height": 15}, "top_height 15 mm is too low for a G1/4 port in its side; least 17.16"),
        (
            {"top_width": 40, "port_depth": 12},
            "port_depth 12 mm in a top of 40 mm leaves 1.421 mm between side and roof port; least 2",
        ),
    ],
)
def test_pumps_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        Pump(**written).build()


def test_reservoir_outline():
    assert box_of(TubeReservoir().build()) == [(-32, -32, 0), (32, 32, 194)]
    assert box_of(TubeReservoir(fill_cap=False).build()) == [(-32, -32, 0), (32, 32, 190)]
    held = box_of(TubeReservoir(holder="back", stand_off=20).build())
    assert held == [(-33, -33, 0), (33, 50, 194)]


def test_reservoir_ports():
    part = TubeReservoir(side_port=True).build()
    assert places_of(part) == {
        "bottom": ((0, 0, 0), (0, 0, -1)),
        "top": ((15, 0, 190), (0, 0, 1)),
        "bottom_side": ((0, -32, 12), (0, -1, 0)),
    }


def test_reservoir_holds_what_its_tube_holds():
    # V = pi d^2 L / 4: 54 mm inside over 150 mm is 343.5 mL.
    (inside,) = (bore for bore in TubeReservoir().build().bores if bore.into == ("tube",))
    assert math.pi / 4 * inside.diameter**2 * inside.depth / 1000 == pytest.approx(343.5, abs=0.05)


def test_bands_close_round_the_tube():
    for band in TubeReservoir(holder="back").build().solids:
        if band.name.endswith("band"):
            assert isinstance(band.primitive, Plate)
            (hole,) = band.primitive.openings
            assert isinstance(hole, RoundOpening)
            assert hole.diameter == 60
            assert band.solid2part.origin[1] + hole.at[1] == 0


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"diameter": 70}, "cap_diameter 64 mm is below the tube's 70 mm"),
        (
            {"holder": "back", "cap_diameter": 90, "stand_off": 12},
            "stand_off 12 mm: the caps stand 15 mm out",
        ),
        ({"top_offset": 25}, "top_offset 25 mm: port or fill cap reaches 36 mm from the axis, the cap 32 mm"),
        ({"top_offset": 5}, "top_offset 5 mm: port and fill cap run into each other; least 9.789"),
        ({"top_height": 8, "port_depth": 8}, "port_depth 8 mm goes through a cap of 8 mm"),
        ({"side_port": True, "bottom_height": 16}, "bottom_height 16 mm is too low for a G1/4 port"),
        (
            {
                "diameter": 30,
                "cap_diameter": 30,
                "side_port": True,
                "port_depth": 8,
                "fill_cap": False,
                "top_offset": 0,
            },
            "port_depth 8 mm leaves 0.4215 mm between side and bottom port; least 2",
        ),
    ],
)
def test_reservoirs_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        TubeReservoir(**written).build()
