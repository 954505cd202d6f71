"""Unsigned distances against python-fcl and coal, and flat cases against shapely.

Faults of the judges that are kept out: fcl reports cylinders too far apart and aborts on touching
ones when asked for a sign, and both libraries' triangle trees miss what is inside another mesh; coal's
signed distance fails near contact. So only boxes and convex meshes are asked, apart by more than 0.01 mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure_pairs
from shapes.pose import Pose
from shapes.primitives import Box, Mesh, Plate, Prism, RectOpening

from .constructed import Known, draw_apart

#: The libraries stop their descent at this [mm].
THEIRS_MM = 1e-4


def boxes_and_meshes(count: int) -> list[Known]:
    return [
        known
        for known in draw_apart(40 * count, 7, structured=False)
        if {"box", "mesh"}.issuperset(known.kinds) and known.truth_mm > 0.01
    ][:count]


def ours(pairs: list[Known]) -> list[float]:
    bodies = [(body(*known.first), body(*known.second)) for known in pairs]
    told = measure_pairs(bodies, np.full(len(bodies), np.inf), stop_when_decided=False)
    return [one.gap_mm for one in told]


def test_python_fcl_agrees() -> None:
    fcl = pytest.importorskip("fcl")

    def thing(primitive: Box | Mesh, pose: Pose) -> object:
        if isinstance(primitive, Box):
            shape = fcl.Box(*primitive.size)
        else:
            shape = fcl.BVHModel()
            shape.beginModel(len(primitive.vertices), len(primitive.triangles))
            shape.addSubModel(primitive.vertices, primitive.triangles)
            shape.endModel()
        return fcl.CollisionObject(shape, fcl.Transform(pose.rotation, pose.origin))

    pairs = [known for known in boxes_and_meshes(60) if len(set(known.kinds)) == 1]
    assert len(pairs) > 10
    theirs = [fcl.distance(thing(*known.first), thing(*known.second)) for known in pairs]
    np.testing.assert_allclose(ours(pairs), theirs, atol=THEIRS_MM)


def test_coal_agrees() -> None:
    coal = pytest.importorskip("coal")

    def shape(primitive: Box | Mesh) -> object:
        if isinstance(primitive, Box):
            return coal.Box(*primitive.size)
        points = coal.StdVec_Vec3s()
        points.extend(list(primitive.vertices))
        return coal.Convex.convexHull(points, True, "")

    def place(pose: Pose) -> object:
        return coal.Transform3s(pose.rotation, pose.origin)

    pairs = [known for known in boxes_and_meshes(40) if known.kinds == ("box", "box")]
    assert len(pairs) > 5
    theirs = []
    for known in pairs:
        asked, told = coal.DistanceRequest(), coal.DistanceResult()
        (a, at_a), (b, at_b) = known.first, known.second
        theirs.append(coal.distance(shape(a), place(at_a), shape(b), place(at_b), asked, told))
    np.testing.assert_allclose(ours(pairs), theirs, atol=THEIRS_MM)


def test_shapely_agrees_on_sheets_in_one_plane() -> None:
    shapely = pytest.importorskip("shapely")
    rng = np.random.default_rng(3)
    window = RectOpening((10.0, 0.0), (80.0, 60.0))
    plate = Plate((160.0, 120.0), 2.0, (window,))
    flat = shapely.box(-80, -60, 80, 60) - shapely.box(-30, -30, 50, 30)
    checked = 0
    for _ in range(60):
        corners = ((-8.0, -5.0), (9.0, -6.0), (0.0, 7.0))
        at, turn = rng.uniform(-120, 120, 2), float(rng.uniform(0, 360))
        pose = Pose.at((float(at[0]), float(at[1]), 0.0), (0.0, 0.0, turn))
        there = [pose.apply(np.array((x, y, 0.0)))[:2] for x, y in corners]
        triangle = shapely.Polygon(there)
        [told] = measure_pairs(
            [(body(plate, Pose.at((0.0, 0.0, 0.0))), body(Prism(corners, 2.0), pose))],
            np.array([np.inf]),
            stop_when_decided=False,
        )
        if flat.intersection(triangle).area > 1e-6:
            assert told.gap_mm < 0.0
        else:
            assert told.gap_mm == pytest.approx(flat.distance(triangle), abs=1e-6)
            checked += 1
    assert checked > 10
