"""Reservoirs of every kind: outlines by their standard, what they hold, and how they are held."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layout3d.kernels.measure import measure
from layout3d.placing.mounting import MountError
from shapes.band_clamp import BandClamp
from shapes.bay_reservoir import BayReservoir
from shapes.bounds import part_box
from shapes.flat_reservoir import FlatReservoir
from shapes.pose import IDENTITY, Pose, compose
from shapes.primitives import Box
from shapes.pump import Pump
from shapes.pump_reservoir import PumpReservoir
from shapes.radiator import Radiator
from shapes.tube_reservoir import TubeReservoir
from tests.checks.scenes import findings
from tests.shapes.standing import bodies, fixed, overlaps, solid


def box_of(part):
    return np.array(part_box(part, IDENTITY))


# --- SFF-8551 table 5-1 (transcription, original not read): all figures written out here again.


@pytest.mark.parametrize(("bays", "body", "bezel"), [(1, 41.53, 42.30), (2, 83.83, 84.60)])
def test_bay_reservoir_fills_a_bay_of_sff_8551(bays, body, bezel):
    part = BayReservoir(bays=bays).build()
    size = {one.name: one.primitive.size for one in part.solids}
    assert size["body"][1:] == pytest.approx((146.05, body))
    assert size["bezel"] == pytest.approx((5.0, 148.0, bezel))
    with pytest.raises(ValueError, match=r"less than or equal to 202\.8"):
        BayReservoir(length=203)


def test_bay_reservoir_holes_are_the_drives():
    part = BayReservoir().build()
    places = {
        name: {tuple(np.round(mount.mount2part.apply(np.array((*hole.at, 0.0))), 3)) for hole in holes}
        for name, mount in part.mounts.items()
        for holes in mount.rows.values()
    }
    along = (-47.40, -126.65)
    assert places["bottom"] == {(x, y, 0.0) for x in along for y in (-69.85, 69.85)}
    assert places["tray"] == {(x, 73.025, z) for x in along for z in (10.0, 21.84)}
    assert places["window"] == {(x, -73.025, z) for x in along for z in (10.0, 21.84)}
    assert {mount.kind for mount in part.mounts.values()} == {"drive"}


def test_bay_reservoir_refuses_what_opens_into_its_bezel():
    with pytest.raises(ValueError, match="port a opens into the bezel, 5 mm thick"):
        BayReservoir(ports={"a": {"face": "front"}}).build()


# --- What they hold: volumes of plain boxes and bars.


def test_what_reservoirs_hold():
    assert TubeReservoir().build().coolant_ml == pytest.approx(math.pi / 4 * 5.4**2 * 15.0)
    assert BayReservoir(wall=5, length=150).build().coolant_ml == pytest.approx(14.0 * 13.605 * 3.153)
    flat = FlatReservoir(length=120, height=240, depth=20, border=14).build()
    assert flat.coolant_ml == pytest.approx(9.2 * 21.2 * 2.0)
    coolant = solid(flat, "coolant").primitive
    assert isinstance(coolant, Box)
    assert math.prod(coolant.size) / 1000 == pytest.approx(flat.coolant_ml)
    assert PumpReservoir().build().coolant_ml == TubeReservoir().build().coolant_ml


# --- Flat panel.


def test_flat_reservoir_outline_and_ports():
    part = FlatReservoir().build()
    assert box_of(part).tolist() == [[-60, -15, 0], [60, 15, 240]]
    assert {name: port.port2part.origin.tolist() for name, port in part.ports.items()} == {
        "in": [-30, 0, 240],
        "fill": [30, 0, 240],
        "out": [-30, 0, 0],
        "drain": [30, 0, 0],
    }


def test_flat_reservoir_screws_to_a_radiator():
    part = FlatReservoir(height=250, fans=2).build()
    radiator = Radiator(fans=2).build()
    guest2host = fixed(part, radiator, "a")
    assert not overlaps(bodies(radiator), bodies(part, guest2host))
    with pytest.raises(MountError, match="hole patterns differ"):
        fixed(part, Radiator(fans=2, fan_size=140).build(), "a")


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"border": 60, "length": 100}, "border 60 mm leaves no room for coolant in 100 x 240 mm"),
        ({"fans": 2, "height": 220}, "2 x 120 mm fan holes leave -4.5 mm to the edge"),
        ({"fans": 2, "length": 150, "height": 260}, "the fan screws would meet the coolant; least 25.5"),
        (
            {"border": 6, "ports": {"a": {"face": "roof"}}},
            "depth 6 mm goes through the border's 6 mm; most 5",
        ),
        ({"ports": {"a": {"face": "window"}}}, "port a: face window is one of the 2 sheets"),
        ({"ports": {"a": {"face": "roof", "at": [58, 0]}}}, "58 mm toward front runs over the edge"),
        ({"ports": {"a": {"face": "roof"}, "b": {"face": "roof", "at": [14, 0]}}}, "leave 0.843 mm between"),
    ],
)
def test_flat_reservoirs_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        FlatReservoir(**written).build()


# --- A tube in its clamp.


@pytest.mark.parametrize("side", ["tray", "window", "front", "rear"])
@pytest.mark.parametrize("slide", [-40.0, 0.0, 55.5])
def test_a_clamp_closes_round_its_tube(side, slide):
    tank, clamp = TubeReservoir().build(), BandClamp().build()
    tank2clamp = fixed(tank, clamp, "band", by=f"tube_{side}", slide=slide)
    # The tube stands along the clamp's x, its middle `slide` in front of the clamp's.
    middle = compose(tank.mounts["tube_tray"].mount2part, tank2clamp)
    assert middle.origin.tolist() == pytest.approx([slide, 0, 42])
    assert middle.x_axis.tolist() == pytest.approx([1, 0, 0])
    foot = compose(tank.mounts[f"tube_{side}"].mount2part, tank2clamp).z_axis
    assert foot.tolist() == pytest.approx([0, 0, -1])
    assert not overlaps(bodies(clamp), bodies(tank, tank2clamp))
    band, tube = bodies(clamp)["band"], bodies(tank, tank2clamp)["tube"]
    assert measure(band, tube).gap_mm == pytest.approx(0.0, abs=1e-6)


def test_a_clamp_touches_its_tube_at_any_pose():
    tank, clamp = TubeReservoir().build(), BandClamp().build()
    tank2clamp = fixed(tank, clamp, "band", slide=3)
    rng = np.random.default_rng(7)
    for _ in range(20):
        there = Pose.at(tuple(rng.uniform(-400, 400, 3)), tuple(rng.uniform(-180, 180, 3)))
        assert not overlaps(bodies(clamp, there), bodies(tank, compose(tank2clamp, there)))


def test_a_clamp_slides_along_the_tube_it_is_fixed_to():
    tank, clamp = TubeReservoir(tube_length=200).build(), BandClamp().build()
    clamp2tank = fixed(clamp, tank, "tube_tray", slide=60)
    foot = compose(clamp.mounts["foot"].mount2part, clamp2tank)
    # 24 mm of cap, half of 200 mm of tube, 60 mm on; 12 mm behind a tube of 60 mm.
    assert foot.origin.tolist() == pytest.approx([0, 42, 184])
    assert foot.z_axis.tolist() == pytest.approx([0, 1, 0])
    # A band of 12 mm lies on 200 mm of tube as far as 94 mm off its middle.
    fixed(clamp, tank, "tube_tray", slide=94)
    with pytest.raises(MountError, match="reaches 1 mm over the edge"):
        fixed(clamp, tank, "tube_tray", slide=95)


@pytest.mark.parametrize("key", ["shift", "lift"])
def test_a_clamp_and_its_tube_share_one_axis(key):
    with pytest.raises(MountError, match=f"{key} 2 mm: a clamp and its tube share one axis"):
        fixed(TubeReservoir().build(), BandClamp().build(), "band", **{key: 2})


def test_a_clamp_for_another_tube_is_refused():
    clamp = BandClamp(diameter=60).build()
    thin = TubeReservoir(diameter=50, cap_diameter=54, top_offset=12).build()
    with pytest.raises(MountError, match="tube_tray is 50 mm round, the mount 60 mm"):
        fixed(thin, clamp, "band")


def test_pump_below_a_clamped_reservoir():
    tank, pump = TubeReservoir().build(), Pump().build()
    pump2tank = fixed(pump, tank, "base")
    assert compose(pump.ports["in"].port2part, pump2tank).origin.tolist() == pytest.approx([0, 0, 0])
    assert pump2tank.origin.tolist() == pytest.approx([0, 0, -66])
    assert not overlaps(bodies(tank), bodies(pump, pump2tank))


CLAMPED = """
plate: {shape: fan_plate}
clamp: {shape: band_clamp, fixed_to: {mount: plate.face%s}}
tank: {shape: tube_reservoir, fixed_to: {mount: clamp.band, slide: 30}}
pump: {shape: pump, fixed_to: {mount: tank.base}}
"""


def test_fan_plate_clamp_tank_and_pump_pass_the_check():
    assert [found.rule for found in findings(CLAMPED % "")] == []


def test_a_foot_on_a_fan_screws_head_stands_in_its_room():
    # The foot, 30 x 40 mm, reaches from 25 to 55 and from 18 to 58 mm; the screw stands at 52.5, 52.5.
    [found] = findings(CLAMPED % ", slide: 40, shift: 38")
    assert (found.rule, found.severity, set(found.parts)) == ("keep-out", "error", {"plate", "clamp"})


def test_band_clamp_refuses_a_foot_in_its_tube():
    with pytest.raises(ValueError, match="stand_off 4 mm less foot_height 4 mm leaves 0 mm"):
        BandClamp(stand_off=4, foot_height=4).build()


# --- Fill and drain.


def test_fill_and_drain_ports():
    part = TubeReservoir(drain=True, fill_port=True).build()
    assert set(part.ports) == {"bottom", "top", "fill", "drain"}
    assert part.ports["fill"].port2part.origin.tolist() == [-15, 0, 190]
    assert part.ports["drain"].port2part.origin.tolist() == [-32, 0, 12]
    assert part.ports["drain"].port2part.z_axis.tolist() == [-1, 0, 0]
    assert "fill_cap" not in {one.name for one in part.solids}


def test_room_to_fill_begins_on_the_cap():
    (zone,) = TubeReservoir(fill_room=80).build().zones
    assert zone.zone2part.origin.tolist() == [-15, 0, 190 + 4 + 40]
    assert zone.severity == "error"
    assert TubeReservoir().build().zones == ()


# --- Pump and reservoir in one.


def test_pump_reservoir_is_a_reservoir_on_its_pump():
    part = PumpReservoir(side_inlet=True, drain=True).build()
    assert box_of(part).tolist() == [[-32, -32, 0], [32, 32, 66 + 194]]
    assert {name: port.port2part.origin.tolist() for name, port in part.ports.items()} == {
        "out": [0, -32, 52],
        "in": [15, 0, 256],
        "in_side": [0, -32, 78],
        "drain": [-32, 0, 78],
    }
    assert part.mounts["tube_tray"].mount2part.origin.tolist() == [0, 0, 66 + 24 + 75]
    # A hole for each port and the inside of the tube; none for the two ports that meet inside.
    assert len(part.bores) == len(part.ports) + 1
