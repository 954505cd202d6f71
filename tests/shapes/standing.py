"""Parts put where they stand, and how near their solids come: for the tests of boards and cases."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import measure
from layout3d.placing.mounting import mounted
from layout3d.scene.model import FixedTo
from shapes.part import Part, Solid
from shapes.pose import IDENTITY, Array, Pose, compose


def fixed(guest: Part, host: Part, mount: str, **how) -> Pose:
    """The guest's pose in the host's frame; MountError where it does not fit."""
    return mounted(guest, FixedTo(mount=f"host.{mount}", **how), host).guest2host


def bodies(part: Part, part2there: Pose = IDENTITY, but: Sequence[str] = ()) -> dict[str, Body]:
    return {
        solid.name: body(solid.primitive, compose(solid.solid2part, part2there))
        for solid in part.solids
        if solid.name not in but
    }


def overlaps(some: dict[str, Body], others: dict[str, Body]) -> dict[tuple[str, str], float]:
    """Depth [mm] of every pair that overlaps."""
    found = {}
    for name, one in some.items():
        for other, another in others.items():
            if (one.low < another.high).all() and (another.low < one.high).all():
                gap = measure(one, another).gap_mm
                if gap < -1e-6:
                    found[name, other] = -gap
    return found


def solid(part: Part, name: str) -> Solid:
    return next(one for one in part.solids if one.name == name)


def reach(part: Part, name: str) -> Array:
    """Low and high corner (2, 3) of a solid [mm]."""
    one = bodies(part)[name]
    return np.array([one.low, one.high])


def distances(part: Part, mount: str, row: str) -> dict[tuple[int, int], float]:
    """Distance between every two holes of a row [mm]."""
    at = [np.array(hole.at) for hole in part.mounts[mount].rows[row]]
    return {
        (a, b): float(np.linalg.norm(at[a] - at[b])) for a in range(len(at)) for b in range(len(at)) if a < b
    }
