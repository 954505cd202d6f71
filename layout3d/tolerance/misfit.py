"""How far the end of a cut tube may miss its fitting: its ports stand off, its bends stay as they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from layout3d.layout import Layout, Tube
from layout3d.tolerance.following import Following
from layout3d.tubes.centreline import end_of
from shapes.pose import Array, Vec3, as_vec3

#: Directions that lengths may move an end in before the bound is taken as their plain sum.
_MOST_WAYS = 14
_STILL_MM = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Miss:
    """The most a tube's end may miss its fitting by.

    most_mm : nowhere within the tolerances is the miss larger; ``nominal_mm`` as written
    shares : (N,) what each length adds to it [mm]
    direction : from the tube's end to the fitting, where the miss is largest
    """

    tube: Tube
    most_mm: float
    nominal_mm: float
    shares: Array
    direction: Vec3


def misses(layout: Layout, found: Following, low: Array, high: Array) -> Iterator[Miss]:
    """Of every rigid tube whose ends move against each other over a box (N,) of offsets [mm]."""
    for tube in layout.tubes:
        slopes = end_slopes(tube, found, len(low))
        if tube.kind == "rigid" and tube.run is not None and np.abs(slopes).max(initial=0.0) > _STILL_MM:
            yield _largest(tube, miss_as_written(tube), slopes, low, high)


def end_slopes(tube: Tube, found: Following, count: int) -> Array:
    """How a tube's last mouth follows N lengths as seen from its first (N, 3)."""
    still = np.zeros((count, 3))
    start, end = (found.mouths.get((tube.name, n), still) for n in (0, 1))
    return end - start


def miss_as_written(tube: Tube) -> Array:
    """From the tube's end to its last mouth (3,) [mm]; not 0 where a given bend table is a little out."""
    assert tube.run is not None
    return np.asarray(tube.mouths[1].origin - np.array(end_of(tube.run.pieces[-1])[0]))


def _largest(tube: Tube, written: Array, slopes: Array, low: Array, high: Array) -> Miss:
    middle = written + slopes.T @ (0.5 * (low + high))
    ways = _ways(slopes * (0.5 * (high - low))[:, None])
    if len(ways) <= _MOST_WAYS:
        signs = np.array(list(product((-1.0, 1.0), repeat=len(ways)))).reshape(-1, len(ways))
        ends = middle + signs @ ways
        furthest = ends[np.einsum("sc,sc->s", ends, ends).argmax()]
        most = math.sqrt(float(furthest @ furthest))
    else:
        reach = np.sqrt(np.einsum("wc,wc->w", ways, ways))
        most = math.sqrt(float(middle @ middle)) + float(reach.sum())
        furthest = middle + ways[reach.argmax()]
    direction = furthest / max(math.sqrt(float(furthest @ furthest)), 1e-12)
    along = slopes @ direction
    shares = np.maximum(along * low, along * high)
    nominal = math.sqrt(float(written @ written))
    return Miss(tube, most, nominal, shares, as_vec3(direction))


def _ways(reaches: Array) -> Array:
    """Vectors (N, 3) with parallel ones added up; none of no length."""
    ways: list[Array] = []
    for reach in reaches[np.abs(reaches).max(axis=1) > 0.0]:
        for n, way in enumerate(ways):
            across = np.cross(way, reach)
            if float(across @ across) <= 1e-24 * float(way @ way) * float(reach @ reach):
                ways[n] = way + (reach if float(way @ reach) > 0.0 else -reach)
                break
        else:
            ways.append(reach)
    return np.array(ways).reshape(-1, 3)
