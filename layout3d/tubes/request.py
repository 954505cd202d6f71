"""What a search for a rigid ``path: auto`` is asked, and what it may answer.

``make_tube`` asks, ``layout3d.tubes.route`` answers; neither knows the other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

from layout3d.scene.model import RigidTubing
from shapes.pose import Pose, Vec3
from shapes.primitives import TubeRun


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """Whose gaps a tube to be found keeps.

    near : names of the parts at each end that the first and last straight may come nearer to
        than the rule, though never overlap
    gap : the tube's own gap [mm], None where the scene's ``tube_gap`` rules
    touches : names of parts the tube may touch
    """

    name: str
    near: tuple[tuple[str, ...], tuple[str, ...]]
    gap: float | None = None
    touches: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteRequest(Keeping):
    """One rigid tube to be found.

    mouths : z axes point out of the fittings; the tube leaves along the first and arrives
        against the second; straights count from here
    angles : bend angles allowed [degrees], or any
    directions : "case" allows legs along the case axes, their 45-degree diagonals and the
        axes of both mouths
    bend_cost : one bend counts as this much tube [mm]: cost = path + bend_cost per bend
    """

    tubing: RigidTubing
    mouths: tuple[Pose, Pose]
    angles: tuple[float, ...] | Literal["any"]
    directions: Literal["case", "any"]
    bend_cost: float
    most_bends: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteAnswer:
    """A run that clears everything.

    corners : scene-frame vertices strictly between the two mouths, none for a straight tube [mm]
    searched : the class of runs searched, in words; "up to 4 bends of 45 or 90 degrees along ..."
    cost_mm : path + bend_cost per bend of this run
    bound_mm : no run of the class costs less
    proved : this run is the cheapest of its class, to the search's stated tolerance
    """

    corners: tuple[Vec3, ...]
    searched: str
    cost_mm: float
    bound_mm: float
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NoRoute:
    """No run was found.

    reason : why, as a whole sentence without its full stop
    searched : the class of runs searched, in words
    proved : there is none in the class; False where the search gave up
    parts : names of the parts in the way, the worst first
    at_mm : where the way is barred
    remedy : what would let a tube through, in words, None where nothing tried did
    """

    reason: str
    searched: str
    proved: bool
    parts: tuple[str, ...] = ()
    at_mm: Vec3 | None = None
    remedy: str | None = None


#: Whether a soft tube's run keeps its gaps to all there is.
KeepsClear: TypeAlias = Callable[[TubeRun], bool]
RouteSearch: TypeAlias = Callable[[RouteRequest], RouteAnswer | NoRoute]
