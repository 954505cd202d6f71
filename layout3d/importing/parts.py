"""From an entry with ``shape: import`` to its part."""

from __future__ import annotations

from pathlib import Path

from layout3d.importing.load import Asked, ImportProblem, load
from shapes.fields import Shape
from shapes.imported import Import
from shapes.part import Part


def imported_part(shape: Shape, folder: Path) -> Part:
    """The part with what its file holds; files are named from ``folder``. Raises ImportProblem."""
    assert isinstance(shape, Import)
    if shape.file is None:
        raise ImportProblem("missing key 'file': the STEP, STL, OBJ or 3MF file to read")
    try:
        asked = Asked(shape.units, shape.solid, shape.deflection)
        return shape.build_with(load(folder / shape.file, folder, asked, shape.sha256).meshes)
    except ImportProblem as error:
        raise ImportProblem(f"{shape.file!r} {error}") from None
