"""Point distances against closed forms, dense sampling and an independent B-rep kernel."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.kernels.points import distance_to
from shapes.pose import IDENTITY, Pose, compose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Plate,
    Prism,
    RectOpening,
    RoundOpening,
    Straight,
    TubeRun,
)


def elbow(radius: float = 30.0, outside: float = 12.0, angle: float = 0.5 * math.pi) -> TubeRun:
    """A straight, a bend about z and a straight along the bend's end."""
    end = (radius * math.cos(angle), radius * math.sin(angle), 0.0)
    after = (end[0] - 25.0 * math.sin(angle), end[1] + 25.0 * math.cos(angle), 0.0)
    return TubeRun(
        (
            Straight((radius, -20.0, 0.0), (radius, 0.0, 0.0)),
            Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), radius, angle),
            Straight(end, after),
        ),
        outside,
        outside - 4.0,
    )


def bend_only(radius: float, outside: float, angle: float) -> TubeRun:
    arc = Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), radius, angle)
    return TubeRun((arc,), outside, 0.5 * outside)


SOLIDS = {
    "box": Box((40.0, 25.0, 12.0)),
    "sheet": Box((60.0, 60.0, 1.0)),
    "cylinder": Cylinder(24.0, 50.0),
    "disc": Cylinder(60.0, 2.0),
    "prism": Prism(((-20.0, -10.0), (25.0, -8.0), (18.0, 14.0), (-3.0, 22.0)), 30.0),
    "plate": Plate((80.0, 60.0), 1.5, (RoundOpening((10.0, 5.0), 30.0),)),
    "window": Plate((80.0, 60.0), 12.0, (RectOpening((-12.0, 4.0), (30.0, 20.0)),)),
    "notched": Plate(
        (80.0, 60.0),
        8.0,
        (
            RectOpening((30.0, 20.0), (40.0, 30.0)),
            RoundOpening((-30.0, 30.0), 34.0),
            RoundOpening((-40.0, -30.0), 20.0),
            RectOpening((10.0, -20.0), (12.0, 20.0)),
        ),
    ),
    "cut_through": Plate((80.0, 30.0), 3.0, (RectOpening((0.0, 0.0), (20.0, 60.0)),)),
    "elbow": elbow(),
    "u_bend": elbow(angle=math.pi),
    "bend": bend_only(30.0, 12.0, 0.5 * math.pi),
    "long_bend": bend_only(25.0, 16.0, 1.4 * math.pi),
}
PER_SOLID = pytest.mark.parametrize("solid", SOLIDS.values(), ids=SOLIDS)
coordinate = st.floats(-70.0, 70.0)
point = st.tuples(coordinate, coordinate, coordinate)
rotations = st.tuples(*[st.floats(-180.0, 180.0)] * 3)


def _value(solid, at, pose=IDENTITY) -> float:
    return float(distance_to(np.array([at]), solid, pose)[0])


@PER_SOLID
@settings(max_examples=80, deadline=None)
@given(here=point, there=point)
def test_moving_a_point_changes_its_distance_by_no_more(solid, here, there):
    assert abs(_value(solid, here) - _value(solid, there)) <= math.dist(here, there) + 1e-9


@PER_SOLID
@settings(max_examples=80, deadline=None)
@given(here=point, step=st.tuples(*[st.floats(-0.5, 0.5)] * 3))
def test_small_moves_too(solid, here, step):
    there = tuple(a + b for a, b in zip(here, step, strict=True))
    assert abs(_value(solid, here) - _value(solid, there)) <= math.dist(here, there) + 1e-9


@PER_SOLID
@settings(max_examples=40, deadline=None)
@given(here=point, at=point, rotate=rotations)
def test_moving_solid_and_point_together_changes_nothing(solid, here, at, rotate):
    pose = Pose.at(at, rotate)
    moved = _value(solid, tuple(pose.apply(np.array(here))), pose)
    assert moved == pytest.approx(_value(solid, here), abs=1e-9)


@PER_SOLID
def test_outside_values_are_the_distance_to_a_dense_cloud_of_inside_points(solid):
    rng = np.random.default_rng(7)
    cloud = rng.uniform(-45.0, 45.0, (400_000, 3))
    inside = cloud[distance_to(cloud, solid, IDENTITY) <= 0.0]
    assert len(inside) > 100
    for at in rng.uniform(-60.0, 60.0, (60, 3)):
        value = _value(solid, at)
        if value > 0.0:
            nearest = math.sqrt(((inside - at) ** 2).sum(axis=1).min())
            assert value - 1e-9 <= nearest <= value + 8.0


@PER_SOLID
def test_a_ball_of_the_depth_lies_inside(solid):
    """The depth inside is proven: no outside point is nearer than it."""
    rng = np.random.default_rng(8)
    cloud = rng.uniform(-50.0, 50.0, (40_000, 3))
    values = distance_to(cloud, solid, IDENTITY)
    for at, value in list(zip(cloud[values < 0.0], values[values < 0.0], strict=True))[:200]:
        ways = rng.normal(size=(200, 3))
        ways /= np.linalg.norm(ways, axis=1)[:, None]
        assert (distance_to(at - 0.999 * value * ways, solid, IDENTITY) <= 1e-9).all()


@PER_SOLID
def test_agrees_with_an_independent_brep_kernel(solid):
    """OpenCASCADE, vertex against single solid; inside by its own point classifier."""
    cq = pytest.importorskip("cadquery")
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier
    from OCP.gp import gp_Pnt
    from OCP.TopAbs import TopAbs_IN

    solids = _brep(cq, solid)
    rng = np.random.default_rng(9)
    for at in rng.uniform(-50.0, 50.0, (40, 3)):
        vertex = cq.Vertex.makeVertex(*at)
        inside = any(
            BRepClass3d_SolidClassifier(s.wrapped, gp_Pnt(*map(float, at)), 1e-7).State() == TopAbs_IN
            for s in solids
        )
        value = _value(solid, at)
        if inside:
            assert value < 0.0
        else:
            assert value == pytest.approx(min(vertex.distance(s) for s in solids), abs=1e-6)


def _brep(cq, solid):
    """The solids a primitive consists of, built here and nowhere else; a run piece by piece."""
    match solid:
        case Box():
            work = cq.Workplane().box(*solid.size)
        case Cylinder():
            work = cq.Workplane().circle(0.5 * solid.diameter).extrude(0.5 * solid.length, both=True)
        case Prism():
            work = cq.Workplane().polyline(solid.corners).close().extrude(0.5 * solid.height, both=True)
        case Plate():
            work = cq.Workplane().box(*solid.size, solid.thickness)
            for opening in solid.openings:
                tool = cq.Workplane().center(*opening.at)
                if isinstance(opening, RoundOpening):
                    tool = tool.circle(0.5 * opening.diameter)
                else:
                    tool = tool.rect(*opening.size)
                work = work.cut(tool.extrude(100.0, both=True))
        case TubeRun():
            return [_piece(cq, piece, 0.5 * solid.outside) for piece in solid.pieces]
    return work.val().Solids()


def _piece(cq, piece, radius):
    if isinstance(piece, Straight):
        along = cq.Vector(*piece.end) - cq.Vector(*piece.start)
        return cq.Solid.makeCylinder(radius, along.Length, cq.Vector(*piece.start), along)
    plane = cq.Plane(origin=(0, 0, 0), xDir=(1, 0, 0), normal=(0, -1, 0))
    disc = cq.Workplane(plane).center(piece.radius, 0.0).circle(radius)
    return disc.revolve(math.degrees(piece.angle), (-piece.radius, 0, 0), (-piece.radius, 1, 0)).val()


def test_torus_closed_form():
    """Point (50, 10, 7) to the torus of radii 30 and 6, which OpenCASCADE puts at the same distance."""
    ring = bend_only(30.0, 12.0, math.pi)
    assert _value(ring, (50.0, 10.0, 7.0)) == pytest.approx(16.126642127633, abs=1e-12)
    assert math.hypot(math.hypot(50.0, 10.0) - 30.0, 7.0) - 6.0 == pytest.approx(16.126642127633, abs=1e-12)


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ((30.0, -20.0, 0.0), 0.0),  # the middle of a flat end
        ((30.0, -23.0, 0.0), 3.0),  # before it: no round cap
        ((30.0, -23.0, 10.0), 5.0),  # past its rim: 3-4-5
        ((30.0, 0.0, 0.0), -6.0),  # where straight and bend meet: as deep as anywhere
        ((0.0, 0.0, 0.0), 24.0),  # the bend's own centre
    ],
)
def test_flat_ends_and_joints_of_a_run(at, expected):
    assert _value(elbow(), at) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        ((10.0, 5.0, 0.0), 15.0),  # in the round opening's middle
        ((10.0, 5.0, 8.75), 17.0),  # above it: 15-8-17
        ((-20.0, 0.0, 0.0), -0.75),  # in the sheet: half its thickness
        ((-6.0, 5.0, 0.0), -0.75),
    ],
)
def test_round_opening(at, expected):
    assert _value(SOLIDS["plate"], at) == pytest.approx(expected, abs=1e-12)


def test_an_opening_over_the_corner_leaves_no_ghost_of_the_sheets_edges():
    """From the cut-away corner the metal is as far as the notch's own edges and ends."""
    notched = SOLIDS["notched"]
    assert _value(notched, (40.0, 30.0, 0.0)) == pytest.approx(25.0, abs=1e-12)
    assert _value(notched, (60.0, 30.0, 0.0)) == pytest.approx(math.hypot(20.0, 25.0), abs=1e-12)


def test_an_opening_flush_with_the_edge_leaves_no_film():
    flush = Plate((80.0, 60.0), 2.0, (RectOpening((0.0, 20.0), (20.0, 20.0)),))
    assert _value(flush, (0.0, 30.0, 0.0)) == pytest.approx(10.0, abs=1e-12)
    assert _value(flush, (0.0, 25.0, 0.0)) == pytest.approx(10.0, abs=1e-12)


def test_a_sheet_cut_away_altogether_is_nowhere():
    gone = Plate((20.0, 20.0), 2.0, (RectOpening((0.0, 0.0), (30.0, 30.0)),))
    assert _value(gone, (0.0, 0.0, 0.0)) == math.inf


def test_turning_over_a_composed_pose_is_the_same_place():
    there = compose(
        Pose.at((1.0, 2.0, 3.0), (10.0, 20.0, 30.0)), Pose.at((-4.0, 5.0, 6.0), (40.0, 50.0, 60.0))
    )
    at = there.apply(np.array([30.0, 0.0, 0.0]))
    assert _value(SOLIDS["box"], tuple(at), there) == pytest.approx(10.0, abs=1e-12)
