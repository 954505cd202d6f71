"""Primitives and parts as exact boundary-representation solids.

Planes, cylinders and tori only: nothing here is a spline, so volumes and faces in a STEP
file are those of the model to rounding. Costs 1.6 s to import (cadquery): load it late.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import cadquery as cq
import numpy as np
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeSolid
from OCP.BRepLib import BRepLib
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism, BRepPrimAPI_MakeRevol
from OCP.gp import gp_Ax1
from OCP.ShapeFix import ShapeFix_Shell
from OCP.TopoDS import TopoDS, TopoDS_Shell

from shapes.part import Bore, Look, Part
from shapes.pose import Array, Pose, compose, unit
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Mesh,
    Opening,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    RoundOpening,
    SlotHole,
    Straight,
    TubeRun,
)

_Hole: TypeAlias = Opening | SlotHole

#: Shorter stretches of a tube are left out: a face this narrow is below OCCT's own confusion.
_LEAST_STRETCH_MM = 1e-6
#: An opening that leaves less of a rim than this to the sheet's edge is taken to run out over it.
_RIM_MM = 1e-5
#: How far the cutter of a through opening stands out of the sheet, so that no faces coincide.
_CUTTER_OVERHANG_MM = 1.0


def solid(primitive: Primitive, pose: Pose, *, filled: bool = False) -> cq.Shape:
    """The primitive as one solid, placed by ``pose`` [mm].

    ``filled``: what the checker sees, screw holes filled and a tube as a full bar widened by its
    deviation; otherwise what is exported, screw holes open and a tube hollow. A compound of solids
    only where openings cut a plate apart. ValueError for a tube bent tighter than its own radius.
    """
    match primitive:
        case Box(size=(x, y, z)):
            shape: cq.Shape = _block(x, y, z)
        case Cylinder():
            shape = _bar(primitive.diameter, primitive.length)
        case Prism():
            corners = [cq.Vector(x, y, -primitive.height / 2.0) for x, y in primitive.corners]
            shape = _drawn_out(cq.Wire.makePolygon(corners, close=True), [], primitive.height)
        case Plate():
            shape = _plate(primitive, filled)
        case TubeRun():
            shape = _tube(primitive, filled)
        case Mesh():
            from layout3d.realise.foreign import foreign_solid

            shape = foreign_solid(primitive)
    return shape.moved(location(pose))


def part_solids(part: Part, pose: Pose) -> list[tuple[str, Look, cq.Shape]]:
    """Name, look and placed shape of each solid of a part, its bores cut out."""
    found: list[tuple[str, Look, cq.Shape]] = []
    for piece in part.solids:
        shape = solid(piece.primitive, piece.solid2part)
        drills = [_drill(bore) for bore in part.bores if not bore.into or piece.name in bore.into]
        drills = [drill for drill in drills if _boxes_overlap(shape, drill)]
        found.append((piece.name, piece.look, _cut(shape, drills).moved(location(pose))))
    return found


def location(pose: Pose) -> cq.Location:
    """The pose as cadquery places things."""
    plane = cq.Plane(_vector(pose.origin), _vector(pose.x_axis), _vector(pose.z_axis))
    return cq.Location(plane)


def _vector(values: Array) -> cq.Vector:
    return cq.Vector(*(float(value) for value in values))


def _block(x: float, y: float, z: float) -> cq.Solid:
    return cq.Solid.makeBox(x, y, z, cq.Vector(-x / 2.0, -y / 2.0, -z / 2.0))


def _bar(diameter: float, length: float) -> cq.Solid:
    return cq.Solid.makeCylinder(diameter / 2.0, length, cq.Vector(0.0, 0.0, -length / 2.0))


def _plate(plate: Plate, filled: bool) -> cq.Shape:
    """Openings that stand alone are drawn into the outline; only the others cost a boolean cut."""
    openings = plate.openings if filled else (*plate.openings, *plate.screw_holes)
    alone = [opening for opening in openings if _stands_alone(opening, plate, openings)]
    low = -plate.thickness / 2.0
    inner = [_outline(opening, low) for opening in alone]
    sheet = _drawn_out(_outline(RectOpening((0.0, 0.0), plate.size), low), inner, plate.thickness)
    overhang = plate.thickness + 2.0 * _CUTTER_OVERHANG_MM
    others = [_outline(opening, -overhang / 2.0) for opening in openings if opening not in alone]
    return _cut(sheet, [_drawn_out(outline, [], overhang) for outline in others])


def _stands_alone(opening: _Hole, plate: Plate, openings: tuple[_Hole, ...]) -> bool:
    """Whether an opening lies inside the sheet and its box overlaps no other opening's."""
    (x, y), (half_x, half_y) = opening.at, _half(opening)
    free_x, free_y = (size / 2.0 - _RIM_MM for size in plate.size)
    if abs(x) + half_x > free_x or abs(y) + half_y > free_y:
        return False
    return not any(
        abs(other.at[0] - x) <= half_x + _half(other)[0] and abs(other.at[1] - y) <= half_y + _half(other)[1]
        for other in openings
        if other is not opening
    )


def _half(opening: _Hole) -> tuple[float, float]:
    match opening:
        case RectOpening(size=(x, y)) | SlotHole(length=x, width=y):
            return (x / 2.0, y / 2.0)
        case RoundOpening(diameter=diameter):
            return (diameter / 2.0, diameter / 2.0)


def _outline(opening: _Hole, level: float) -> cq.Wire:
    """The opening's rim at a height of the plate's frame, counter-clockwise."""
    at = cq.Vector(*opening.at, level)
    if isinstance(opening, RoundOpening):
        return cq.Wire.makeCircle(opening.diameter / 2.0, at, cq.Vector(0.0, 0.0, 1.0))
    x, y = _half(opening)
    ends = x - y if isinstance(opening, SlotHole) else x
    a, b, c, d = (at + cq.Vector(*corner) for corner in ((-ends, -y), (ends, -y), (ends, y), (-ends, y)))
    if isinstance(opening, RectOpening):
        return cq.Wire.makePolygon([a, b, c, d], close=True)
    if 2.0 * ends < _LEAST_STRETCH_MM:
        return cq.Wire.makeCircle(y, at, cq.Vector(0.0, 0.0, 1.0))
    right, left = at + cq.Vector(x, 0.0), at - cq.Vector(x, 0.0)
    edges = [
        cq.Edge.makeLine(a, b),
        cq.Edge.makeThreePointArc(b, right, c),
        cq.Edge.makeLine(c, d),
        cq.Edge.makeThreePointArc(d, left, a),
    ]
    return cq.Wire.assembleEdges(edges)


def _drawn_out(outline: cq.Wire, inner: list[cq.Wire], height: float) -> cq.Solid:
    return cq.Solid.extrudeLinear(outline, inner, cq.Vector(0.0, 0.0, height))


def _drill(bore: Bore) -> cq.Shape:
    below = compose(Pose.at((0.0, 0.0, -bore.depth / 2.0)), bore.bore2part)
    return _bar(bore.diameter, bore.depth).moved(location(below))


def _boxes_overlap(first: cq.Shape, second: cq.Shape) -> bool:
    a, b = first.BoundingBox(), second.BoundingBox()
    return (
        a.xmin < b.xmax
        and b.xmin < a.xmax
        and a.ymin < b.ymax
        and b.ymin < a.ymax
        and a.zmin < b.zmax
        and b.zmin < a.zmax
    )


def _cut(shape: cq.Shape, cutters: list[cq.Shape]) -> cq.Shape:
    """The shape less the cutters: a bare solid wherever one solid remains, else a compound.

    Bare, because readers of STEP lose a compound's colour, and OCCT's distance of a compound misses
    a solid wholly inside it.
    """
    if not cutters:
        return shape
    remains = shape.cut(*cutters)
    solids = remains.Solids()
    return solids[0] if len(solids) == 1 else remains


def _tube(run: TubeRun, filled: bool) -> cq.Solid:
    """Outer skin, inner skin and end faces sewn into one closed shell by their shared circles."""
    radii = [run.outside / 2.0 + run.deviation] if filled else [run.outside / 2.0]
    if run.inside > 0.0 and not filled:
        radii.append(run.inside / 2.0)
    pieces = [piece for piece in run.pieces if piece.length >= _LEAST_STRETCH_MM]
    if not pieces:
        raise ValueError(f"a tube of length {sum(piece.length for piece in run.pieces):g} mm has no body")
    skins = [_skin(pieces, radius) for radius in radii]
    shell, builder = TopoDS_Shell(), BRep_Builder()
    builder.MakeShell(shell)
    for faces, _, _ in skins:
        for face in faces:
            builder.Add(shell, face.wrapped)
    for circles in ([first for _, first, _ in skins], [last for _, _, last in skins]):
        cap = BRepBuilderAPI_MakeFace(circles[0].wrapped, True)
        for hole in circles[1:]:
            cap.Add(TopoDS.Wire_s(hole.wrapped.Reversed()))
        builder.Add(shell, cap.Face())
    turned = ShapeFix_Shell()
    turned.FixFaceOrientation(shell)  # the sweeps turn each face as they please
    made = BRepBuilderAPI_MakeSolid(turned.Shell()).Solid()
    BRepLib.OrientClosedSolid_s(made)
    return cq.Solid(made)


def _skin(pieces: list[Straight | Arc], radius: float) -> tuple[list[cq.Face], cq.Wire, cq.Wire]:
    """Faces of the round skin around the centreline, and the circles it starts and ends on.

    Each piece sweeps the circle the one before ended on, so neighbours share it and nothing has to
    be fused; place and tangent are carried along, so that rounding in the given pieces cannot open it.
    """
    at, travel = _start(pieces[0])
    first = cq.Wire.makeCircle(radius, _vector(at), _vector(travel))
    faces: list[cq.Face] = []
    last = first
    for piece in pieces:
        if isinstance(piece, Straight):
            step = piece.length * travel
            swept = BRepPrimAPI_MakePrism(last.wrapped, _vector(step).wrapped)
            at = at + step
        else:
            if piece.radius <= radius:
                raise ValueError(
                    f"a bend of radius {piece.radius:g} mm is within its tube's own radius {radius:g} mm"
                )
            outward = np.asarray(piece.outward)
            outward = unit(outward - (outward @ travel) * travel)
            centre = at - piece.radius * outward
            axis = gp_Ax1(_vector(centre).toPnt(), _vector(np.cross(outward, travel)).toDir())
            swept = BRepPrimAPI_MakeRevol(last.wrapped, axis, piece.angle)
            cos, sin = math.cos(piece.angle), math.sin(piece.angle)
            at = centre + piece.radius * (cos * outward + sin * travel)
            travel = unit(cos * travel - sin * outward)
        faces += cq.Shape.cast(swept.Shape()).Faces()
        last = cq.Wire(TopoDS.Wire_s(swept.LastShape()))
    return faces, first, last


def _start(piece: Straight | Arc) -> tuple[Array, Array]:
    """Where a piece of centreline begins, and its direction of travel there."""
    if isinstance(piece, Straight):
        start = np.asarray(piece.start)
        return start, unit(np.asarray(piece.end) - start)
    return piece.point_at(0.0), unit(piece.along)
