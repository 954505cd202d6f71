"""The sides a build is looked at from."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from shapes.pose import DIRECTIONS, Pose, Vec3, unit

#: Corner view: this far from the window round toward the front, and this far up [degrees].
_ROUND_DEG, _UP_DEG = 32.0, 24.0


@dataclass(frozen=True, slots=True)
class View:
    """A parallel projection.

    toward : from the build to the eye, in the scene
    up : what is up on the picture, in the scene
    words : completes "seen ..."
    """

    name: str
    toward: Vec3
    up: Vec3
    words: str

    @property
    def scene2view(self) -> Pose:
        """Scene to picture: x right, y up, z toward the eye [mm]."""
        toward = unit(self.toward)
        up = np.array(self.up) - (np.array(self.up) @ toward) * toward
        up = unit(up)
        return Pose(np.stack((np.cross(up, toward), up, toward)), np.zeros(3))


def _corner() -> Vec3:
    round_, up = np.radians((_ROUND_DEG, _UP_DEG))
    flat = float(np.cos(up))
    return (flat * float(np.sin(round_)), -flat * float(np.cos(round_)), float(np.sin(up)))


def _side(name: str, up: str, words: str) -> View:
    return View(name, DIRECTIONS[name], DIRECTIONS[up], words)


#: Name -> view, in the order they are written.
VIEWS = MappingProxyType(
    {
        "window": _side("window", "roof", "through the side window"),
        "front": _side("front", "roof", "from the front"),
        "roof": _side("roof", "tray", "from above"),
        "corner": View("corner", _corner(), DIRECTIONS["roof"], "from above the front corner at the window"),
        "rear": _side("rear", "roof", "from behind"),
        "tray": _side("tray", "roof", "from the tray side"),
        "floor": _side("floor", "window", "from below"),
    }
)
#: What is drawn where no view is asked for.
USUAL = ("window", "front", "roof", "corner")
