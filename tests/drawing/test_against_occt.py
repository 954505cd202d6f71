"""Lines and silhouettes against two libraries that know nothing of this project.

OCCT's exact hidden-line removal (HLRBRep_Algo) says how long the visible lines of solids are; manifold3d's
projection says how large their silhouette is.
"""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

import shapes
from layout3d.drawing.hide import visible
from layout3d.drawing.sketch import sketch
from layout3d.drawing.views import VIEWS
from layout3d.realise.brep import solid
from layout3d.realise.mesh import primitive_mesh
from shapes.part import Part
from shapes.pose import Pose, compose
from shapes.primitives import Box, Cylinder, Plate, Primitive, Prism, RectOpening, RoundOpening

CHORD_MM = 0.002
CORNER = VIEWS["corner"]


def own_length(placed: list[tuple[Primitive, Pose]]) -> float:
    seen = [sketch(primitive, compose(pose, CORNER.scene2view), CHORD_MM) for primitive, pose in placed]
    faces = [face for one in seen for face in one.hiding]
    lines = [line.points for one in seen for line in one.lines]
    runs = [run for kept in visible(lines, faces) for run in kept]
    return sum(float(np.hypot(*np.diff(run[:, :2], axis=0).T).sum()) for run in runs)


def occt_length(placed: list[tuple[Primitive, Pose]]) -> float:
    algo = HLRBRep_Algo()
    for primitive, pose in placed:
        algo.Add(solid(primitive, pose).wrapped)
    eye = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*CORNER.toward), gp_Dir(*CORNER.scene2view.rotation[0]))
    algo.Projector(HLRAlgo_Projector(eye))
    algo.Update()
    algo.Hide()
    told = HLRBRep_HLRToShape(algo)
    return sum(length_of(found) for found in (told.VCompound(), told.OutLineVCompound()) if found is not None)


def length_of(compound: object) -> float:
    total, edges = 0.0, TopExp_Explorer(compound, TopAbs_EDGE)
    while edges.More():
        edge = TopoDS.Edge_s(edges.Current())
        BRepLib.BuildCurves3d_s(edge)
        total += GCPnts_AbscissaPoint.Length_s(BRepAdaptor_Curve(edge))
        edges.Next()
    return total


SIZE = st.floats(5.0, 40.0)
PRIMITIVE = st.one_of(
    st.builds(Box, st.tuples(SIZE, SIZE, SIZE)),
    st.builds(Cylinder, SIZE, SIZE),
    st.builds(lambda a, b, h: Prism(((0.0, 0.0), (a, 0.0), (a / 3.0, b)), h), SIZE, SIZE, SIZE),
)
POSE = st.builds(
    Pose.at,
    st.tuples(*[st.floats(-25.0, 25.0)] * 3),
    st.tuples(*[st.floats(-170.0, 170.0)] * 3),
)


def apart(placed: list[tuple[Primitive, Pose]]) -> bool:
    bodies = [solid_of(primitive, pose) for primitive, pose in placed]
    pairs = [(a, b) for at, a in enumerate(bodies) for b in bodies[at + 1 :]]
    return all((a ^ b).is_empty() for a, b in pairs)


def solid_of(primitive: Primitive, pose: Pose) -> manifold3d.Manifold:
    mesh = primitive_mesh(primitive, CHORD_MM)
    return manifold3d.Manifold(manifold3d.Mesh64(pose.apply(mesh.vertices), mesh.triangles.astype(np.uint64)))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(st.lists(st.tuples(PRIMITIVE, POSE), min_size=1, max_size=3))
def test_the_visible_lines_are_as_long_as_occt_says(placed: list[tuple[Primitive, Pose]]) -> None:
    assume(apart(placed))
    assert own_length(placed) == pytest.approx(occt_length(placed), rel=4e-3, abs=0.3)


def test_what_is_seen_through_openings_is_as_long_as_occt_says() -> None:
    sheet = Plate(
        (80.0, 60.0), 4.0, (RoundOpening((-18.0, 0.0), 30.0), RectOpening((20.0, 5.0), (24.0, 30.0)))
    )
    facing = Pose.at((0.0, -30.0, 0.0), (70.0, 0.0, 20.0))
    placed: list[tuple[Primitive, Pose]] = [
        (sheet, facing),
        (Box((70.0, 8.0, 50.0)), Pose.at((0.0, 20.0, 0.0), (0.0, 0.0, 13.0))),
        (Cylinder(9.0, 40.0), Pose.at((-18.0, -25.0, 2.0), (70.0, 0.0, 20.0))),
    ]
    assert own_length(placed) == pytest.approx(occt_length(placed), rel=2e-3)


@pytest.mark.parametrize("name", [name for name in shapes.SHAPES if name not in ("custom", "import")])
def test_the_painted_area_is_the_parts_silhouette(name: str) -> None:
    part = shapes.shape_named(name)().build()
    view = VIEWS["corner"].scene2view
    painted = manifold3d.CrossSection()
    for one in part.solids:
        seen = sketch(one.primitive, compose(one.solid2part, view), CHORD_MM)
        for body in seen.bodies:
            for fill in body.fills:
                rule = manifold3d.FillRule.EvenOdd if fill.even_odd else manifold3d.FillRule.NonZero
                painted += manifold3d.CrossSection([outline.tolist() for outline in fill.outlines], rule)
    assert painted.area() == pytest.approx(silhouette(part, view).area(), rel=2e-3)


def silhouette(part: Part, view: Pose) -> manifold3d.CrossSection:
    whole = manifold3d.CrossSection()
    for one in part.solids:
        whole += solid_of(one.primitive, compose(one.solid2part, view)).project()
    return whole


def test_a_wrong_picture_would_be_noticed() -> None:
    # The same box a tenth larger: both comparisons must be able to fail.
    pose = Pose.at((0.0, 0.0, 0.0), (10.0, 20.0, 30.0))
    small, large = [(Box((20.0, 20.0, 20.0)), pose)], [(Box((22.0, 22.0, 22.0)), pose)]
    assert math.isclose(occt_length(large), 1.1 * occt_length(small), rel_tol=1e-6)
    assert own_length(small) != pytest.approx(occt_length(large), rel=4e-3, abs=0.3)
