"""Radiators: outline, hole rows, ports, and what is refused."""

from __future__ import annotations

from itertools import pairwise

import pytest
from pydantic import ValidationError

from shapes.bounds import part_box
from shapes.pose import IDENTITY
from shapes.primitives import Box, Plate, RoundOpening
from shapes.radiator import Radiator


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [
        ({}, (-86, -62, -15), (72, 62, 15)),
        ({"fans": 3}, (-206, -62, -15), (192, 62, 15)),
        ({"fans": 2, "fan_size": 140, "flow": "cross", "thickness": 45}, (-166, -72, -22.5), (166, 72, 22.5)),
        ({"fan_size": 200, "width": 208, "port_tank": 30, "far_tank": 20}, (-130, -104, -15), (120, 104, 15)),
        ({"fans": 2, "fan_size": 140, "fan_pitch": 144.5}, (-168.25, -72, -15), (154.25, 72, 15)),
    ],
)
def test_outline(written, low, high):
    found = part_box(Radiator(**written).build(), IDENTITY)
    assert [tuple(corner) for corner in found] == [low, high]


def test_three_120_mm_fans_have_the_known_hole_rows():
    # Geometry of flush 120 mm frames: 0, 105, 120, 225, 240, 345 from the first hole, rows 105 apart.
    for face in ("a", "b"):
        holes = Radiator(fans=3).build().mounts[face].rows["120"]
        xs = sorted({hole.at[0] for hole in holes})
        assert [x - xs[0] for x in xs] == [0, 105, 120, 225, 240, 345]
        assert {hole.at[1] for hole in holes} == {-52.5, 52.5}


def test_140_mm_rails_with_20_mm_between_fans():
    # Secondary source, original not read: 124.5 mm spacing, 20 mm gap, so 144.5 mm pitch.
    holes = Radiator(fans=2, fan_size=140, fan_pitch=144.5).build().mounts["a"].rows["140"]
    assert sorted({hole.at[0] for hole in holes}) == [-134.5, -10, 10, 134.5]


def test_one_position_per_fan_counted_from_the_ports():
    mounts = Radiator(fans=3).build().mounts
    assert sorted(mounts) == ["a", "a1", "a2", "a3", "b", "b1", "b2", "b3"]
    assert [float(mounts[name].mount2part.origin[0]) for name in ("a1", "a2", "a3")] == [-120, 0, 120]
    assert [mounts[name].row_of for name in ("a", "a2", "b3")] == ["", "a", "b"]
    assert mounts["b"].opposite == "a"
    assert len(mounts["b2"].rows["120"]) == 4


@pytest.mark.parametrize(("screw", "major"), [("M3", 3.0), ("M4", 4.0), ("#6-32", 3.505)])
def test_screw_holes_have_the_major_diameter(screw, major):
    # ISO 261: M3, M4. SFF-8301 (secondary source): #6-32 UNC, 3.505 mm.
    frames = [solid.primitive for solid in Radiator(screw=screw).build().solids if "frame" in solid.name]
    for frame in frames:
        assert isinstance(frame, Plate)
        assert [hole.diameter for hole in frame.screw_holes if isinstance(hole, RoundOpening)] == [major] * 4
    assert len(frames) == 2


def test_the_fins_begin_where_a_screw_must_stop():
    # Common practice, no source: at most 5 mm past the face unless the data sheet says more.
    (fins,) = (solid for solid in Radiator().build().solids if solid.name == "fins")
    assert isinstance(fins.primitive, Box)
    assert 30 / 2 - fins.primitive.size[2] / 2 == 5


@pytest.mark.parametrize(
    ("size", "spacing", "flush_gap"), [(120, 105, 15), (140, 124.5, 15.5), (180, 165, 15), (200, 154, 46)]
)
@pytest.mark.parametrize("fans", [1, 2, 3, 4])
def test_one_to_four_fans_of_each_size(size, spacing, flush_gap, fans):
    # Spacings: Wikipedia, "Computer fan", and common practice; 180 is a default to be measured.
    # The gap between the holes of flush neighbours is the frame less the spacing: geometry.
    part = Radiator(fans=fans, fan_size=size).build()
    xs = sorted({hole.at[0] for hole in part.mounts["b"].rows[str(size)]})
    steps = [round(b - a, 6) for a, b in pairwise(xs)]
    assert steps == ([spacing, flush_gap] * fans)[:-1]
    low, high = part_box(part, IDENTITY)
    assert float(high[0] - low[0]) == fans * size + 26 + 12


def test_the_holes_say_which_screw_and_how_deep():
    mounts = Radiator(fans=2, screw="#6-32", screw_depth=4).build().mounts
    assert {(mount.thread, mount.screw_depth) for mount in mounts.values()} == {("#6-32", 4.0)}


def test_several_extra_ports():
    part = Radiator(far_tank=26, extra_ports=("rear_a", "front_a", "front_b", "front_end")).build()
    assert [name for name in part.ports if name.startswith("extra")] == [
        "extra_rear_a",
        "extra_front_a",
        "extra_front_b",
        "extra_front_end",
    ]
    assert tuple(part.ports["extra_front_b"].port2part.origin) == (73, 0, -15)
    assert tuple(part.ports["extra_front_end"].port2part.origin) == (86, 0, 0)
    assert [bore.into for bore in part.bores][2:] == [("rear_tank",)] + [("front_tank",)] * 3


def ports_of(**written):
    ports = Radiator(**written).build().ports
    return {
        name: (
            tuple(float(value) for value in port.port2part.origin),
            tuple(float(value) + 0.0 for value in port.port2part.z_axis),
        )
        for name, port in ports.items()
    }


def test_where_the_ports_are():
    down, up, rear, front = (0, 0, -1), (0, 0, 1), (-1, 0, 0), (1, 0, 0)
    assert ports_of() == {"in": ((-73, -30, -15), down), "out": ((-73, 30, -15), down)}
    assert ports_of(port_face="a", port_pitch=50) == {
        "in": ((-73, -25, 15), up),
        "out": ((-73, 25, 15), up),
    }
    assert ports_of(port_face="end", extra_port=True) == {
        "in": ((-86, -30, 0), rear),
        "out": ((-86, 30, 0), rear),
        "extra": ((72, 0, 0), front),
    }
    assert ports_of(fans=2, flow="cross") == {"in": ((-133, 0, -15), down), "out": ((133, 0, -15), down)}
    assert ports_of(flow="cross", port_face="end", extra_port=True) == {
        "in": ((-86, 0, 0), rear),
        "out": ((86, 0, 0), front),
        "extra": ((86, 30, 0), front),
    }


def test_ports_are_g_quarter_and_bore_only_their_tank():
    # ISO 228-1: G1/4 has a major diameter of 13.157 mm.
    part = Radiator(extra_port=True).build()
    assert {(port.thread, port.depth) for port in part.ports.values()} == {("G1/4", 6.0)}
    assert [(bore.diameter, bore.into) for bore in part.bores] == [
        (13.157, ("rear_tank",)),
        (13.157, ("rear_tank",)),
        (13.157, ("front_tank",)),
    ]


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"extra_ports": ("front_a",)}, "a G1/4 port needs 17.16 mm; the front tank's a has 12"),
        ({"extra_ports": ("rear_a", "rear_a")}, "extra_ports names 2 ports in 1 places"),
        (
            {"extra_ports": ("rear_b",), "port_pitch": 25},
            "ports in and extra_rear_b: their threads meet, 1 mm wanted",
        ),
        ({"flow": "cross", "extra_ports": ("rear_b",)}, "ports in and extra_rear_b: their threads meet"),
        ({"fans": 2, "fan_size": 140, "fan_pitch": 125}, "fan_pitch 125 mm: fans of 140 mm would overlap"),
        ({"fan_size": 140, "width": 130}, "width 130 mm is below the fan's 140 mm"),
        ({"hole_spacing": 118}, "hole_spacing 118 mm does not fit a fan of 120 mm; most 116"),
        (
            {"thickness": 20, "screw_depth": 8},
            "thickness 20 mm less screw_depth 8 mm on both faces leaves 4 mm",
        ),
        ({"screw_depth": 1, "sheet": 1.5}, "screw_depth 1 mm is below the sheet's 1.5 mm"),
        ({"port_tank": 12}, "a G1/4 port needs 17.16 mm; the rear tank's b has 12"),
        ({"flow": "cross", "far_tank": 12}, "the front tank's b has 12"),
        (
            {"thread": "G1/2", "port_face": "end", "thickness": 22},
            "a G1/2 port needs 24.9. mm; the rear tank's end has 22",
        ),
        ({"port_pitch": 110}, "port_pitch 110 mm: a G1/4 port 55 mm off the middle runs over the edge"),
        ({"port_depth": 20, "thickness": 20}, "port_depth 20 mm goes through the rear tank's 20 mm"),
    ],
)
def test_radiators_that_cannot_be(written, message):
    with pytest.raises(ValueError, match=message):
        Radiator(**written).build()


def test_ranges_are_the_models_business():
    for written in ({"fans": 5}, {"fans": 0}, {"thickness": -30}, {"thickness": "30,0"}, {"flow": "x"}):
        with pytest.raises(ValidationError):
            Radiator.model_validate(written)
    assert Radiator.model_validate({"thickness": "3 cm", "thread": 'G 1/4"'}) == Radiator()
