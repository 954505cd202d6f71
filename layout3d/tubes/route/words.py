"""How a search says what it searched."""

from __future__ import annotations

from layout3d.tubes.request import RouteRequest
from layout3d.tubes.route.catalogue import MOST_BENDS, SURE_BENDS


def searched(request: RouteRequest, complete: bool) -> str:
    """The class of runs, in words; where it was not searched to the end, how far."""
    bends = min(request.most_bends, MOST_BENDS)
    words = f"up to {_count(bends)} of {angles_in_words(request)} along the case axes, "
    words += "their 45-degree diagonals and the axes of both ends"
    if request.angles != "any" and any(angle >= 180.0 for angle in request.angles):
        words += "; bends of 180 degrees are not searched"
    if not complete:
        words += f"; runs of more than {SURE_BENDS} bends only in part"
    if request.most_bends > MOST_BENDS:
        words += f"; more than {MOST_BENDS} bends are not searched"
    return words


def angles_in_words(request: RouteRequest) -> str:
    """The bend angles of the request: "45 or 90 degrees"."""
    if request.angles == "any":
        return "any angle"
    listed = [f"{angle:g}" for angle in sorted(request.angles)]
    return " or ".join([", ".join(listed[:-1]), listed[-1]] if len(listed) > 1 else listed) + " degrees"


def _count(bends: int) -> str:
    return f"{bends} bend" if bends == 1 else f"{bends} bends"
