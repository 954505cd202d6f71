"""What OCCT says of a pair, and how far it can be believed.

OCCT is asked about single solids only: of compounds it misses one wholly inside the other. Its
distance belongs to two points it names, so with those on the solids it can be too large, never
too small; nearest points found by alternating projection in closed form catch one too large.
At distance 0 it does not tell touching from overlapping: there a point inside both, the pair's
construction, a separating plane or the common volume decides.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps

from layout3d.realise.brep import solid
from shapes.pose import Array, Pose, compose
from shapes.primitives import Primitive, Prism, TubeRun

from .features import support
from .pairs import Pair
from .points import depth, edge_normals, nearest
from .sections import upright

CONTACT_MM = 1e-6
JUDGES = ("occt", "occt and construction", "construction", "occt from a point", "witness", "plane", "volume")
FAULTS = ("none", "occt too large", "occt points off the solids", "undecided", "construction wrong")


class Verdict(NamedTuple):
    """sign: 1 apart, 0 touching, -1 overlapping; distance: the gap, 0, or minus the known depth or NaN.

    ``fault`` other than "none" says why OCCT's own ``occt_mm`` was set aside; "undecided" and
    "construction wrong" leave no verdict at all.
    """

    sign: int
    distance_mm: float
    judged_by: str
    fault: str
    occt_mm: float

    @property
    def undecided(self) -> bool:
        """Whether there is no verdict to hold anybody to."""
        return self.fault in ("undecided", "construction wrong")


def judge(pair: Pair) -> Verdict:
    """OCCT's verdict of a pair, cross-checked."""
    first, second = pair.bodies
    occt_mm, off = occt_distance(first, second)
    second2first = compose(second[1], first[1].inverse)
    found = projected(first[0], second[0], second2first)
    fault = "none"
    if off > CONTACT_MM:
        fault = "occt points off the solids"
    elif found.distance_mm < occt_mm - CONTACT_MM:
        fault = "occt too large"
    if not math.isnan(pair.truth):
        return _beside_construction(pair.truth, occt_mm, found, fault)
    if 2.0 * found.depth_mm > CONTACT_MM:
        agreed = pair.overlapping and occt_mm <= CONTACT_MM
        return Verdict(-1, math.nan, "occt and construction" if agreed else "witness", fault, occt_mm)
    if fault == "none" and occt_mm > CONTACT_MM:
        return Verdict(1, occt_mm, "occt", fault, occt_mm)
    if fault == "none" and separation(first[0], second[0], second2first) > -1e-9:
        return Verdict(0, 0.0, "plane", fault, occt_mm)
    found = projected(first[0], second[0], second2first, polish=1000)
    if 2.0 * found.depth_mm > CONTACT_MM:
        return Verdict(-1, math.nan, "witness", fault, occt_mm)
    if fault == "none":
        return _by_volume(common_volume(first, second), occt_mm)
    from_point = occt_from_point(first, second, found.at)
    if found.distance_mm > CONTACT_MM and abs(from_point - found.distance_mm) < 0.1 * CONTACT_MM:
        return Verdict(1, from_point, "occt from a point", fault, occt_mm)
    return Verdict(0, math.nan, "occt from a point", "undecided", occt_mm)


def _by_volume(common_mm3: float, occt_mm: float) -> Verdict:
    """OCCT's common volume misses thin overlaps at rims, so that only none at all counts as contact."""
    if common_mm3 > 1e-4:
        return Verdict(-1, math.nan, "volume", "none", occt_mm)
    return Verdict(0, 0.0, "volume", "none" if common_mm3 < 1e-12 else "undecided", occt_mm)


def _beside_construction(truth: float, occt_mm: float, found: Nearest, fault: str) -> Verdict:
    sign = 0 if abs(truth) <= CONTACT_MM else 1 if truth > 0.0 else -1
    agreed = abs(occt_mm - max(truth, 0.0)) <= CONTACT_MM
    if found.distance_mm < truth - CONTACT_MM or (2.0 * found.depth_mm > CONTACT_MM and truth > -CONTACT_MM):
        return Verdict(sign, truth, "construction", "construction wrong", occt_mm)
    if not agreed and fault == "none":
        # Where round skins graze each other both creep to the last micrometres; further off it is two to one.
        fault = "occt too large" if 0.0 < occt_mm - truth < 1e-3 else "construction wrong"
    return Verdict(sign, truth, "occt and construction" if agreed else "construction", fault, occt_mm)


def occt_distance(first: tuple[Primitive, Pose], second: tuple[Primitive, Pose]) -> tuple[float, float]:
    """OCCT's least distance [mm], and how far the points it names lie off the solids [mm]."""
    asked = BRepExtrema_DistShapeShape(
        solid(*first, filled=True).wrapped, solid(*second, filled=True).wrapped
    )
    distance = float(asked.Value())
    if asked.InnerSolution() or asked.NbSolution() == 0:
        return distance, 0.0 if asked.InnerSolution() else math.inf
    off = 0.0
    for (primitive, pose), point in ((first, asked.PointOnShape1(1)), (second, asked.PointOnShape2(1))):
        local = pose.inverse.apply(np.array([_coordinates(point)]))
        off = max(off, float(np.linalg.norm(nearest(primitive, local) - local)))
    return distance, off


def occt_from_point(first: tuple[Primitive, Pose], second: tuple[Primitive, Pose], at: Array) -> float:
    """OCCT's distance of the first solid from a point given in the second's frame [mm]."""
    point = BRepBuilderAPI_MakeVertex(gp_Pnt(*(float(value) for value in second[1].apply(at)))).Vertex()
    return float(BRepExtrema_DistShapeShape(point, solid(*first, filled=True).wrapped).Value())


def _coordinates(point: gp_Pnt) -> tuple[float, float, float]:
    return (point.X(), point.Y(), point.Z())


def common_volume(first: tuple[Primitive, Pose], second: tuple[Primitive, Pose]) -> float:
    """Volume of the two solids' intersection by OCCT [mm3]."""
    common = BRepAlgoAPI_Common(solid(*first, filled=True).wrapped, solid(*second, filled=True).wrapped)
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(common.Shape(), found)
    return float(found.Mass())


class Nearest(NamedTuple):
    """distance_mm: a proven upper bound, reached at ``at`` (of the second, in its own frame); depth_mm:
    how deep the deepest point found lies inside both (half the overlap), -inf where none was found."""

    distance_mm: float
    at: Array
    depth_mm: float


_Throw = Callable[[Array], tuple[Array, Array]]


def projected(one: Primitive, two: Primitive, second2first: Pose, polish: int = 30) -> Nearest:
    """The least distance found by throwing points of each solid to the nearest of the other.

    Every pair on the way is a pair of points of the solids, so no step can claim too little.
    """
    rng = np.random.default_rng(7)
    first2second = second2first.inverse

    def thrown(on_two: Array) -> tuple[Array, Array]:
        """Where points of the second land on it after a visit to the first, and how far they went."""
        there = second2first.apply(on_two)
        on_one = nearest(one, there)
        return nearest(two, first2second.apply(on_one)), np.linalg.norm(on_one - there, axis=1)

    count = 128 if isinstance(one, TubeRun) or isinstance(two, TubeRun) else 64
    from_one = first2second.apply(nearest(one, _spread(rng, one, count // 2)))
    on_two = nearest(two, np.concatenate((_spread(rng, two, count), from_one)))
    for rounds, keep in ((6, 24), (16, 4)):
        for _ in range(rounds):
            on_two, apart = thrown(on_two)
        on_two = on_two[np.argsort(apart)[:keep]]
    strides = np.array([0.0, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0])[:, None]
    for _ in range(polish):  # the plain throw creeps where solids are nearly parallel: try long strides
        landed, before = thrown(on_two)
        tried = np.concatenate(
            [nearest(two, to + strides * (to - at)) for at, to in zip(on_two, landed, strict=True)]
        )
        apart = thrown(tried)[1].reshape(len(on_two), -1)
        best = apart.argmin(axis=1)
        on_two = tried.reshape(len(on_two), -1, 3)[np.arange(len(on_two)), best]
        if before.min() - apart.min() < 1e-13:
            break
    apart = thrown(on_two)[1]
    at = on_two[int(apart.argmin())]
    touching = on_two[apart < CONTACT_MM]

    def within(on_two: Array) -> Array:
        """The depth of points of the second in both."""
        return np.minimum(depth(two, on_two), depth(one, second2first.apply(on_two)))

    depth_mm = _deepest(rng, touching, thrown, within) if len(touching) else -math.inf
    return Nearest(float(apart.min()), at, depth_mm)


def _deepest(rng: np.random.Generator, at: Array, thrown: _Throw, within: Callable[[Array], Array]) -> float:
    """Climbs from points of both solids to the point deepest inside both, by shrinking random steps.

    A step's points thrown on both solids land on the rim of the overlap, however thin that is: points
    halfway between two of them are tried as well.
    """
    best = at[int(np.argmax(within(at)))]
    found, step = float(within(best[None])[0]), 8.0
    for _ in range(120):
        if step < 1e-7 or found > 1e-3:
            break
        tries = best + step * rng.normal(size=(24, 3))
        landed = tries
        for _ in range(4):
            landed, _ = thrown(landed)
        tries = np.concatenate((tries, (landed + landed[::-1]) / 2.0, (landed + best) / 2.0))
        depths = within(tries)
        if depths.max() > found:
            best, found = tries[int(np.argmax(depths))], float(depths.max())
        else:
            step /= 3.0
    return found


def _spread(rng: np.random.Generator, primitive: Primitive, count: int) -> Array:
    """Points of a solid spread over it: random points of a block round it, each put to its nearest."""
    high = np.array([support(primitive, axis) for axis in np.eye(3)])
    low = np.array([-support(primitive, -axis) for axis in np.eye(3)])
    return nearest(primitive, rng.uniform(low, high, (count, 3)))


def separation(one: Primitive, two: Primitive, second2first: Pose) -> float:
    """The widest gap between supporting planes across either solid's own directions [mm]."""
    ways = [*_directions(one), *(second2first.rotation @ way for way in _directions(two))]
    widest = -math.inf
    for way in [sign * way for way in ways for sign in (-1.0, 1.0)]:
        reach = support(one, way) + support(two, second2first.rotation.T @ -way)
        widest = max(widest, float(second2first.origin @ way) - reach)
    return widest


def _directions(primitive: Primitive) -> list[Array]:
    found = [*np.eye(3), *upright(primitive).rotation.T]
    if isinstance(primitive, Prism):
        found += [np.append(normal, 0.0) for normal in edge_normals(np.array(primitive.corners))]
    return found
