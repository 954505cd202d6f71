"""Imported solids for STEP export: the original out of its file, or the triangles as flat faces."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

import cadquery as cq
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon, BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
from OCP.gp import gp_Pnt
from OCP.TopoDS import TopoDS

from layout3d.errors import RequestError
from layout3d.importing.stepfile import solids_of
from shapes.primitives import Mesh, Source


def foreign_solid(mesh: Mesh) -> cq.Shape:
    """The solid a mesh stands for. RequestError where its file is gone or changed since it was read."""
    if mesh.source is not None and mesh.source.exact:
        return _original(mesh.source)
    return _faceted(mesh)


@lru_cache(maxsize=64)
def _original(source: Source) -> cq.Shape:
    path = Path(source.path)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise RequestError(f"{path.name} cannot be read again for export: {error.strerror}") from None
    found = hashlib.sha256(content).hexdigest()
    if found != source.sha256:
        raise RequestError(
            f"{path.name} changed while it was exported: sha256 {found}, before {source.sha256}; run again"
        )
    return cq.Shape.cast(solids_of(path)[source.solid])


def _faceted(mesh: Mesh) -> cq.Shape:
    sewing = BRepBuilderAPI_Sewing(1e-6)
    for corners in mesh.corners.tolist():
        points = [gp_Pnt(*corner) for corner in corners]
        wire = BRepBuilderAPI_MakePolygon(*points, True).Wire()
        sewing.Add(cq.Face.makeFromWires(cq.Wire(wire)).wrapped)
    sewing.Perform()
    made = BRepBuilderAPI_MakeSolid()
    for shell in cq.Shape.cast(sewing.SewedShape()).Shells():
        made.Add(TopoDS.Shell_s(shell.wrapped))
    return cq.Solid(made.Solid())
