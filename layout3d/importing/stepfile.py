"""Solids of a STEP file and their triangles. Loads OCCT: for the child process and for export only."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.GeomAbs import GeomAbs_Plane
from OCP.gp import gp_Pnt
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Poly import Poly_Triangulation
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import (
    TopAbs_EDGE,
    TopAbs_FACE,
    TopAbs_REVERSED,
    TopAbs_SHAPE,
    TopAbs_ShapeEnum,
    TopAbs_SHELL,
    TopAbs_SOLID,
)
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape

from shapes.pose import Array

#: Text, and numbers as no STEP file may write them (ISO 10303-21).
_QUOTED = re.compile(rb"'[^']*'")
_NOT_FINITE = re.compile(rb"[(,]\s*[-+]?(nan|inf|infinity)\s*[,)]", re.IGNORECASE)
_MENDED = "export them as solids, or take the convex hull of all with `solid: hull`"
#: By how much the net round a curved facet is widened.
_WIDER = 1.1
_MIDDLES = ((0.5, 0.5, 0.0), (0.0, 0.5, 0.5), (0.5, 0.0, 0.5))
_SAMPLES = ((1 / 3, 1 / 3, 1 / 3), (0.75, 0.25, 0.0), (0.0, 0.75, 0.25), (0.25, 0.0, 0.75))
#: Finest features are followed to this angle between neighbouring facets [radians].
_ANGLE = 0.3


def solids_of(path: Path) -> list[TopoDS_Shape]:
    """The solids of a STEP file in mm, in file order.

    ValueError where it holds none, or loose surfaces beside them: nothing could be kept clear of those.
    """
    solids, loose = _bodies(path)
    if not solids:
        raise ValueError(f"holds no closed solid, only loose surfaces; {_MENDED}")
    if loose:
        raise ValueError(
            f"holds loose surfaces ({len(loose)}) beside its closed solids ({len(solids)}); {_MENDED}"
        )
    return solids


def bodies_of(path: Path) -> list[TopoDS_Shape]:
    """The solids of a STEP file in mm, then its loose surfaces; ValueError where it holds neither."""
    solids, loose = _bodies(path)
    return [*solids, *loose]


def _bodies(path: Path) -> tuple[list[TopoDS_Shape], list[TopoDS_Shape]]:
    if _NOT_FINITE.search(_QUOTED.sub(b"", path.read_bytes())):
        raise ValueError("is a STEP file with numbers that are not finite")  # OCCT would never end on them
    reader = STEPControl_Reader()
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise ValueError("is no STEP file that can be read")
    if reader.TransferRoots() < 1:
        raise ValueError("is a STEP file without any shape in it")
    whole = reader.OneShape()
    solids = _each(whole, TopAbs_SOLID)
    loose = [*_each(whole, TopAbs_SHELL, TopAbs_SOLID), *_each(whole, TopAbs_FACE, TopAbs_SHELL)]
    if not solids and not loose:
        raise ValueError("is a STEP file without a solid or surface in it")
    return solids, loose


def _each(
    whole: TopoDS_Shape, kind: TopAbs_ShapeEnum, outside: TopAbs_ShapeEnum = TopAbs_SHAPE
) -> list[TopoDS_Shape]:
    """All shapes of a kind that are not part of one of the other kind."""
    found = []
    explorer = TopExp_Explorer(whole, kind, outside)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def facets_of(solid: TopoDS_Shape, deflection: float) -> tuple[Array, Array, float]:
    """Corners (m, 3, 3) of a solid's facets, their bulges (m, 6, 3) and a deviation for what those miss [mm].

    OCCT promises its deflection only roughly. So every facet of a curved face is compared with the
    face itself: over a facet the face is nearly quadratic, and lies in the hull of the facet's
    corners and of the middles of its sides moved by twice what the face stands off there (the
    control net of a quadratic Bezier patch; Farin, Curves and Surfaces for CAGD), widened by
    ``_WIDER``. Sides in a face's edge are compared with the edge as well. How far three more points
    of the face miss that net is measured too and taken twice.
    """
    BRepMesh_IncrementalMesh(solid, deflection, False, _ANGLE, False)
    found: list[tuple[Array, Array, float]] = []
    faces = TopExp_Explorer(solid, TopAbs_FACE)
    while faces.More():
        found.append(_face(TopoDS.Face_s(faces.Current())))
        faces.Next()
    corners = np.concatenate([each[0] for each in found])
    return corners, np.concatenate([each[1] for each in found]), max(each[2] for each in found)


def _face(face: TopoDS_Face) -> tuple[Array, Array, float]:
    place = TopLoc_Location()
    facets = BRep_Tool.Triangulation_s(face, place)
    if facets is None:
        raise ValueError("has a face that cannot be meshed")
    move = place.Transformation()
    points = np.array([_xyz(facets.Node(n).Transformed(move)) for n in range(1, facets.NbNodes() + 1)])
    numbers = np.array([facets.Triangle(n).Get() for n in range(1, facets.NbTriangles() + 1)]) - 1
    surface = BRepAdaptor_Surface(face)
    bulges, missed = np.zeros((len(numbers), 6, 3)), 0.0
    if surface.GetType() != GeomAbs_Plane:
        if not facets.HasUVNodes():
            raise ValueError("has a curved face without parameters, which cannot be measured")
        nodes = [facets.UVNode(n) for n in range(1, facets.NbNodes() + 1)]
        places = np.array([(node.X(), node.Y()) for node in nodes])
        poles = _poles(face, facets, place, places, surface)
        bulges, missed = _curved(surface, points[numbers], places[numbers], poles[numbers])
        _add_edges(face, facets, place, points, numbers, bulges)
    if face.Orientation() == TopAbs_REVERSED:
        # Sides 0-1, 1-2, 2-0 of the reversed triangle are 1-2, 0-1, 2-0 of this one, turned.
        numbers, bulges = numbers[:, ::-1], bulges[:, (1, 0, 2, 4, 3, 5)]
    return points[numbers], bulges, missed


def _curved(surface: BRepAdaptor_Surface, corners: Array, places: Array, poles: Array) -> tuple[Array, float]:
    """Bulges (m, 6, 3), the second three 0, and what the face may still miss of them [mm]."""
    off = np.stack([_off(surface, corners, places, poles, share) for share in _MIDDLES], axis=1)
    bulges = np.concatenate([2.0 * _WIDER * off, np.zeros_like(off)], axis=1)
    missed = 0.0
    for share in _SAMPLES:
        a, b, c = share
        there = _off(surface, corners, places, poles, share)
        quadratic = 4.0 * (a * b * off[:, 0] + b * c * off[:, 1] + c * a * off[:, 2])
        beyond = np.linalg.norm(there - quadratic, axis=1)
        spare = 0.5 * (_WIDER - 1.0) * np.linalg.norm(quadratic, axis=1)
        missed = max(missed, float((beyond - spare).max(initial=0.0)))
    return bulges, 2.0 * missed


def _off(
    surface: BRepAdaptor_Surface, corners: Array, places: Array, poles: Array, share: tuple[float, ...]
) -> Array:
    """How the face stands off its facets (m, 3) at the same shares of their corners [mm].

    A corner in a pole has no parameter of its own along it: it takes that of the others.
    """
    weights = np.array(share)
    own = weights[None, :, None] * np.logical_not(poles)
    total = own.sum(axis=1)
    at = np.einsum("mkc,mkc->mc", own, places) / np.where(total > 0.0, total, 1.0)
    at = np.where(total > 0.0, at, np.einsum("k,mkc->mc", weights, places))
    there = np.array([_xyz(surface.Value(u, v)) for u, v in at.tolist()]).reshape(-1, 3)
    return np.asarray(there - np.einsum("k,mkc->mc", weights, corners))


def _poles(
    face: TopoDS_Face,
    facets: Poly_Triangulation,
    place: TopLoc_Location,
    places: Array,
    surface: BRepAdaptor_Surface,
) -> Array:
    """Which of both parameters (nodes, 2) has no meaning at a node, as the face shrinks to a point there."""
    found = np.zeros(places.shape, dtype=bool)
    edges = TopExp_Explorer(face, TopAbs_EDGE)
    while edges.More():
        edge = TopoDS.Edge_s(edges.Current())
        edges.Next()
        line = BRep_Tool.PolygonOnTriangulation_s(edge, facets, place)
        if line is None or not BRep_Tool.Degenerated_s(edge):
            continue
        for n in range(1, line.NbNodes() + 1):
            node = line.Node(n) - 1
            u, v = places[node].tolist()
            aside = surface.Value(0.5 * (surface.FirstUParameter() + surface.LastUParameter()), v)
            along_u = aside.Distance(surface.Value(u + 0.1 * _ANGLE, v)) < 1e-6
            found[node] = (along_u, not along_u)
    return found


def _add_edges(
    face: TopoDS_Face,
    facets: Poly_Triangulation,
    place: TopLoc_Location,
    points: Array,
    numbers: Array,
    bulges: Array,
) -> None:
    """The second three bulges of facets with a side in an edge of the face: how the edge stands off it."""
    sides = {}
    for triangle, corners in enumerate(numbers.tolist()):
        for side in range(3):
            sides[frozenset((corners[side], corners[(side + 1) % 3]))] = triangle, side
    edges = TopExp_Explorer(face, TopAbs_EDGE)
    while edges.More():
        edge = TopoDS.Edge_s(edges.Current())
        edges.Next()
        line = BRep_Tool.PolygonOnTriangulation_s(edge, facets, place)
        if line is None or BRep_Tool.Degenerated_s(edge) or not line.HasParameters():
            continue
        curve = BRepAdaptor_Curve(edge)
        nodes = [line.Node(n) - 1 for n in range(1, line.NbNodes() + 1)]
        along = [line.Parameter(n) for n in range(1, line.NbNodes() + 1)]
        for n in range(len(nodes) - 1):
            if (found := sides.get(frozenset(nodes[n : n + 2]))) is not None:
                middle = 0.5 * (points[nodes[n]] + points[nodes[n + 1]])
                off = np.array(_xyz(curve.Value(0.5 * (along[n] + along[n + 1])))) - middle
                bulges[found[0], 3 + found[1]] = 2.0 * _WIDER * off


def _xyz(point: gp_Pnt) -> tuple[float, float, float]:
    return point.X(), point.Y(), point.Z()
