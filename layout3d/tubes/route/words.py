"""How a search says what it searched."""

from __future__ import annotations

from typing import Literal

from layout3d.tubes.request import RouteRequest
from layout3d.tubes.route.catalogue import SURE_BENDS, is_free, most_bends
from layout3d.tubes.route.cones import ROLLS
from layout3d.tubes.route.directions import SHARPEST_DEG

_LISTED = "the case axes, their 45-degree diagonals and the axes of both ends"


def searched(request: RouteRequest, complete: bool) -> str:
    """The class of runs, in words; where it was not searched to the end, how far."""
    bends = most_bends(request)
    words = f"up to {bends} bend{'' if bends == 1 else 's'} of "
    if is_free(request):
        words += (
            f"any angle up to {SHARPEST_DEG:g} degrees: all along {_LISTED} and the cube's diagonals, "
            "two bends of free angles by samples, the best bettered by moving its corners"
        )
    else:
        words += f"{_angles(request.angles)} along {_LISTED}"
        if request.directions == "any":
            words += f"; other directions at {ROLLS} places round the first end's axis"
        if request.angles != "any" and any(angle >= 180.0 for angle in request.angles):
            words += "; bends of 180 degrees are not searched"
    if not complete:
        words += f"; runs of more than {SURE_BENDS} bends only in part"
    if request.most_bends > bends:
        words += f"; more than {bends} bends are not searched"
    return words


def _angles(angles: tuple[float, ...] | Literal["any"]) -> str:
    if angles == "any":
        return f"any angle up to {SHARPEST_DEG:g} degrees"
    listed = [f"{angle:g}" for angle in sorted(angles)]
    return " or ".join([", ".join(listed[:-1]), listed[-1]] if len(listed) > 1 else listed) + " degrees"
