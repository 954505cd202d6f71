"""Whether what stands on a plain face stands on it with its whole foot."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shapes.bounds import primitive_box
from shapes.part import Mount, Part
from shapes.pose import Array, Pose, compose

#: A solid this near the mounting plane stands on it [mm].
_TOUCHES_MM = 1e-3
_PLAY_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Overhang:
    """A foot that reaches over a face's edge.

    key : the setting that moves the part along this side, "slide" or "shift"
    over : by how much it reaches over [mm]
    low, high : settings between which it does not; low above high where the face is too small
    foot, face : extent of both along this side [mm]
    """

    key: str
    over: float
    low: float
    high: float
    foot: float
    face: float

    def __str__(self) -> str:
        over = f"this part's foot reaches {self.over:.4g} mm over the edge of the surface it stands on"
        if self.low > self.high + _PLAY_MM:
            return f"{over}: the foot is {self.foot:.4g} mm there, the surface {self.face:.4g} mm"
        return f"{over}; {self.key} {self.low:.4g} to {self.high:.4g} mm is possible"


def overhangs(
    guest: Part, by: Mount, guest2host: Pose, mount: Mount, at: tuple[float, float]
) -> Iterator[Overhang]:
    """Where the guest, fixed by its mount ``by``, reaches over the edge of the host's plain face.

    at : slide and shift that led to ``guest2host`` [mm]. Nothing for a mount without a surface.
    """
    foot = _foot(guest, by, compose(guest2host, mount.mount2part.inverse))
    if mount.surface is None or foot is None:
        return
    for side, key in enumerate(("slide", "shift")):
        low, high = float(foot[0][side]), float(foot[1][side])
        begin, end = mount.surface[0][side], mount.surface[1][side]
        over = max(begin - low, high - end)
        if over > _PLAY_MM:
            yield Overhang(key, over, at[side] + begin - low, at[side] + end - high, high - low, end - begin)


def slides_on(guest: Part, by: Mount, guest2host: Pose, mount: Mount, slide: float) -> tuple[float, float]:
    """Slides [mm] at which neither the guest's foot nor its mount's origin leaves the plain face.

    slide : the one that led to ``guest2host`` [mm]. The first is above the second where none would do.
    """
    assert mount.surface is not None
    begin, end = mount.surface[0][0], mount.surface[1][0]
    foot = _foot(guest, by, compose(guest2host, mount.mount2part.inverse))
    if foot is None:
        return begin, end
    low, high = float(foot[0][0]), float(foot[1][0])
    return max(begin, slide + begin - low), min(end, slide + end - high)


def slides_held(own: Mount, guest2host: Pose, mount: Mount, slide: float) -> tuple[float, float] | None:
    """Slides [mm] at which the middle of a mount without a face of its own lies on the guest's: a clamp's
    on the tube it holds.

    own : the guest's mount; slide : the one that led to ``guest2host`` [mm]. The first is above the second
    where none would do; None where the host has a face, or the guest none.
    """
    if mount.surface is not None or own.surface is None:
        return None
    mount2own = compose(mount.mount2part, guest2host.inverse, own.mount2part.inverse)
    low, high = -math.inf, math.inf
    for axis, (begin, end) in enumerate(zip(*own.surface, strict=True)):
        at, speed = float(mount2own.origin[axis]), -float(mount2own.x_axis[axis])
        if abs(speed) < 1e-9:
            low = low if begin - _PLAY_MM <= at <= end + _PLAY_MM else math.inf
            continue
        ends = sorted((slide + (begin - at) / speed, slide + (end - at) / speed))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low, high


def _foot(guest: Part, by: Mount, guest2mount: Pose) -> tuple[Array, Array] | None:
    """Low and high corner of the solids that touch the guest's mounting plane, in the host mount's frame."""
    part2plane = by.mount2part.inverse
    boxes = [
        primitive_box(solid.primitive, compose(solid.solid2part, guest2mount))
        for solid in guest.solids
        if primitive_box(solid.primitive, compose(solid.solid2part, part2plane))[1][2] > -_TOUCHES_MM
    ]
    if not boxes:
        return None
    lows, highs = zip(*boxes, strict=True)
    return np.min(lows, axis=0), np.max(highs, axis=0)
