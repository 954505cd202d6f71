"""Meshes against the exact solids, closed forms and an independent mesh library."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.realise import brep
from layout3d.realise.facets import sides
from layout3d.realise.mesh import Mesh, part_meshes, primitive_mesh, union
from layout3d.realise.normals import shaded
from shapes.part import Bore, Part, Solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    RoundOpening,
    SlotHole,
    Straight,
    TubeRun,
)


def judged(mesh: Mesh) -> trimesh.Trimesh:
    """The mesh as the judge sees it: vertices as they are, nothing mended."""
    return trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)


lengths = st.floats(0.5, 300.0)
angles = st.floats(-180.0, 180.0)


@st.composite
def prisms(draw: st.DrawFn) -> Prism:
    """Corners on an ellipse: always convex and counter-clockwise."""
    count = draw(st.integers(3, 9))
    long, wide = draw(st.floats(2.0, 80.0)), draw(st.floats(2.0, 80.0))
    turns = [2.0 * math.pi * (place + draw(st.floats(0.0, 0.6))) / count for place in range(count)]
    return Prism(tuple((long * math.cos(a), wide * math.sin(a)) for a in turns), draw(lengths))


@st.composite
def plates(draw: st.DrawFn) -> Plate:
    """Openings on a grid, so that they stay clear of each other; the last one runs over the edge."""
    cell = draw(st.floats(12.0, 60.0))
    openings: list[RoundOpening | RectOpening] = []
    holes: list[RoundOpening | SlotHole] = []
    for column in range(3):
        at = ((column - 1) * cell, draw(st.floats(-0.1, 0.1)) * cell)
        width = draw(st.floats(0.1, 0.7)) * cell
        kind = draw(st.sampled_from(("round", "rect", "screw", "slot")))
        if kind == "round":
            openings.append(RoundOpening(at, width))
        elif kind == "rect":
            openings.append(RectOpening(at, (width, cell / 2.0)))
        elif kind == "screw":
            holes.append(RoundOpening(at, width))
        else:
            holes.append(SlotHole(at, width, width * draw(st.floats(0.3, 1.0))))
    if draw(st.booleans()):
        openings.append(RectOpening((1.5 * cell, cell), (cell / 2.0, cell / 3.0)))
    return Plate((3.0 * cell, 2.5 * cell), draw(st.floats(0.5, 10.0)), tuple(openings), tuple(holes))


@st.composite
def tube_runs(draw: st.DrawFn) -> TubeRun:
    """Straights and arcs that follow on tangentially, in any plane."""
    outside = draw(st.floats(4.0, 20.0))
    inside = draw(st.sampled_from((0.0, 0.5, 0.8))) * outside
    pose = Pose.at((0.0, 0.0, 0.0), (draw(angles), draw(angles), draw(angles)))
    travel, outward, at = pose.z_axis, -pose.x_axis, np.array([10.0, -20.0, 30.0])
    pieces: list[Straight | Arc] = []
    for _ in range(draw(st.integers(1, 3))):
        end = at + draw(st.floats(5.0, 100.0)) * travel
        pieces.append(Straight(tuple(at.tolist()), tuple(end.tolist())))
        turn = math.radians(draw(angles))
        outward = math.cos(turn) * outward + math.sin(turn) * np.cross(travel, outward)
        radius, angle = outside * draw(st.floats(1.0, 4.0)), math.radians(draw(st.floats(5.0, 180.0)))
        centre = end - radius * outward
        arc = (centre, outward, travel)
        pieces.append(Arc(*(tuple(vector.tolist()) for vector in arc), radius, angle))
        cos, sin = math.cos(angle), math.sin(angle)
        at = centre + radius * (cos * outward + sin * travel)
        outward, travel = cos * outward + sin * travel, cos * travel - sin * outward
    return TubeRun(tuple(pieces), outside, inside)


primitives: st.SearchStrategy[Primitive] = st.one_of(
    st.builds(Box, st.tuples(lengths, lengths, lengths)),
    st.builds(Cylinder, lengths, lengths),
    prisms(),
    plates(),
    tube_runs(),
)


@settings(max_examples=150, deadline=None)
@given(primitives, st.sampled_from((0.02, 0.05, 0.3)))
def test_a_mesh_is_closed_and_its_volume_is_that_of_the_exact_solid(
    primitive: Primitive, tolerance: float
) -> None:
    mesh = primitive_mesh(primitive, tolerance)
    judge = judged(mesh)
    assert judge.is_watertight
    assert judge.is_winding_consistent
    assert mesh.volume == pytest.approx(judge.volume, rel=1e-9)
    exact = brep.solid(primitive, IDENTITY)
    # No facet is further than the tolerance from the surface it stands for.
    assert abs(mesh.volume - exact.Volume()) <= tolerance * exact.Area() + 1e-6
    box = exact.BoundingBox()
    low, high = judge.bounds
    for got, want in zip(
        (*low, *high), (box.xmin, box.ymin, box.zmin, box.xmax, box.ymax, box.zmax), strict=True
    ):
        assert got == pytest.approx(want, abs=tolerance + 1e-5)


@pytest.mark.parametrize(
    "primitive", [Box((10.0 / 3.0, 7.0, 2.0)), Prism(((0, 0), (9, 1), (4, 7)), 1.0 / 3.0)]
)
def test_flat_sided_solids_have_their_exact_volume(primitive: Primitive) -> None:
    assert primitive_mesh(primitive).volume == pytest.approx(
        brep.solid(primitive, IDENTITY).Volume(), rel=1e-12
    )


@given(st.floats(0.3, 500.0), st.floats(0.001, 1.0))
def test_a_chord_stays_within_the_tolerance(radius: float, tolerance: float) -> None:
    """The middle of a chord lies r (1 - cos(pi / n)) inside its circle (elementary)."""
    count = sides(radius, tolerance)
    assert radius * (1.0 - math.cos(math.pi / count)) <= max(
        tolerance, radius * (1.0 - math.cos(math.pi / 12))
    )
    assert count % 4 == 0


@pytest.mark.parametrize(("diameter", "tolerance"), [(14.0, 0.05), (120.0, 0.05), (3.0, 0.2), (500.0, 1e-3)])
def test_a_bar_has_the_volume_of_its_polygon(diameter: float, tolerance: float) -> None:
    """Area of a regular n-gon in a circle of radius r: n/2 r^2 sin(2 pi / n) (elementary)."""
    mesh = primitive_mesh(Cylinder(diameter, 25.0), tolerance)
    count = len(mesh.vertices) // 2
    polygon = count / 2.0 * (diameter / 2.0) ** 2 * math.sin(2.0 * math.pi / count)
    assert mesh.volume == pytest.approx(polygon * 25.0, rel=1e-12)
    assert np.hypot(*mesh.vertices[:, :2].T) == pytest.approx(diameter / 2.0, rel=1e-12)


@pytest.mark.parametrize(("radius", "angle_deg"), [(36.0, 90.0), (42.0, 180.0), (25.0, 17.0)])
def test_a_bend_has_the_volume_pappus_gives_its_facets(radius: float, angle_deg: float) -> None:
    """Pappus: area times the path of its centroid; of m flat steps each is sin(a)/a of an arc's."""
    angle = math.radians(angle_deg)
    run = TubeRun((Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), radius, angle),), 12.0, 8.0)
    mesh = primitive_mesh(run)
    count = sides(6.0, 0.025)
    steps = len(mesh.vertices) // (2 * count) - 1
    polygons = count / 2.0 * math.sin(2.0 * math.pi / count) * (6.0**2 - 4.0**2)
    assert mesh.volume == pytest.approx(polygons * radius * steps * math.sin(angle / steps), rel=1e-12)
    assert judged(mesh).euler_number == 0  # a torus-like surface: the bore goes through


def test_no_facet_of_a_bend_lies_further_off_than_the_tolerance() -> None:
    tolerance = 0.05
    run = TubeRun((Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), 36.0, math.pi / 2.0),), 14.0, 0.0)
    mesh = primitive_mesh(run, tolerance)
    corners = mesh.vertices[mesh.triangles]
    weights = np.random.default_rng(5).dirichlet((1.0, 1.0, 1.0), size=20)
    points = np.einsum("kc,tcx->tkx", weights, corners)
    flat_ends = (np.ptp(corners[:, :, 1], axis=1) < 1e-9) | (np.ptp(corners[:, :, 0], axis=1) < 1e-9)
    x, y, z = points[~flat_ends].reshape(-1, 3).T
    off = 7.0 - np.hypot(np.hypot(x, y) - 36.0, z)  # below 0 inside the bend, where chords stand out
    assert len(off) > 10_000
    assert tolerance / 2.0 < np.abs(off).max() <= tolerance


def test_bores_are_cut_as_in_the_exact_solids() -> None:
    turned = Pose.at((3.0, 1.0, 7.0), (20.0, -35.0, 110.0))
    part = Part(
        (
            Solid("block", Box((40.0, 30.0, 20.0)), turned),
            Solid("bar", Cylinder(12.0, 30.0), Pose.at((60.0, 0.0, 0.0), (0.0, 90.0, 0.0))),
        ),
        bores=(
            Bore(turned.shifted(10.0 * turned.z_axis), 12.5, 9.0, ("block",)),
            Bore(turned.shifted(-20.0 * turned.x_axis), 5.0, 40.0),
            Bore(Pose.at((75.0, 0.0, 0.0), (0.0, 90.0, 0.0)), 6.0, 30.0, ("bar",)),
        ),
    )
    made = part_meshes(part, 0.002)
    exact = brep.part_solids(part, IDENTITY)
    assert [solid.name for solid in made] == [name for name, _, _ in exact]
    for solid, (_, _, shape) in zip(made, exact, strict=True):
        assert judged(solid.mesh).is_watertight
        assert solid.mesh.volume == pytest.approx(shape.Volume(), rel=1e-3)
    assert judged(made[1].mesh).euler_number == 0  # bored through and through


@settings(max_examples=60, deadline=None)
@given(st.tuples(angles, angles, angles), st.tuples(*3 * [st.floats(-300.0, 300.0)]), st.floats(1.0, 15.0))
def test_flush_faces_leave_no_film_and_no_gap(
    rotate: tuple[float, float, float], at: tuple[float, float, float], height: float
) -> None:
    """A bore that ends on a face goes through; solids that touch in a face become one body."""
    base = Pose.at(at, rotate)
    top = Pose.at(base.apply(np.array([0.0, 0.0, height / 2.0])), rotate)
    lid = Pose.at(base.apply(np.array([0.0, 0.0, height / 2.0 + 1.0])), rotate)
    part = Part(
        (Solid("base", Box((20.0, 20.0, height)), base), Solid("lid", Box((10.0, 10.0, 2.0)), lid)),
        bores=(Bore(top, 4.0, height, ("base",)),),
    )
    base_mesh, lid_mesh = (solid.mesh for solid in part_meshes(part))
    assert judged(base_mesh).euler_number == 0
    back = [
        mesh.moved(solid.solid2part).moved(base.inverse)
        for mesh, solid in zip((base_mesh, lid_mesh), part.solids, strict=True)
    ]
    whole = union(back)
    assert judged(whole).is_watertight
    assert judged(whole).body_count == 1
    assert whole.volume == pytest.approx(base_mesh.volume + lid_mesh.volume, rel=1e-6)


def test_a_union_counts_shared_room_once() -> None:
    """20 x 10 x 10 and 10 x 10 x 10 at (10.5, 4, 4) share 4.5 x 6 x 6 = 162 mm3."""
    first = primitive_mesh(Box((20.0, 10.0, 10.0)))
    second = primitive_mesh(Box((10.0, 10.0, 10.0))).moved(Pose.at((10.5, 4.0, 4.0)))
    assert union([first, second]).volume == pytest.approx(3000.0 - 162.0, rel=1e-9)


def test_a_solid_its_bores_consume_is_left_out() -> None:
    part = Part((Solid("pin", Cylinder(4.0, 10.0)),), bores=(Bore(Pose.at((0.0, 0.0, 6.0)), 9.0, 12.0),))
    assert part_meshes(part) == []


def test_a_tube_within_its_own_bend_is_refused() -> None:
    tight = TubeRun((Arc((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), 7.0, 1.0),), 14.0, 10.0)
    with pytest.raises(ValueError, match="radius 7 mm is within its tube's own radius 7 mm"):
        primitive_mesh(tight)


def test_a_tube_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="has no body"):
        primitive_mesh(TubeRun((Straight((1.0, 1.0, 1.0), (1.0, 1.0, 1.0)),), 14.0, 10.0))


def test_a_round_bar_is_shaded_round_and_sharp_at_its_ends() -> None:
    drawn = shaded(primitive_mesh(Cylinder(20.0, 30.0)))
    side = np.abs(drawn.normals[:, 2]) < 0.5
    radial = drawn.vertices[side] * (1.0, 1.0, 0.0) / 10.0
    assert drawn.normals[side] == pytest.approx(radial, abs=1e-12)
    assert np.abs(drawn.normals[~side]) == pytest.approx(
        np.tile((0.0, 0.0, 1.0), ((~side).sum(), 1)), abs=1e-12
    )
    assert side.sum() == (~side).sum()


def test_a_box_is_shaded_flat() -> None:
    drawn = shaded(primitive_mesh(Box((1.0, 2.0, 3.0))))
    assert len(drawn.vertices) == 24
    assert np.sort(np.abs(drawn.normals), axis=1) == pytest.approx(np.tile((0.0, 0.0, 1.0), (24, 1)))


@pytest.mark.parametrize(("corner_deg", "vertices"), [(30.0, 12 * 4), (36.0, 10 * 6)])
def test_edges_are_smooth_below_35_degrees_and_sharp_above(corner_deg: float, vertices: int) -> None:
    """A regular n-gon turns 360/n degrees at a corner: 12 corners blend, 10 stay edges."""
    count = round(360.0 / corner_deg)
    turns = [2.0 * math.pi * place / count for place in range(count)]
    prism = Prism(tuple((5.0 * math.cos(a), 5.0 * math.sin(a)) for a in turns), 4.0)
    assert len(shaded(primitive_mesh(prism)).vertices) == vertices


@settings(max_examples=40, deadline=None)
@given(primitives)
def test_shading_keeps_the_surface_and_its_normals_point_out(primitive: Primitive) -> None:
    mesh = primitive_mesh(primitive)
    drawn = shaded(mesh)
    assert np.linalg.norm(drawn.normals, axis=1) == pytest.approx(1.0, abs=1e-12)
    a, b, c = drawn.vertices[drawn.triangles].transpose(1, 0, 2)
    facets = np.cross(b - a, c - a)
    assert np.linalg.norm(facets, axis=1).sum() / 2.0 == pytest.approx(judged(mesh).area, rel=1e-6)
    for corner in drawn.normals[drawn.triangles].transpose(1, 0, 2):
        assert (np.einsum("ij,ij->i", corner, facets) > 0.0).all()


def test_neighbouring_rings_of_a_tube_are_not_twisted() -> None:
    """Corresponding vertices of neighbouring rings lie along the tube, through a turn out of plane."""
    run = TubeRun(
        (
            Straight((0.0, 0.0, 0.0), (0.0, 0.0, 20.0)),
            Arc((30.0, 0.0, 20.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), 30.0, math.pi / 2.0),
            Arc((30.0, 30.0, 50.0), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0), 30.0, math.pi / 2.0),
        ),
        10.0,
        0.0,
    )
    count = sides(5.0, 0.025)
    rings = primitive_mesh(run).vertices.reshape(-1, count, 3)
    for here, after in pairwise(rings):
        axis = after.mean(axis=0) - here.mean(axis=0)
        lines = after - here
        across = np.linalg.norm(np.cross(lines, axis / np.linalg.norm(axis)), axis=1)
        assert (across < 1e-9 * np.linalg.norm(lines, axis=1) + 1e-9).all()
