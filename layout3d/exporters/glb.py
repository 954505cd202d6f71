"""GLB for viewers: glTF 2.0 in one binary file, metres, y up.

A node for each part, below it one for each of its solids; a node for each tube. Solids are drawn
with their picture detail, rigid tubes with the coolant in them. Meshes that are equal are stored
once. The same layout gives the same bytes.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path, PurePath
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from layout3d import __version__
from layout3d.exporters.contents import Contents, Progress, nothing_left, solids_key
from layout3d.realise.looks import SURFACES, TUBE_SURFACES, Surface
from layout3d.realise.mesh import Mesh, primitive_mesh
from layout3d.realise.normals import shaded
from layout3d.realise.pictures import DrawnSolid, coolant_in, drawn_solids
from shapes.part import Look
from shapes.pose import Array, Pose

#: Twice that of a print: enough for the eye, half the triangles.
TOLERANCE_MM = 0.1
_METRES = 1e-3
#: The case frame has z up; glTF has y up and z towards the viewer.
_Y_UP: Final = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
_FLOAT, _UINT16, _UINT32 = 5126, 5123, 5125
_VERTICES, _INDICES = 34962, 34963


def write(
    contents: Contents, folder: Path, progress: Progress, *, tolerance_mm: float = TOLERANCE_MM
) -> None:
    """The layout as one GLB file named after its scene."""
    path = folder / f"{PurePath(contents.scene).stem}.glb"
    progress(f"glb: {path.name}")
    path.write_bytes(encoded(contents, tolerance_mm))


def encoded(contents: Contents, tolerance_mm: float = TOLERANCE_MM) -> bytes:
    """The layout as the bytes of a GLB file."""
    document = _Document()
    built: dict[tuple[str, bytes], list[DrawnSolid]] = {}
    for placed in contents.parts:
        key = (placed.shape, solids_key(placed.part))
        if key not in built:
            built[key] = drawn_solids(placed.shape, placed.part, tolerance_mm)
        children = []
        for solid in built[key]:
            extras = {"part": placed.name, "solid": solid.name, "look": solid.look}
            layers = [(layer.mesh, _surface(layer.look, layer.sheet)) for layer in solid.layers]
            mesh = document.mesh(layers, solid.name)
            children.append(document.node(solid.name, extras, solid.solid2part, mesh=mesh))
        if children:
            extras = {"part": placed.name, "shape": placed.shape}
            if placed.tube is not None:
                extras["tube"] = placed.tube
            document.root(document.node(placed.name, extras, placed.part2scene, children=children))
    for tube, (name, run) in zip(contents.tubes, contents.runs, strict=True):
        layers = [(primitive_mesh(run, tolerance_mm), TUBE_SURFACES[tube.kind])]
        if TUBE_SURFACES[tube.kind].alpha < 1.0 and (wet := coolant_in(run, tolerance_mm)):
            layers.append((wet, SURFACES["coolant"]))
        mesh = document.mesh(layers, name)
        document.root(document.node(name, {"tube": name, "tubing": tube.tubing}, None, mesh=mesh))
    if not document.has_roots:
        raise nothing_left()
    return document.encoded(contents.title)


class _Document:
    """A glTF document in the making: each call adds an object and gives its number."""

    def __init__(self) -> None:
        self._nodes: list[dict[str, Any]] = []
        self._roots: list[int] = []
        self._meshes: list[dict[str, Any]] = []
        self._materials: dict[str, dict[str, Any]] = {}
        self._accessors: list[dict[str, Any]] = []
        self._views: list[dict[str, Any]] = []
        self._binary = bytearray()
        self._known: dict[bytes, int] = {}

    @property
    def has_roots(self) -> bool:
        return bool(self._roots)

    def root(self, node: int) -> None:
        self._roots.append(node)

    def node(
        self,
        name: str,
        extras: dict[str, str],
        pose: Pose | None,
        *,
        mesh: int | None = None,
        children: list[int] | None = None,
    ) -> int:
        node: dict[str, Any] = {"name": name, "extras": extras}
        if pose is not None:
            node |= _placing(pose)
        if mesh is not None:
            node["mesh"] = mesh
        if children is not None:
            node["children"] = children
        self._nodes.append(node)
        return len(self._nodes) - 1

    def mesh(self, layers: Sequence[tuple[Mesh, Surface]], name: str) -> int:
        """The number of the mesh with these triangles and surfaces, added where it is new."""
        key, primitives = b"", []
        for mesh, surface in layers:
            drawn = shaded(mesh)
            places = (drawn.vertices @ _Y_UP.T * _METRES + 0.0).astype("<f4")
            normals = (drawn.normals @ _Y_UP.T + 0.0).astype("<f4")
            kind = "<u2" if len(places) < 0xFFFF else "<u4"
            indices = drawn.triangles.reshape(-1).astype(kind)
            data = (surface.name.encode(), places.tobytes(), normals.tobytes(), indices.tobytes())
            key += b"|".join(data) + b"||"
            primitives.append((places, normals, indices, surface))
        if key not in self._known:
            self._known[key] = len(self._meshes)
            listed = [self._primitive(*primitive) for primitive in primitives]
            self._meshes.append({"name": name, "primitives": listed})
        return self._known[key]

    def _primitive(
        self, places: npt.NDArray[Any], normals: npt.NDArray[Any], indices: npt.NDArray[Any], surface: Surface
    ) -> dict[str, Any]:
        return {
            "attributes": {
                "POSITION": self._accessor(places, "VEC3", _VERTICES, bounds=True),
                "NORMAL": self._accessor(normals, "VEC3", _VERTICES),
            },
            "indices": self._accessor(indices, "SCALAR", _INDICES),
            "material": self._material(surface),
        }

    def encoded(self, title: str) -> bytes:
        document = {
            "asset": {"version": "2.0", "generator": f"layout3d {__version__}"},
            "scene": 0,
            "scenes": [{"name": title, "nodes": self._roots}],
            "nodes": self._nodes,
            "meshes": self._meshes,
            "materials": list(self._materials.values()),
            "accessors": self._accessors,
            "bufferViews": self._views,
            "buffers": [{"byteLength": len(self._binary)}],
        }
        text = json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()
        body = _chunk(b"JSON", text, b" ") + _chunk(b"BIN\0", bytes(self._binary), b"\0")
        return b"glTF" + _uint32(2) + _uint32(12 + len(body)) + body

    def _accessor(self, values: npt.NDArray[Any], kind: str, target: int, *, bounds: bool = False) -> int:
        component = {"f4": _FLOAT, "u2": _UINT16, "u4": _UINT32}[values.dtype.str[1:]]
        accessor: dict[str, Any] = {
            "bufferView": len(self._views),
            "componentType": component,
            "count": len(values),
            "type": kind,
        }
        if bounds:
            accessor["min"] = [float(value) for value in values.min(axis=0)]
            accessor["max"] = [float(value) for value in values.max(axis=0)]
        data = values.tobytes()
        self._views.append(
            {"buffer": 0, "byteOffset": len(self._binary), "byteLength": len(data), "target": target}
        )
        self._binary += data.ljust(-(-len(data) // 4) * 4, b"\0")
        self._accessors.append(accessor)
        return len(self._accessors) - 1

    def _material(self, surface: Surface) -> int:
        material: dict[str, Any] = {
            "name": surface.name,
            "pbrMetallicRoughness": {
                "baseColorFactor": [*surface.linear, surface.alpha],
                "metallicFactor": surface.metallic,
                "roughnessFactor": surface.roughness,
            },
        }
        if surface.alpha < 1.0:
            material["alphaMode"] = "BLEND"
        if surface.both_sides:
            material["doubleSided"] = True
        self._materials.setdefault(surface.name, material)
        return list(self._materials).index(surface.name)


def _surface(look: Look, sheet: bool) -> Surface:
    surface = SURFACES[look]
    return replace(surface, name=f"{look}-sheet", both_sides=True) if sheet else surface


def _placing(pose: Pose) -> dict[str, list[float]]:
    """Translation [m] and rotation of a node, each left out where it does nothing."""
    placing = {}
    shift = _Y_UP @ pose.origin * _METRES + 0.0
    if shift.any():
        placing["translation"] = [float(value) for value in shift]
    turn = _quaternion(_Y_UP @ pose.rotation @ _Y_UP.T)
    if turn != [0.0, 0.0, 0.0, 1.0]:
        placing["rotation"] = turn
    return placing


def _quaternion(rotation: Array) -> list[float]:
    """x, y, z, w of a rotation matrix, w >= 0; from its largest component, where no sign is lost."""
    r = rotation
    squares = 1.0 + np.array([[1, -1, -1], [-1, 1, -1], [-1, -1, 1], [1, 1, 1]]) @ np.diag(r)
    rows = np.array(
        [
            [squares[0], r[0, 1] + r[1, 0], r[0, 2] + r[2, 0], r[2, 1] - r[1, 2]],
            [r[0, 1] + r[1, 0], squares[1], r[1, 2] + r[2, 1], r[0, 2] - r[2, 0]],
            [r[0, 2] + r[2, 0], r[1, 2] + r[2, 1], squares[2], r[1, 0] - r[0, 1]],
            [r[2, 1] - r[1, 2], r[0, 2] - r[2, 0], r[1, 0] - r[0, 1], squares[3]],
        ]
    )
    row = rows[int(squares.argmax())]
    row = row / math.sqrt(float(row @ row))
    sign = -1.0 if row[3] < 0.0 else 1.0
    return [float(value) for value in sign * row + 0.0]


def _chunk(kind: bytes, data: bytes, padding: bytes) -> bytes:
    padded = data.ljust(-(-len(data) // 4) * 4, padding)
    return _uint32(len(padded)) + kind + padded


def _uint32(value: int) -> bytes:
    return value.to_bytes(4, "little")
