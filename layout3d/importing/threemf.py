"""Triangles of a 3MF file, in mm: its unit, its components and where its build items stand.

Source: 3MF Consortium, 3MF Core Specification 1.3 (from memory): a zip archive with an XML model part.
"""

from __future__ import annotations

import zipfile
from collections.abc import Iterable
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from shapes.pose import Array

_CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
_MODEL = "3D/3dmodel.model"
_UNITS_MM = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
_MOST_BYTES = 500_000_000
_MOST_TRIANGLES = 5_000_000


def corners_of(path: Path) -> Array:
    """Corners (m, 3, 3) of every triangle that is built [mm]; ValueError for a file that cannot be read."""
    try:
        return _built(_model(path))
    except (zipfile.BadZipFile, ElementTree.ParseError, RuntimeError, EOFError, OSError) as error:
        raise ValueError(f"cannot be read as 3MF: {error}") from None


def _model(path: Path) -> ElementTree.Element:
    with zipfile.ZipFile(path) as archive:
        if (size := sum(each.file_size for each in archive.infolist())) > _MOST_BYTES:
            raise ValueError(f"unpacks to {size / 1e6:.0f} MB; at most {_MOST_BYTES / 1e6:.0f} MB are read")
        names = archive.namelist()
        found = _MODEL if _MODEL in names else next((name for name in names if name.endswith(".model")), None)
        if found is None:
            raise ValueError("is a 3MF file without a model in it")
        return ElementTree.fromstring(archive.read(found))


def _built(model: ElementTree.Element) -> Array:
    unit = model.get("unit", "millimeter")
    if unit not in _UNITS_MM:
        raise ValueError(f"is a 3MF file in the unit {unit!r}; {', '.join(_UNITS_MM)} are read")
    objects: dict[str, Array] = {}
    for each in model.iterfind(f"{_CORE}resources/{_CORE}object"):
        components = each.iterfind(f"{_CORE}components/{_CORE}component")
        objects[each.get("id", "")] = _joined([_mesh(each), *(_placed(one, objects) for one in components)])
    built = _joined(_placed(item, objects) for item in model.iterfind(f"{_CORE}build/{_CORE}item"))
    if not len(built):
        raise ValueError("is a 3MF file without a triangle in it")
    return built * _UNITS_MM[unit]


def _mesh(element: ElementTree.Element) -> Array:
    """The triangles of an object's own mesh, none where it has only components."""
    mesh = f"{_CORE}mesh/{_CORE}"
    points = [
        [float(vertex.get(axis, "nan")) for axis in "xyz"]
        for vertex in element.iterfind(f"{mesh}vertices/{_CORE}vertex")
    ]
    numbers = [
        [int(triangle.get(corner, "-1")) for corner in ("v1", "v2", "v3")]
        for triangle in element.iterfind(f"{mesh}triangles/{_CORE}triangle")
    ]
    if any(not 0 <= number < len(points) for triangle in numbers for number in triangle):
        raise ValueError(f"has a triangle that names a vertex that is none of its {len(points)}")
    return np.array([[points[number] for number in triangle] for triangle in numbers]).reshape(-1, 3, 3)


def _placed(element: ElementTree.Element, objects: dict[str, Array]) -> Array:
    """The object a component or build item names, moved as it says; rows of points times its matrix."""
    name = element.get("objectid", "")
    if name not in objects or any(key.endswith("}path") for key in element.attrib):
        raise ValueError(
            f"names an object {name!r} that is not in the file's own model; save it as one model"
        )
    text = element.get("transform")
    if text is None:
        return objects[name]
    matrix = np.array([float(word) for word in text.split()])
    if matrix.size != 12:
        raise ValueError(f"has a transform of {matrix.size} numbers, 12 wanted")
    matrix = matrix.reshape(4, 3)
    moved = objects[name] @ matrix[:3] + matrix[3]
    return np.asarray(moved[:, ::-1] if np.linalg.det(matrix[:3]) < 0.0 else moved)


def _joined(many: Iterable[Array]) -> Array:
    found = [np.empty((0, 3, 3))]
    count = 0
    for each in many:
        found.append(each)
        count += len(each)
        if count > _MOST_TRIANGLES:
            raise ValueError(f"has more than {_MOST_TRIANGLES} triangles")
    return np.concatenate(found)
