"""What is seen of one primitive: faces that hide, areas to fill, lines.

All in the picture's frame: x right, y up, z toward the eye.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from shapes.pose import Array

#: A face whose normal leans less toward the eye is seen edge-on.
EDGE_ON = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A flat convex polygon with convex holes, (n, 3) and (k, 3) each [mm]."""

    corners: Array
    holes: tuple[Array, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Fill:
    """An area of one tone: outlines (n, 2) that count together by the even-odd or non-zero rule.

    lean : the normal's part toward the eye and up, for the tone; None for a round surface
    across : the two ends (2, 2) of a round surface's shading, across its axis
    """

    outlines: tuple[Array, ...]
    lean: tuple[float, float] | None
    across: Array | None = None
    even_odd: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A run of points (n, 3); ``outline`` where a surface turns away from the eye behind it."""

    points: Array
    outline: bool


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


def lean(normal: Array) -> tuple[float, float]:
    """How far a unit normal leans toward the eye and up, for the tone of its face."""
    return float(normal[2]), float(normal[1])
