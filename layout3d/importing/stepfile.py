"""Solids of a STEP file and their triangles. Loads OCCT: for the child process and for export only."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.GeomAbs import GeomAbs_Plane
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Shape

from shapes.pose import Array

#: Finest features are followed to this angle between neighbouring facets [radians].
_ANGLE = 0.3


def solids_of(path: Path) -> list[TopoDS_Shape]:
    """The solids of a STEP file in mm, in file order; ValueError where it holds none."""
    reader = STEPControl_Reader()
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise ValueError("is no STEP file that can be read")
    if reader.TransferRoots() < 1:
        raise ValueError("is a STEP file without any shape in it")
    found = []
    explorer = TopExp_Explorer(reader.OneShape(), TopAbs_SOLID)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    if not found:
        raise ValueError("holds no closed solid, only loose surfaces; export it as a solid")
    return found


def triangles_of(solid: TopoDS_Shape, deflection: float) -> tuple[Array, Array, Array]:
    """Corners (m, 3, 3) [mm] of the solid's facets, which are curved (m,), and the seams' grain.

    Every facet lies within ``deflection`` of its face.
    """
    BRepMesh_IncrementalMesh(solid, deflection, False, _ANGLE, False)
    corners, curved = [], []
    faces = TopExp_Explorer(solid, TopAbs_FACE)
    while faces.More():
        face = TopoDS.Face_s(faces.Current())
        faces.Next()
        place = TopLoc_Location()
        facets = BRep_Tool.Triangulation_s(face, place)
        if facets is None:
            raise ValueError("has a face that cannot be meshed")
        move = place.Transformation()
        nodes = [facets.Node(n).Transformed(move) for n in range(1, facets.NbNodes() + 1)]
        points = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
        numbers = np.array([facets.Triangle(n).Get() for n in range(1, facets.NbTriangles() + 1)]) - 1
        if face.Orientation() == TopAbs_REVERSED:
            numbers = numbers[:, ::-1]
        corners.append(points[numbers])
        flat = BRepAdaptor_Surface(face).GetType() == GeomAbs_Plane
        curved.append(np.full(len(numbers), not flat))
    return np.concatenate(corners), np.concatenate(curved), _box(solid)


def _box(solid: TopoDS_Shape) -> Array:
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(solid, box, False, False)
    return np.array(box.Get())
