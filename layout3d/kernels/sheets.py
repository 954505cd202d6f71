"""A plate with openings, cut exactly into rectangles and bays.

A bay lies between x = left and x = right; below and above it end on a straight edge or on
the arc of a round opening, which bulges into it. A curve is (x, y, radius, side): the line
``y`` where the radius is 0, else the upper (side 1) or lower (side -1) half of a circle.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TypeAlias

from shapes.primitives import Plate, RoundOpening

Curve: TypeAlias = tuple[float, float, float, float]
_TINY_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Region:
    """``left <= x <= right`` between two curves."""

    left: float
    right: float
    lower: Curve
    upper: Curve

    @property
    def straight(self) -> bool:
        """Whether this is a rectangle."""
        return self.lower[2] == 0.0 and self.upper[2] == 0.0


def regions(plate: Plate) -> list[Region]:
    """The plate's sheet without its openings, in strips along y; neighbours of one outline are merged."""
    cuts = _cuts(plate)
    found: list[Region] = []
    open_: dict[tuple[Curve, Curve], Region] = {}
    for left, right in itertools.pairwise(cuts):
        still_open: dict[tuple[Curve, Curve], Region] = {}
        for lower, upper in _strip(plate, 0.5 * (left + right)):
            before = open_.pop((lower, upper), None)
            merge = before is not None and before.straight
            region = Region(before.left if merge and before else left, right, lower, upper)
            if before is not None and not merge:
                found.append(before)
            still_open[lower, upper] = region
        found.extend(open_.values())
        open_ = still_open
    found.extend(open_.values())
    return found


def height_of(curve: Curve, x: float) -> float:
    """y of a curve at x [mm]."""
    centre_x, centre_y, radius, side = curve
    return centre_y + side * math.sqrt(max(radius * radius - (x - centre_x) ** 2, 0.0))


def _strip(plate: Plate, x: float) -> list[tuple[Curve, Curve]]:
    """What is left of the sheet at x, from below: pairs of bounding curves."""
    half = 0.5 * plate.size[1]
    blocked: list[tuple[float, float, Curve, Curve]] = []
    for opening in plate.openings:
        at_x, at_y = opening.at
        if isinstance(opening, RoundOpening):
            radius = 0.5 * opening.diameter
            lower, upper = (at_x, at_y, radius, -1.0), (at_x, at_y, radius, 1.0)
            covers = abs(x - at_x) < radius
        else:
            lower, upper = ((0.0, at_y + s * 0.5 * opening.size[1], 0.0, 0.0) for s in (-1.0, 1.0))
            covers = abs(x - at_x) < 0.5 * opening.size[0]
        low, high = height_of(lower, x), height_of(upper, x)
        if covers and low < half and high > -half:
            blocked.append((low, high, lower, upper))
    left: list[tuple[Curve, Curve]] = []
    reached, edge = -half, (0.0, -half, 0.0, 0.0)
    for low, high, lower, upper in sorted(blocked):
        if reached + _TINY_MM < low:
            left.append((edge, lower))
        if high > reached:
            reached, edge = high, upper
    if reached + _TINY_MM < half:
        left.append((edge, (0.0, half, 0.0, 0.0)))
    return left


def _cuts(plate: Plate) -> list[float]:
    """Every x where the outline changes its form, both ends of the plate included."""
    half_x, half_y = 0.5 * plate.size[0], 0.5 * plate.size[1]
    lines, cuts = [-half_y, half_y], [-half_x, half_x]
    rounds: list[tuple[float, float, float]] = []
    for opening in plate.openings:
        at_x, at_y = opening.at
        if isinstance(opening, RoundOpening):
            radius = 0.5 * opening.diameter
            rounds.append((at_x, at_y, radius))
            cuts += [at_x - radius, at_x, at_x + radius]
        else:
            cuts += [at_x - 0.5 * opening.size[0], at_x + 0.5 * opening.size[0]]
            lines += [at_y - 0.5 * opening.size[1], at_y + 0.5 * opening.size[1]]
    for x, y, radius in rounds:
        for line in lines:
            if abs(line - y) < radius:
                reach = math.sqrt(radius * radius - (line - y) ** 2)
                cuts += [x - reach, x + reach]
    for first, (ax, ay, ar) in enumerate(rounds):
        for bx, by, br in rounds[:first]:
            cuts += _crossings(ax, ay, ar, bx, by, br)
    inside = sorted(x for x in cuts if -half_x <= x <= half_x)
    return [x for n, x in enumerate(inside) if n == 0 or x - inside[n - 1] > _TINY_MM]


def _crossings(ax: float, ay: float, ar: float, bx: float, by: float, br: float) -> list[float]:
    """x of the points where two circles cross."""
    apart = math.hypot(bx - ax, by - ay)
    if not abs(ar - br) < apart < ar + br:
        return []
    towards = (apart * apart + ar * ar - br * br) / (2.0 * apart)
    aside = math.sqrt(max(ar * ar - towards * towards, 0.0))
    foot = ax + towards * (bx - ax) / apart
    return [foot - aside * (by - ay) / apart, foot + aside * (by - ay) / apart]
