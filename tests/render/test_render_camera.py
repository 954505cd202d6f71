"""The camera of shaded pictures, against the pinhole model; pins, against what they must not do."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout3d.drawing.views import VIEWS
from layout3d.findings import Finding
from layout3d.render.camera import FOV_DEG, camera_for
from layout3d.render.pins import MOST_LINES, lines_of, pins_of

SIZE = (1600, 1200)
CUBE = np.array([[x, y, z] for x in (0.0, 100.0) for y in (0.0, 100.0) for z in (0.0, 100.0)])
lengths = st.floats(-500.0, 500.0)
points = st.lists(st.tuples(lengths, lengths, lengths), min_size=1, max_size=12)


def finding(at: tuple[float, float, float] | None, severity: str = "error") -> Finding:
    return Finding(rule="gap", severity=severity, parts=("a", "b"), message="", at_mm=at)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", VIEWS)
@given(places=points)
def test_everything_is_in_the_picture_and_touches_its_rim(name: str, places):
    found = np.array(places)
    camera = camera_for(VIEWS[name], found, SIZE)
    seen = camera.pixels(found, SIZE)
    rim = 0.07 / 2.0 * np.array(SIZE)
    assert (seen >= rim - 1e-6).all()
    assert (seen <= np.array(SIZE) - rim + 1e-6).all()
    # Unless it is narrow and comes up to the eye, it is as large as fits: one pair of edges is reached.
    nearest = (found @ np.array(VIEWS[name].toward)).max()
    if float(camera.eye @ np.array(VIEWS[name].toward)) - nearest > 20.5:
        assert (
            np.isclose([seen.min(axis=0) - rim, np.array(SIZE) - rim - seen.max(axis=0)], 0.0, atol=1e-6)
            .all(0)
            .any()
        )


def test_a_pinhole_sees_by_similar_triangles():
    # From the window: x to the right, z up, the eye at -y (docs/scene.md). Hartley and Zisserman,
    # Multiple View Geometry, 6.1: x' = f X / Z, with f = half the height / tan(half the angle).
    camera = camera_for(VIEWS["window"], CUBE, SIZE)
    focal = SIZE[1] / 2.0 / math.tan(math.radians(FOV_DEG / 2.0))
    for x, y, z in CUBE:
        depth = y - camera.eye[1]
        (seen,) = camera.pixels(np.array([[x, y, z]]), SIZE)
        wanted = (
            SIZE[0] / 2.0 + focal * (x - camera.eye[0]) / depth,
            SIZE[1] / 2.0 + focal * (z - camera.eye[2]) / depth,
        )
        assert seen == pytest.approx(wanted)


def test_pins_point_at_their_places_and_lie_on_nothing():
    camera = camera_for(VIEWS["corner"], CUBE, SIZE)
    pins = pins_of([finding((50.0, 50.0, 50.0)) for _ in range(8)], camera, SIZE)
    assert [pin.text for pin in pins] == [f"!{n}" for n in range(1, 9)]
    (place,) = camera.pixels(np.array([[50.0, 50.0, 50.0]]), SIZE)
    for pin in pins:
        assert pin.point == pytest.approx(tuple(place), abs=0.01)
        assert all(25.0 <= pin.at[axis] <= SIZE[axis] - 25.0 for axis in (0, 1))
    # A pin is 50 pixels wide and high.
    nearest = min(math.dist(a.at, b.at) for k, a in enumerate(pins) for b in pins[:k])
    assert nearest > 50.0


def test_findings_keep_the_numbers_check_gives_them():
    found = [
        finding((1.0, 1.0, 1.0)),
        finding(None),
        finding((2.0, 2.0, 2.0), "warning"),
        finding((3.0, 3.0, 3.0), "note"),
    ]
    camera = camera_for(VIEWS["corner"], CUBE, SIZE)
    assert [pin.text for pin in pins_of(found, camera, SIZE)] == ["!1", "?3"]
    assert lines_of(found) == ["!1  gap: a, b", "?3  gap: a, b"]


def test_many_findings_are_not_all_told_on_the_picture():
    told = lines_of([finding((1.0, 1.0, 1.0))] * 20)
    assert len(told) == MOST_LINES
    assert told[-1] == "and 11 more"
    assert lines_of([finding((1.0, 1.0, 1.0))] * MOST_LINES)[-1] == f"!{MOST_LINES}  gap: a, b"
