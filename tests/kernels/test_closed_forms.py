"""Distances with a closed form. "Geometry oracles": values on which the named tools agree."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import measure
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Arc, Box, Cylinder, Plate, RectOpening, RoundOpening, Straight, TubeRun


def arc_tube(bend_radius: float, radius: float, angle: float = 0.5 * math.pi) -> TubeRun:
    arc = Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), bend_radius, angle)
    return TubeRun((arc,), outside=2.0 * radius, inside=radius)


def straight_tube(radius: float, half: float = 50.0) -> TubeRun:
    return TubeRun((Straight((0.0, 0.0, -half), (0.0, 0.0, half)),), outside=2.0 * radius, inside=radius)


def standing(primitive: object, *at: float, rotate: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Body:
    return body(primitive, Pose.at(at or (0.0, 0.0, 0.0), rotate))  # type: ignore[arg-type]


def gap(a: Body, b: Body) -> float:
    forth, back = measure(a, b), measure(b, a)
    assert forth.gap_mm == pytest.approx(back.gap_mm, abs=2e-7)
    assert forth.lower_mm <= forth.gap_mm + 1e-12
    return forth.gap_mm


# Boxes: OCC BRepExtrema and shapely in 2D agree; the rotated pair: OCC, fcl, scipy L-BFGS-B, manifold3d.
def test_turned_boxes() -> None:
    assert gap(
        standing(Box((20.0, 10.0, 10.0))),
        standing(Box((10.0, 10.0, 10.0)), 30.0, 0.0, 0.0, rotate=(0, 0, 45)),
    ) == (pytest.approx(20.0 - 5.0 * math.sqrt(2.0), abs=1e-9))
    rotation = np.array(
        [
            [0.492403876506, -0.586824088833, 0.642787609687],
            [0.870001903752, 0.310468460973, -0.383022221559],
            [0.025201386257, 0.747828070819, 0.663413948169],
        ]
    )
    turned = body(Box((12.0, 8.0, 6.0)), Pose(rotation, np.array([25.0, 18.0, 9.0])))
    assert gap(standing(Box((20.0, 10.0, 10.0))), turned) == pytest.approx(13.505175774661, abs=1e-9)


# Arc against box: OCC solid and the closed form.
def test_bend_against_box() -> None:
    found = gap(standing(arc_tube(30.0, 6.0)), standing(Box((10.0, 10.0, 10.0)), 35.0, 35.0, 0.0))
    assert found == pytest.approx(math.sqrt(1800.0) - 36.0, abs=1e-7)


# Arc against arc: OCC edges and scipy agree on the centrelines; here hair-thin tubes about them.
def test_bend_against_bend() -> None:
    thin, other = 1e-6, Pose.at((30.0, 30.0, 20.0), (0.0, 90.0, 0.0))
    found = gap(standing(arc_tube(30.0, thin)), body(arc_tube(20.0, thin, math.pi), other))
    assert found == pytest.approx(12.426406871193, abs=3e-6)
    # the second tube starts at (30, 30, 0), its flat end normal to y: the rim is nearest at (24, 30, 0)
    found = gap(standing(arc_tube(30.0, 6.0)), body(arc_tube(20.0, 6.0, math.pi), other))
    assert found == pytest.approx(math.hypot(24.0, 30.0) - 36.0, abs=1e-7)


# Skew and crossed cylinders: OCC; fcl for the crossed pair.
def test_skew_cylinders() -> None:
    upright = standing(Cylinder(12.0, 100.0))
    assert gap(upright, standing(Cylinder(16.0, 100.0), 25.0, 0.0, 0.0, rotate=(60, 0, 0))) == pytest.approx(
        11.0, abs=1e-9
    )
    assert gap(upright, standing(Cylinder(12.0, 100.0), 20.0, 0.0, 0.0, rotate=(90, 0, 0))) == pytest.approx(
        8.0, abs=1e-9
    )
    assert gap(upright, standing(Cylinder(12.0, 100.0), 10.0, 0.0, 0.0, rotate=(90, 0, 0))) == pytest.approx(
        -2.0, abs=1e-7
    )


# Point to torus: OCC vertex against solid, and the closed form; the point is a 1e-6 mm box here.
def test_speck_against_torus() -> None:
    speck = standing(Box((1e-6, 1e-6, 1e-6)), 50.0, 10.0, 7.0)
    found = gap(standing(arc_tube(30.0, 6.0, 2.0 * math.pi)), speck)
    assert found == pytest.approx(16.126642127633, abs=2e-6)


# Full containment: OCC on two Solids finds 0; on a Compound it reports 18.0 (a proven trap).
def test_box_in_box_is_found() -> None:
    found = measure(standing(Box((40.0, 40.0, 40.0))), standing(Box((4.0, 4.0, 4.0))))
    assert found.gap_mm == pytest.approx(-22.0, abs=1e-9)
    assert found.exact


# A 2 mm box inside a bend: mesh collision libraries report 4.557 mm clear (a proven trap).
def test_box_inside_a_bend_is_found() -> None:
    middle = 30.0 / math.sqrt(2.0)
    found = measure(standing(arc_tube(30.0, 6.0)), standing(Box((2.0, 2.0, 2.0)), middle, middle, 0.0))
    assert found.gap_mm == pytest.approx(-7.0, abs=2e-3)
    assert not found.exact


@pytest.mark.parametrize("size", [1.0, 0.1, 0.01])
def test_small_box_deep_in_a_bend_is_found(size: float) -> None:
    middle = 30.0 / math.sqrt(2.0)
    found = measure(standing(arc_tube(30.0, 6.0)), standing(Box((size, size, size)), middle, middle, 2.0))
    assert found.gap_mm == pytest.approx(-4.0 - 0.5 * size, abs=2e-3)


def test_bend_inside_a_bend_is_found() -> None:
    assert measure(standing(arc_tube(30.0, 6.0)), standing(arc_tube(30.0, 1.0))).gap_mm < -6.0


def test_flat_end_is_not_a_hemisphere() -> None:
    end = standing(straight_tube(7.0))
    assert gap(end, standing(Box((10.0, 10.0, 10.0)), 0.0, 0.0, 58.0)) == pytest.approx(3.0, abs=1e-9)
    # beside the flat end's rim: square corner to rim, sqrt(3^2 + 4^2) from (7, 50) to (10, 54)
    beside = standing(Box((10.0, 10.0, 10.0)), 15.0, 0.0, 59.0)
    assert gap(end, beside) == pytest.approx(5.0, abs=1e-9)
    bent = standing(arc_tube(30.0, 6.0))
    assert gap(bent, standing(Box((10.0, 10.0, 10.0)), 30.0, -8.0, 0.0)) == pytest.approx(3.0, abs=1e-7)


def panel(*openings: RoundOpening | RectOpening, thickness: float = 1.0) -> Body:
    return body(Plate((100.0, 80.0), thickness, openings), IDENTITY)


@pytest.mark.parametrize(
    ("off", "expected"), [((0.0, 0.0), 8.0), ((0.0, 2.0), 6.0), ((3.0, 4.0), 3.0), ((8.0, 0.0), 0.0)]
)
def test_tube_through_round_opening(off: tuple[float, float], expected: float) -> None:
    sheet = panel(RoundOpening((10.0, 5.0), 30.0))
    found = gap(sheet, standing(straight_tube(7.0), 10.0 + off[0], 5.0 + off[1], 0.0))
    assert found == pytest.approx(expected, abs=1e-6)


def test_tube_too_far_off_centre_overlaps() -> None:
    sheet = panel(RoundOpening((10.0, 5.0), 30.0))
    found = measure(sheet, standing(straight_tube(7.0), 18.001, 5.0, 0.0))
    assert found.gap_mm == pytest.approx(-1e-3, abs=1e-4)


def test_tube_through_rectangular_opening() -> None:
    sheet = panel(RectOpening((10.0, 5.0), (30.0, 20.0)))
    assert gap(sheet, standing(straight_tube(7.0), 12.0, 6.0, 0.0)) == pytest.approx(2.0, abs=1e-9)


def test_openings_over_the_edge() -> None:
    notched = panel(RoundOpening((50.0, 0.0), 30.0), RectOpening((-50.0, 0.0), (20.0, 20.0)))
    assert gap(notched, standing(straight_tube(7.0), 50.0, 0.0, 0.0)) == pytest.approx(8.0, abs=1e-6)
    assert gap(notched, standing(straight_tube(7.0), -48.0, 0.0, 0.0)) == pytest.approx(1.0, abs=1e-9)


def test_neighbouring_round_openings() -> None:
    """Diagonal neighbours whose bounding squares overlap: the web between them is still there."""
    sheet = panel(RoundOpening((-11.0, -11.0), 30.0), RoundOpening((11.0, 11.0), 30.0))
    web = measure(sheet, standing(Cylinder(0.5, 10.0)))
    assert web.gap_mm <= -0.25
    assert gap(sheet, standing(straight_tube(7.0), 11.0, 11.0, 0.0)) == pytest.approx(8.0, abs=1e-6)


def test_screw_holes_count_as_filled() -> None:
    sheet = body(Plate((100.0, 80.0), 1.0, (), (RoundOpening((0.0, 0.0), 30.0),)), IDENTITY)
    assert measure(sheet, standing(straight_tube(7.0))).gap_mm < -0.5
