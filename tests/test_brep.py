"""B-rep solids against closed forms: Pappus' theorem, and the volumes of plain solids."""

from __future__ import annotations

import math
from typing import NamedTuple

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.realise.brep import part_solids, solid
from shapes.part import Bore, Part, Solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Plate,
    Prism,
    RectOpening,
    RoundOpening,
    SlotHole,
    Straight,
    TubeRun,
)

TILTED = Pose.at((12.0 / 7.0, -40.0 / 3.0, 91.0), (17.0, -33.0, 121.0))


class Row(NamedTuple):
    """A row of a bend table: straight before it [mm], turn [deg], bend [deg], radius [mm]."""

    straight: float
    turn: float
    bend: float
    radius: float


def run_of(rows: list[Row], last: float, outside: float, inside: float, deviation: float = 0.0) -> TubeRun:
    """A tube from a bend table, leaving the origin along x, its first bend towards y at turn 0."""
    at, travel, inward = np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    pieces: list[Straight | Arc] = []
    for straight, turn, bend, radius in rows:
        if straight > 0.0:
            pieces.append(Straight(tuple(at), tuple(at + straight * travel)))
            at = at + straight * travel
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        inward = cos * inward + sin * np.cross(travel, inward)
        centre = at + radius * inward
        pieces.append(Arc(tuple(centre), tuple(-inward), tuple(travel), radius, math.radians(bend)))
        cos, sin = math.cos(math.radians(bend)), math.sin(math.radians(bend))
        at = centre + radius * (sin * travel - cos * inward)
        travel, inward = cos * travel + sin * inward, cos * inward - sin * travel
    if last > 0.0:
        pieces.append(Straight(tuple(at), tuple(at + last * travel)))
    return TubeRun(tuple(pieces), outside, inside, deviation)


def one_solid(shape: cq.Shape) -> cq.Solid:
    assert isinstance(shape, cq.Solid)
    assert shape.isValid()
    assert {face.geomType() for face in shape.Faces()} <= {"PLANE", "CYLINDER", "TORUS"}
    return shape


#: A pipe of four legs at right angles in three planes, R 36: corners (0, 0, 0), (200, 0, 0),
#: (200, 150, 0), (200, 150, 180), (320, 150, 180). Cut 436 mm of straights and 3 quarter bends.
FOUR_LEGS = [Row(164.0, 0.0, 90.0, 36.0), Row(78.0, 90.0, 90.0, 36.0), Row(108.0, 90.0, 90.0, 36.0)]


# Pappus' second theorem, V = A L (P. Guldin, Centrobaryca, 1641; any calculus text).
@pytest.mark.parametrize(
    ("run", "volume_mm3"),
    [
        (run_of([Row(0.0, 0.0, 90.0, 30.0)], 0.0, 12.0, 0.0), 5329.586377),  # a quarter of 2 pi^2 R r^2
        (run_of([Row(0.0, 0.0, 90.0, 36.0)], 0.0, 8.0, 0.0), 2842.446068),  # the coolant in a bend
        (run_of([Row(0.0, 0.0, 90.0, 36.0)], 0.0, 12.0, 8.0), 3553.057584),  # and the wall round it
        (run_of(FOUR_LEGS, 84.0, 8.0, 0.0), 30342.557589),
        (run_of(FOUR_LEGS, 84.0, 12.0, 8.0), 37928.196986),
    ],
)
def test_tube_volumes_by_pappus(run: TubeRun, volume_mm3: float) -> None:
    assert one_solid(solid(run, TILTED)).Volume() == pytest.approx(volume_mm3, abs=1e-6)


def test_four_legs_end_where_their_corners_say() -> None:
    tube = solid(run_of(FOUR_LEGS, 84.0, 12.0, 8.0), IDENTITY)
    centres = [face.Center().toTuple() for face in tube.Faces() if face.geomType() == "PLANE"]
    assert sorted(centres) == [pytest.approx((0, 0, 0), abs=1e-9), pytest.approx((320, 150, 180), abs=1e-9)]


def test_quarter_bend_surface_with_its_caps() -> None:
    # Pappus' first theorem: 2 pi r L for the skin, and two discs.
    bend = solid(run_of([Row(0.0, 0.0, 90.0, 30.0)], 0.0, 12.0, 0.0), IDENTITY)
    assert bend.Area() == pytest.approx(2002.723463, abs=1e-6)


rows = st.builds(
    Row,
    st.one_of(st.just(0.0), st.floats(0.01, 200.0)),
    st.one_of(st.sampled_from([0.0, 90.0, -90.0, 180.0]), st.floats(-180.0, 180.0)),
    st.one_of(st.sampled_from([45.0, 90.0, 180.0]), st.floats(0.1, 200.0)),
    st.floats(20.0, 120.0),
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(rows, min_size=1, max_size=5),
    st.sampled_from([0.0, 35.0]),
    st.sampled_from([(12.0, 8.0), (14.0, 10.0), (19.05, 12.7), (13.0, 0.0)]),
)
def test_tube_is_one_hollow_solid_of_area_times_length(
    table: list[Row], last: float, section: tuple[float, float]
) -> None:
    outside, inside = section
    length = last + sum(row.straight + row.radius * math.radians(row.bend) for row in table)
    tube = solid(run_of(table, last, outside, inside), TILTED)
    assert isinstance(tube, cq.Solid)
    assert tube.Volume() == pytest.approx(math.pi / 4.0 * (outside**2 - inside**2) * length, rel=1e-9)
    full = solid(run_of(table, last, outside, inside, deviation=0.1), TILTED, filled=True)
    assert full.Volume() == pytest.approx(math.pi / 4.0 * (outside + 0.2) ** 2 * length, rel=1e-9)


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0])
def test_bends_that_follow_each_other_without_a_straight(turn: float) -> None:
    run = run_of([Row(0.0, 0.0, 60.0, 36.0), Row(0.0, turn, 60.0, 36.0)], 0.0, 14.0, 10.0)
    tube = one_solid(solid(run, TILTED))
    assert len(tube.Faces()) == 6  # two outer, two inner, two ends


def test_bend_within_the_tubes_own_radius_is_refused() -> None:
    with pytest.raises(ValueError, match="radius 6 mm is within its tube's own radius 7 mm"):
        solid(run_of([Row(10.0, 0.0, 90.0, 6.0)], 10.0, 14.0, 10.0), IDENTITY)


def test_plain_solids() -> None:
    assert one_solid(solid(Box((1.0 / 3.0, 20.0, 30.0)), TILTED)).Volume() == pytest.approx(200.0)
    assert one_solid(solid(Cylinder(50.0, 190.0), TILTED)).Volume() == pytest.approx(math.pi * 625.0 * 190.0)
    hexagon = tuple(
        (10.0 * math.cos(math.pi * k / 3.0), 10.0 * math.sin(math.pi * k / 3.0)) for k in range(6)
    )
    area = 1.5 * math.sqrt(3.0) * 100.0
    assert one_solid(solid(Prism(hexagon, 8.0), TILTED)).Volume() == pytest.approx(area * 8.0)


@pytest.mark.parametrize(
    ("primitive", "low", "high"),
    [
        (Box((10.0, 20.0, 30.0)), (-5.0, -10.0, -15.0), (5.0, 10.0, 15.0)),
        (Cylinder(50.0, 190.0), (-25.0, -25.0, -95.0), (25.0, 25.0, 95.0)),
        (Prism(((0.0, 0.0), (10.0, 0.0), (0.0, 8.0)), 5.0), (0.0, 0.0, -2.5), (10.0, 8.0, 2.5)),
        (Plate((480.0, 220.0), 1.0), (-240.0, -110.0, -0.5), (240.0, 110.0, 0.5)),
    ],
)
def test_each_stands_where_its_frame_says(
    primitive: Box | Cylinder | Prism | Plate, low: tuple[float, ...], high: tuple[float, ...]
) -> None:
    box = solid(primitive, Pose.at((100.0, 200.0, 300.0), (90.0, 0.0, 0.0))).BoundingBox()
    # A quarter turn about x takes y to z, and z to -y.
    (x_low, y_low, z_low), (x_high, y_high, z_high) = low, high
    assert (box.xmin, box.xmax) == pytest.approx((100.0 + x_low, 100.0 + x_high), abs=1e-3)
    assert (box.ymin, box.ymax) == pytest.approx((200.0 - z_high, 200.0 - z_low), abs=1e-3)
    assert (box.zmin, box.zmax) == pytest.approx((300.0 + y_low, 300.0 + y_high), abs=1e-3)


PANEL = Plate(
    (480.0, 220.0),
    1.0,
    openings=(
        RoundOpening((0.0, 0.0), 30.0),
        RectOpening((100.0, 0.0), (40.0, 40.0)),
        RectOpening((240.0, 50.0), (20.0, 20.0)),
    ),
    screw_holes=(
        SlotHole((-100.0, 0.0), 12.0, 4.0),
        RoundOpening((-150.0, 20.0), 4.0),
        SlotHole((-150.0, 0.0), 4.0, 4.0),
    ),
)
OPEN_MM2 = math.pi * 225.0 + 1600.0 + 200.0  # the last opening runs out over the edge, half of it counts
SCREWS_MM2 = 8.0 * 4.0 + 3.0 * math.pi * 4.0


def test_plate_openings_are_real_and_screw_holes_filled_on_request() -> None:
    assert one_solid(solid(PANEL, TILTED)).Volume() == pytest.approx(
        480.0 * 220.0 - OPEN_MM2 - SCREWS_MM2, rel=1e-12
    )
    filled = one_solid(solid(PANEL, TILTED, filled=True))
    assert filled.Volume() == pytest.approx(480.0 * 220.0 - OPEN_MM2, rel=1e-12)


def test_plate_cut_apart_keeps_both_pieces() -> None:
    halves = solid(Plate((100.0, 50.0), 2.0, (RectOpening((0.0, 0.0), (10.0, 60.0)),)), IDENTITY)
    assert [piece.Volume() for piece in halves.Solids()] == pytest.approx([4500.0, 4500.0])


def test_bores_go_into_the_solids_they_touch() -> None:
    part = Part(
        solids=(
            Solid("block", Box((40.0, 40.0, 20.0)), Pose.at((0.0, 0.0, 10.0)), "metal"),
            Solid("tank", Cylinder(30.0, 50.0), Pose.at((0.0, 0.0, 45.0)), "clear"),
        ),
        bores=(
            Bore(Pose.at((0.0, 0.0, 70.0)), 11.0, 10.0),  # flush with the top of the tank
            Bore(Pose.at((0.0, 0.0, 25.0)), 4.0, 10.0),  # 5 mm of the tank, 5 mm of the block
            Bore(Pose.at((12.0, 12.0, 20.0)), 3.0, 6.0, into=("block",)),
            Bore(Pose.at((100.0, 0.0, 25.0)), 4.0, 10.0),  # touches nothing
        ),
    )
    (block_name, block_look, block), (tank_name, tank_look, tank) = part_solids(part, TILTED)
    assert (block_name, block_look, tank_name, tank_look) == ("block", "metal", "tank", "clear")
    small, port, blind = math.pi * 4.0 * 5.0, math.pi * 30.25 * 10.0, math.pi * 2.25 * 6.0
    assert one_solid(block).Volume() == pytest.approx(32000.0 - small - blind, rel=1e-12)
    assert one_solid(tank).Volume() == pytest.approx(math.pi * 225.0 * 50.0 - port - small, rel=1e-12)
    middle = (math.pi * 225.0 * 50.0 * 45.0 - port * 65.0 - small * 22.5) / tank.Volume()
    expected = TILTED.apply(np.array([0.0, 0.0, middle]))
    assert tank.Center().toTuple() == pytest.approx(tuple(expected), abs=1e-9)
