"""What is seen of one primitive: faces that hide, areas to fill, lines.

All in the picture's frame: x right, y up, z toward the eye.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from shapes.pose import Array

#: A face whose normal leans less toward the eye is seen edge-on.
EDGE_ON = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A flat convex polygon with convex holes, (n, 3) and (k, 3) each [mm]."""

    corners: Array
    holes: tuple[Array, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Round:
    """How a round surface turns.

    From end to end of ``across`` (2, 2) its normal goes from minus ``side`` (3,) over the fill's own to
    ``side``.
    """

    across: Array
    side: Array


@dataclass(frozen=True, slots=True, eq=False)
class Fill:
    """An area of one surface: outlines (n, 2) that count together by the even-odd or non-zero rule.

    normal : unit, (3,); of a round surface that of its middle line
    """

    outlines: tuple[Array, ...]
    normal: Array
    round: Round | None = None
    even_odd: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A run of points (n, 3); ``outline`` where a surface turns away from the eye, ``fine`` on a surface."""

    points: Array
    outline: bool
    fine: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """What is painted in one go: its fills, and the faces that say how near it is where."""

    fills: tuple[Fill, ...]
    faces: tuple[Face, ...]


@dataclass(slots=True, eq=False)
class Sketch:
    """One primitive seen from the eye. ``hiding``: faces that hide what is behind them."""

    hiding: list[Face] = field(default_factory=list)
    bodies: list[Body] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)


def rounded(middle: Array, axis: Array, radius: float, *, hollow: bool = False) -> tuple[Array, Round] | None:
    """Middle normal and turning of a round surface about ``axis`` (3,); None seen along it."""
    across = np.cross(axis, (0.0, 0.0, 1.0))
    size = float(np.linalg.norm(across))
    if size < EDGE_ON * float(np.linalg.norm(axis)):
        return None
    side = across / size
    normal = np.cross(side, axis)
    normal = normal / np.linalg.norm(normal) * (1.0 if normal[2] >= 0.0 else -1.0)
    ends = np.array((middle - radius * side, middle + radius * side))[:, :2]
    return normal, Round(ends, -side if hollow else side)
