"""What a run must keep clear of, and to what the search is exact."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layout3d.kernels.obstacles import Obstacles
from layout3d.tubes.route.field import ClearanceField
from layout3d.tubes.route.proof import Run
from shapes.pose import Array

#: A run that clears everything by the rule and this much more is never overlooked [mm].
SLACK_MM = 0.05
#: The cheapest run is found to this [mm].
COST_MM = 0.01

#: What the exact measure of a run's middle lacks most to the rule, None if nothing [mm].
ExactDepth = Callable[[Run], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What a run must keep clear of.

    radius : half the tube's outside [mm]
    obstacles, required : what is there, and the gap each asks for (M,) [mm]
    lenient : path beyond the first and before the last straight where only ``exact_depth``
        judges what the field finds too near [mm]
    self_apart, self_distance : stretches of the centreline further apart along it than the one
        keep the other from each other [mm]
    """

    field: ClearanceField
    obstacles: Obstacles
    required: Array
    radius: float
    lenient: tuple[float, float]
    exact_depth: ExactDepth
    self_apart: float
    self_distance: float
