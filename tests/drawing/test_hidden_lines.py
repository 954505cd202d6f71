"""Hidden lines against closed forms: what of a box behind a box is seen can be worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layout3d.drawing.hide import visible
from layout3d.drawing.sketch import sketch
from layout3d.drawing.views import VIEWS
from shapes.pose import Pose, compose
from shapes.primitives import Box, Cylinder, Plate, Primitive, RectOpening, RoundOpening

FRONT = VIEWS["window"].scene2view
CHORD_MM = 0.01


def seen_mm(view: Pose, *placed: tuple[Primitive, tuple[float, float, float]]) -> list[float]:
    """Length of the visible lines of each solid [mm on the picture], the solids given by place."""
    sketches = [sketch(primitive, compose(Pose.at(at), view), CHORD_MM) for primitive, at in placed]
    faces = [face for drawn in sketches for face in drawn.hiding]
    return [
        sum(
            float(np.linalg.norm(np.diff(run[:, :2], axis=0), axis=1).sum())
            for runs in visible([line.points for line in drawn.lines], faces)
            for run in runs
        )
        for drawn in sketches
    ]


def test_a_box_alone_shows_its_front_rectangle() -> None:
    assert seen_mm(FRONT, (Box((30.0, 20.0, 10.0)), (0, 0, 0))) == [pytest.approx(80.0)]


def test_a_box_behind_a_smaller_one_shows_all_its_rim() -> None:
    # Front: 20 x 20 before the middle of 40 x 40; both rims are whole.
    near, far = (Box((20.0, 5.0, 20.0)), (0, -50, 0)), (Box((40.0, 5.0, 40.0)), (0, 0, 0))
    assert seen_mm(FRONT, near, far) == [pytest.approx(80.0), pytest.approx(160.0)]


@pytest.mark.parametrize("shift", [0.0, 5.0, 12.5, 19.9])
def test_a_box_half_behind_another_loses_the_covered_length(shift: float) -> None:
    # The nearer 20 x 20 covers the corner of the farther 20 x 20 that is moved by `shift` both ways.
    near, far = (Box((20.0, 5.0, 20.0)), (0, -50, 0)), (Box((20.0, 5.0, 20.0)), (shift, 0, shift))
    covered = 80.0 if shift == 0.0 else 2.0 * (20.0 - shift)
    assert seen_mm(FRONT, near, far) == [pytest.approx(80.0), pytest.approx(80.0 - covered, abs=1e-3)]


def test_a_cube_along_its_diagonal_shows_nine_edges() -> None:
    # The isometric view of ISO 5456-3: every edge is shortened by the square root of 2/3.
    view = Pose.facing((0, 0, 0), (1.0, -1.0, 1.0), (0, 0, 1)).inverse
    (length,) = seen_mm(view, (Box((10.0, 10.0, 10.0)), (0, 0, 0)))
    assert length == pytest.approx(9 * 10.0 * math.sqrt(2.0 / 3.0))


def test_a_round_bar_seen_from_its_side_is_a_rectangle() -> None:
    (length,) = seen_mm(FRONT, (Cylinder(10.0, 30.0), (0, 0, 0)))
    # Two rims seen edge-on and two sides; a rim goes on past its turn by one side of its polygon.
    assert length == pytest.approx(2 * 30.0 + 2 * 10.0, abs=0.2)


def test_a_bar_behind_a_hole_is_seen_through_it() -> None:
    # A thin bar 100 long behind a sheet with a 40 x 40 window: both its long edges show 40 each.
    sheet = Plate((200.0, 200.0), 2.0, (RectOpening((0.0, 0.0), (40.0, 40.0)),))
    lying = compose(Pose.at((0, 0, 0), (90.0, 0, 0)), FRONT)
    bar = sketch(Box((100.0, 2.0, 3.0)), compose(Pose.at((0, 20, 0)), FRONT), CHORD_MM)
    runs = visible([line.points for line in bar.lines], sketch(sheet, lying, CHORD_MM).hiding)
    assert sum(math.dist(run[0], run[-1]) for kept in runs for run in kept) == pytest.approx(80.0, abs=1e-3)


def test_a_bar_behind_a_round_hole_shows_the_chord() -> None:
    sheet = Plate((200.0, 200.0), 2.0, (RoundOpening((0.0, 0.0), 50.0),))
    lying = compose(Pose.at((0, 0, 0), (90.0, 0, 0)), FRONT)
    line = FRONT.apply(np.array(((-80.0, 20.0, 15.0), (80.0, 20.0, 15.0))))
    ((run,),) = visible([line], sketch(sheet, lying, CHORD_MM).hiding)
    assert math.dist(run[0], run[-1]) == pytest.approx(2.0 * math.sqrt(25.0**2 - 15.0**2), abs=0.1)
