"""A case with its board and supply as boxes, and where the ends of a measure lie on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from layout3d.measuring.measures import Measure
from shapes.bounds import primitive_box
from shapes.fields import Shape
from shapes.form_factors import BOARD_OUTLINE_MM, PCB_MM, PSU_SIZE_MM
from shapes.part import Mount, Part
from shapes.pose import DIRECTIONS, Array
from shapes.primitives import Plate, RoundOpening

Corners = tuple[Array, Array]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A case: its part, its solids' boxes and those of what stands in it, low and high corners [mm]."""

    part: Part
    boxes: Mapping[str, Corners]


def drawn(shape: Shape) -> Drawn:
    """The case with its board and supply; ValueError as ``build`` of the shape."""
    part = shape.build()
    boxes = {solid.name: primitive_box(solid.primitive, solid.solid2part) for solid in part.solids}
    boxes["%board"] = _board(part.mounts["tray"], str(getattr(shape, "stand_offs", "Mini-ITX")))
    boxes["%psu"] = _supply(part.mounts["psu"], str(getattr(shape, "psu", "SFX")))
    return Drawn(part, boxes)


def ends(case: Drawn, measure: Measure) -> tuple[Array, Array]:
    """Both ends (3,) of a measure in the case's frame; they differ along one axis only."""
    axis = _axis(case, measure)
    along = [_place(case, end, axis) for end in (measure.start, measure.end)]
    # Across the measure both lie where its opening or mount is, or else in the middle of the case.
    at = next(
        (
            case.part.mounts[end[1:].rstrip("<>")].mount2part.origin
            for end in (measure.end, measure.start)
            if end[0] == "@"
        ),
        _middle(case),
    )
    start, end = np.array(at), np.array(at)
    start[axis], end[axis] = along
    return start, end


def _middle(case: Drawn) -> Array:
    lows, highs = zip(*case.boxes.values(), strict=True)
    middle: Array = (np.min(lows, axis=0) + np.max(highs, axis=0)) / 2.0
    return middle


def _axis(case: Drawn, measure: Measure) -> int:
    for end in (measure.start, measure.end):
        if end[0] != "@":
            return int(np.argmax(np.abs(DIRECTIONS[end.partition(".")[2]])))
    mount = case.part.mounts[measure.start[1:].rstrip("<>")]
    return int(np.argmax(np.abs(mount.mount2part.x_axis)))


def _place(case: Drawn, end: str, axis: int) -> float:
    if end[0] == "@":
        mount = case.part.mounts[end[1:].rstrip("<>")]
        reach = {"<": -1.0, ">": 1.0}.get(end[-1], 0.0)
        return float(mount.mount2part.origin[axis]) + (reach * _reach(case.part, mount) if reach else 0.0)
    name, _, side = end.partition(".")
    return float(case.boxes[name][1 if sum(DIRECTIONS[side]) > 0.0 else 0][axis])


def _reach(part: Part, mount: Mount) -> float:
    """Half the length of a row's slots, or the radius of a round opening at the mount [mm]."""
    for holes in mount.rows.values():
        if holes and holes[0].slot:
            return (holes[0].slot + holes[0].diameter) / 2.0
    for solid in part.solids:
        if isinstance(solid.primitive, Plate):
            at = solid.solid2part.inverse.apply(mount.mount2part.origin)
            for opening in solid.primitive.openings:
                if isinstance(opening, RoundOpening) and np.hypot(*(at[:2] - opening.at)) < 1e-6:
                    return opening.diameter / 2.0
    raise KeyError(f"no slot or round opening at a mount of kind {mount.kind!r}")


def _box(*corners: Array) -> Corners:
    return np.min(corners, axis=0), np.max(corners, axis=0)


def _board(seat: Mount, form: str) -> Corners:
    down, along = BOARD_OUTLINE_MM[form]
    pose = seat.mount2part
    far = pose.origin - down * pose.x_axis + along * np.array(DIRECTIONS["front"]) + PCB_MM * pose.z_axis
    return _box(pose.origin, far)


def _supply(seat: Mount, style: str) -> Corners:
    width, height, depth = PSU_SIZE_MM[style]
    low, high = np.array((-height / 2.0, -width / 2.0, 0.0)), np.array((height / 2.0, width / 2.0, depth))
    return _box(*seat.mount2part.apply(np.array((low, high))))
