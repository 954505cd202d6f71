"""Where the eye is: as near as everything fits into the picture, in perspective."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout3d.drawing.views import View
from shapes.pose import Array

#: The picture's height as an angle, and the share of it that is used [degrees].
FOV_DEG = 30.0
_USED = 0.93
#: The eye is at least so far before all it looks at.
_LEAST_MM = 20.0


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """An eye and what it looks at [mm, scene]; ``up`` is up in the picture, at right angles to the way."""

    eye: Array
    target: Array
    up: Array

    @property
    def far_mm(self) -> float:
        """From the eye to what it looks at."""
        return float(np.linalg.norm(self.eye - self.target))

    def pixels(self, points: Array, size: tuple[int, int]) -> Array:
        """Where points (n, 3) are in a picture of this size: (n, 2), x right, y up, from the lower left."""
        width, height = size
        back = (self.eye - self.target) / self.far_mm
        right = np.cross(self.up, back)
        seen = np.asarray(points, dtype=float).reshape(-1, 3) - self.eye
        scale = height / 2.0 / np.tan(np.radians(FOV_DEG / 2.0)) / (-(seen @ back))
        middle = np.array([width / 2.0, height / 2.0])
        found: Array = np.column_stack((seen @ right, seen @ self.up)) * scale[:, None] + middle
        return found


def camera_for(view: View, points: Array, size: tuple[int, int]) -> Camera:
    """From the view's side at all of the points (n, 3), as near as they fit into a picture of this size."""
    right, up, back = view.scene2view.rotation
    centre = (points.min(axis=0) + points.max(axis=0)) / 2.0
    off = points - centre
    slope = np.tan(np.radians(FOV_DEG / 2.0)) * _USED
    across, rise = _reach(off, right, back, slope * size[0] / size[1]), _reach(off, up, back, slope)
    far = max(across[0], rise[0], float((off @ back).max()) + _LEAST_MM)
    target = centre + across[1] * right + rise[1] * up
    return Camera(target + far * back, target, up)


def _reach(off: Array, axis: Array, back: Array, slope: float) -> tuple[float, float]:
    """How far back and aside the lines of sight along two edges of the picture meet that hold all."""
    low = float((off @ back - off @ axis / slope).max())
    high = float((off @ back + off @ axis / slope).max())
    return (low + high) / 2.0, (high - low) * slope / 2.0
