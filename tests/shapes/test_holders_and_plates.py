"""Holders, and the distribution plate: holes that meet, surfaces that carry, channels that join."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.placing.mounting import MountError
from shapes.angle_plate import AnglePlate
from shapes.bounds import part_box
from shapes.distribution_plate import DistributionPlate
from shapes.fan import Fan
from shapes.fan_plate import FanPlate
from shapes.pose import IDENTITY, compose
from shapes.pump import Pump
from shapes.radiator import Radiator
from tests.shapes.standing import bodies, distances, fixed, overlaps


def box_of(part):
    return np.array(part_box(part, IDENTITY)).tolist()


# --- Fan plate. Hole spacings: the table most fan data sheets agree on, common practice.


@pytest.mark.parametrize(("size", "spacing"), [(80, 71.5), (92, 82.5), (120, 105), (140, 124.5), (200, 154)])
def test_fan_plate_has_the_fans_holes(size, spacing):
    part = FanPlate(fan_size=size).build()
    assert sorted(distances(part, "fan", str(size)).values())[:4] == pytest.approx([spacing] * 4)
    across = spacing + 15
    assert box_of(part) == [
        pytest.approx([-across / 2, -across / 2, -1.5]),
        pytest.approx([across / 2, across / 2, 1.5]),
    ]


def test_fan_plate_on_a_fan_carries_a_pump():
    plate, fan, pump = FanPlate().build(), Fan().build(), Pump().build()
    plate2fan = fixed(plate, fan, "outlet")
    assert not overlaps(bodies(fan), bodies(plate, plate2fan))
    pump2plate = fixed(pump, plate, "face", slide=10, shift=5)
    assert pump2plate.origin.tolist() == pytest.approx([10, 5, 1.5])
    with pytest.raises(MountError, match="slide 61 mm is beyond the surface it stands on; -60 to 60 mm"):
        fixed(pump, plate, "face", slide=61)


def test_screw_heads_keep_their_room():
    # ISO 7045 M4: head 8 mm across, 3.1 mm high.
    zones = FanPlate(fans=2).build().zones
    assert len(zones) == 8
    assert {(zone.primitive.diameter, zone.primitive.length) for zone in zones} == {(8.0, 3.1)}
    assert {float(zone.zone2part.origin[2]) for zone in zones} == {1.5 + 1.55}
    assert FanPlate(screw_head=0).build().zones == ()


def test_two_fan_plate_hangs_under_a_radiator():
    plate, radiator = FanPlate(fans=2).build(), Radiator(fans=2).build()
    assert not overlaps(bodies(radiator), bodies(plate, fixed(plate, radiator, "b")))


def test_angle_turns_a_face_by_a_right_angle():
    part = AnglePlate(base=50, height=80, width=70, thickness=4).build()
    assert box_of(part) == [[-25, -35, 0], [25, 35, 80]]
    axes = {name: mount.mount2part.z_axis.tolist() for name, mount in part.mounts.items()}
    assert axes == {"foot": [0, 0, -1], "back": [-1, 0, 0], "seat": [0, 0, 1], "face": [1, 0, 0]}
    pump = Pump().build()
    pump2angle = fixed(pump, part, "face")
    assert compose(pump.mounts["foot"].mount2part, pump2angle).origin.tolist() == pytest.approx([-21, 0, 42])
    # A pump of 64 mm in the middle of a free leg of 76 mm clears the lying leg.
    assert not overlaps(bodies(part), bodies(pump, pump2angle))
    with pytest.raises(MountError, match="reaches 1 mm over the edge"):
        fixed(pump, part, "face", slide=9)
    with pytest.raises(ValueError, match="thickness 10 mm leaves nothing of a leg of 5 mm"):
        AnglePlate(base=5, thickness=10).build()


# --- Distribution plate.

FOUR = {
    "pump_side": {"face": "rear", "at": [-30, 0]},
    "card": {"face": "rear", "at": [30, 0]},
    "front": {"face": "front", "at": [-30, 0]},
    "roof": {"face": "roof", "at": [100, 30]},
}
TWO_WAYS = {"cold": {"joins": ["pump_side", "front"]}, "hot": {"joins": ["card", "roof"]}}


def test_channels_are_data_of_the_part():
    part = DistributionPlate(ports=FOUR, channels=TWO_WAYS).build()
    assert dict(part.channels) == {"cold": ("pump_side", "front"), "hot": ("card", "roof")}
    assert set(part.ports) == set(FOUR)
    # 300 mm from end to end and 250 mm from the rear edge to a port 100 mm in front of the middle,
    # in a section of 12 x 10 mm.
    assert part.coolant_ml == pytest.approx(0.12 * (300 + 250))


def test_a_stated_length_counts_instead():
    ways = {"cold": {"joins": ["pump_side", "front"], "length": 410}, "hot": {"joins": ["card", "roof"]}}
    assert DistributionPlate(ports=FOUR, channels=ways).build().coolant_ml == pytest.approx(
        0.12 * (410 + 250)
    )


def test_a_motor_hangs_on_the_plate():
    ways = {"a": {"joins": ["pump_side", "pump_in"]}, "b": {"joins": ["pump_out", "front"]}} | {
        "hot": {"joins": ["card", "roof"]}
    }
    part = DistributionPlate(ports=FOUR, channels=ways, pump_at=[20, 10]).build()
    motor = Pump(with_top=False).build()
    motor2plate = fixed(motor, part, "pump")
    assert compose(motor.mounts["seat"].mount2part, motor2plate).origin.tolist() == pytest.approx(
        [20, 10, -10]
    )
    assert not overlaps(bodies(part), bodies(motor, motor2plate))
    with pytest.raises(MountError, match="takes a part with a 'pump' mount"):
        fixed(Pump().build(), part, "pump")


EDGES = {"rear": (-1, 0, 0), "front": (1, 0, 0), "window": (0, -1, 0), "tray": (0, 1, 0)}
FACING = EDGES | {"roof": (0, 0, 1), "floor": (0, 0, -1)}


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    faces=st.lists(st.sampled_from(sorted(FACING)), min_size=2, max_size=5),
    size=st.tuples(st.floats(150, 600), st.floats(150, 400), st.floats(18, 60)),
)
def test_ports_open_where_they_are_stated_at_any_size(faces, size):
    # Ports 30 mm apart, in the middle of every face and edge: all of them fit plates of these sizes.
    places = {f"p{n}": (face, 30.0 * (n - 2)) for n, face in enumerate(faces)}
    ports = {
        name: {"face": face, "at": [along, 0] if face not in ("roof", "floor") else [along, 20]}
        for name, (face, along) in places.items()
    }
    length, width, thickness = size
    plate = DistributionPlate(
        length=length,
        width=width,
        thickness=thickness,
        ports=ports,
        channels={"all": {"joins": list(ports)}},
    ).build()
    half = np.array(size) / 2
    assert np.allclose(box_of(plate), [-half, half])
    for name, (face, along) in places.items():
        out = np.array(FACING[face], dtype=float)
        at = plate.ports[name].port2part.origin
        assert at @ out == pytest.approx(half @ np.abs(out))
        assert at[1 if face in ("rear", "front") else 0] == pytest.approx(along)
        assert plate.ports[name].port2part.z_axis.tolist() == out.tolist()


def test_plate_screws_to_a_fan_row():
    part = DistributionPlate(
        fans=2,
        length=245,
        ports=dict(list(FOUR.items())[:3]),
        channels={"all": {"joins": ["pump_side", "front", "card"]}},
    ).build()
    radiator = Radiator(fans=2).build()
    assert not overlaps(bodies(radiator), bodies(part, fixed(part, radiator, "a", by="b")))


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"channels": {"a": {"joins": ["in", "inn"]}}}, "unknown port 'inn'; the plate's 2 are in, out"),
        (
            {"channels": {"a": {"joins": ["in", "in"]}}},
            "port in is joined by a and by a: 2 channels that meet",
        ),
        (
            {"ports": FOUR, "channels": {"a": {"joins": ["card", "front"]}}},
            "2 of 4 ports lead nowhere, no channel joins pump_side, roof",
        ),
        ({"pump_at": [0, 0]}, "2 of 4 ports lead nowhere, no channel joins pump_in, pump_out"),
        ({"thickness": 11}, "channel_depth 10 mm leaves 0.5 mm of plate on each side; least 1"),
        ({"ports": {"pump_in": {"face": "roof"}}}, "port pump_in: that name means"),
        ({"fans": 1, "width": 100}, "a fan hole at .* leaves -4.65 mm to the edge of the plate"),
        (
            {
                "fans": 2,
                "length": 245,
                "ports": {"in": {"face": "rear", "at": [45, 0]}, "out": {"face": "front"}},
            },
            "leaves 0 mm to a port",
        ),
        (
            {
                "pump_at": [150, 0],
                "channels": {"a": {"joins": ["in", "pump_in"]}, "b": {"joins": ["pump_out", "out"]}},
            },
            "pump_at 150 mm along x: a motor of 60 mm runs over the edge of the plate's 300 mm",
        ),
        (
            {
                "pump_at": [110, 0],
                "pump_face": "roof",
                "channels": {"a": {"joins": ["in", "pump_in"]}, "b": {"joins": ["pump_out", "out"]}},
            },
            "port out opens under the pump, 10 mm from its middle",
        ),
    ],
)
def test_plates_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        DistributionPlate(**written).build()
