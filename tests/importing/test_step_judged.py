"""Curved STEP solids as meshes, judged by OCCT on the solids themselves: never further than the truth."""

from __future__ import annotations

import cadquery as cq
import numpy as np
import pytest

from layout3d.importing.stepfile import facets_of
from layout3d.importing.weld import welded
from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure
from layout3d.realise.brep import solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Cylinder, Mesh, Primitive


def holed_block() -> cq.Shape:
    block = cq.Workplane().box(60, 40, 20).edges("|Z").fillet(5)
    return block.faces(">Z").workplane().rect(40, 20, forConstruction=True).vertices().hole(5).val()


def round_block() -> cq.Shape:
    return cq.Workplane().box(30, 20, 10).edges().fillet(3).val()


def slanted_bar() -> cq.Shape:
    knife = cq.Workplane().box(60, 60, 60).val().moved(cq.Location((0, 0, 45), (1, 0, 0), 25))
    return cq.Solid.makeCylinder(12, 40).cut(knife).Solids()[0]


def loft() -> cq.Shape:
    return cq.Workplane().rect(30, 20).workplane(offset=25).ellipse(8, 12).loft(combine=True).val()


MADE = {
    "holed block": holed_block,
    "round block": round_block,
    "slanted bar": slanted_bar,
    "loft": loft,
    "ball": lambda: cq.Solid.makeSphere(15, angleDegrees1=-90),
    "ring": lambda: cq.Solid.makeTorus(20, 5),
    "cone": lambda: cq.Solid.makeCone(10, 3, 20),
}


def mesh_of(shape: cq.Shape, deflection: float = 0.05) -> Mesh:
    corners, bulges, deviation = facets_of(shape.Solids()[0].wrapped, deflection)
    vertices, triangles, kept, moved = welded(corners)
    return Mesh(vertices, triangles, deviation + moved, bulges[kept])


@pytest.mark.parametrize("name", MADE)
def test_never_further_than_the_truth_and_hardly_nearer(name: str) -> None:
    shape = MADE[name]()
    mesh = mesh_of(shape)
    draw = np.random.default_rng(5)
    middle = 0.5 * (mesh.vertices.min(axis=0) + mesh.vertices.max(axis=0))
    apart = 0
    for turn in range(24):
        other: Primitive = Box((8, 12, 5)) if turn % 2 else Cylinder(7, 15)
        at = middle + draw.uniform(-30, 30, 3)
        pose = Pose.at(at, tuple(draw.uniform(0, 360, 3).tolist()))
        judged = solid(other, pose)
        found = measure(body(mesh, IDENTITY), body(other, pose))
        truth = shape.distance(judged)
        if truth > 1e-6:
            apart += 1
            assert truth - mesh.spread - 1e-5 <= found.gap_mm <= truth + 1e-6
        else:
            assert found.gap_mm <= 1e-6
        if shape.intersect(judged).Volume() > 1e-3:
            assert found.gap_mm < -1e-6
    assert 3 < apart < 24


def test_the_faces_of_a_body_with_round_holes_and_corners_still_stand_flush() -> None:
    mesh = mesh_of(holed_block())
    floor = measure(body(mesh, IDENTITY), body(Box((100, 100, 4)), Pose.at((0, 0, -12))))
    assert abs(floor.gap_mm) <= 1e-6
    wall = measure(body(mesh, IDENTITY), body(Box((4, 10, 4)), Pose.at((32, 0, 0))))
    assert abs(wall.gap_mm) <= 1e-6


def test_a_pin_in_a_hole_keeps_less_than_the_truth() -> None:
    mesh = mesh_of(holed_block())
    found = measure(body(mesh, IDENTITY), body(Cylinder(4, 40), Pose.at((20, 10, 0))))
    assert 0.5 - 0.12 <= found.gap_mm <= 0.5
