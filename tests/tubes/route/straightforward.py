"""Runs by plain means, for judging the search: nothing here is shared with it."""

from __future__ import annotations

import itertools
import math

import numpy as np

from layout3d.scene.model import RigidTubing
from layout3d.tubes.request import RouteRequest
from layout3d.tubes.route.scenery import Hindrance, Scenery
from shapes.pose import Pose
from shapes.primitives import Arc, Straight, TubeRun

SQUARE = [
    np.array(v) / math.sqrt(sum(map(abs, v)))
    for v in itertools.product((-1.0, 0.0, 1.0), repeat=3)
    if 1 <= sum(map(abs, v)) <= 2
]


def tubing(radius=30.0, outside=14.0, ends=20.0, between=14.0) -> RigidTubing:
    return RigidTubing(
        kind="rigid",
        outside=outside,
        inside=outside - 4.0,
        bend_radius=radius,
        end_straight=ends,
        between_bends=between,
    )


def request(first, last, **changes) -> RouteRequest:
    """From (place, facing) to (place, facing)."""
    mouths = tuple(m if isinstance(m, Pose) else Pose.facing(*m) for m in (first, last))
    values = {
        "name": "tube",
        "tubing": tubing(),
        "mouths": mouths,
        "near": ((), ()),
        "angles": (45.0, 90.0),
        "directions": "case",
        "bend_cost": 40.0,
        "most_bends": 3,
    }
    return RouteRequest(**(values | changes))


def scenery(*solids, gap=3.0) -> Scenery:
    """Solids as (primitive, pose) or (name, primitive, pose, gap, near)."""
    hindrances = []
    for index, solid in enumerate(solids):
        full = solid if len(solid) > 2 else (f"part{index}", *solid, gap, (False, False))
        hindrances.append(Hindrance(*full))
    return Scenery(tuple(hindrances), gap)


def chains(leave, arrive, angles, bends, directions=SQUARE):
    """Every list of directions that bends by one of the angles each time."""

    def bent(a, b):
        turn = math.degrees(math.acos(np.clip(a @ b, -1.0, 1.0)))
        return any(abs(turn - angle) < 1e-5 for angle in angles)

    found = [[leave]]
    for _ in range(bends - 1):
        found = [[*chain, d] for chain in found for d in directions if bent(chain[-1], d)]
    return [[*chain, arrive] for chain in found if bent(chain[-1], arrive)]


def turns(chain):
    return [math.acos(np.clip(a @ b, -1.0, 1.0)) for a, b in itertools.pairwise(chain)]


def over_bends(chain, radius):
    pairs = zip(turns(chain), itertools.pairwise(chain), strict=True)
    return sum((radius * math.tan(0.5 * t) * (a + b) for t, (a, b) in pairs), start=np.zeros(3))


def cost(chain, straights, radius, bend_cost=40.0) -> float:
    return float(sum(straights)) + radius * sum(turns(chain)) + bend_cost * (len(chain) - 1)


def pieces(start, chain, straights, radius):
    """Straights and arcs of a run from its directions and straights."""
    made, here = [], np.asarray(start, dtype=float)
    for index, (way, length) in enumerate(zip(chain, straights, strict=True)):
        there = here + length * way
        if length > 1e-9:
            made.append(Straight(tuple(here.tolist()), tuple(there.tolist())))
        if index + 1 < len(chain):
            onward = chain[index + 1]
            turn = math.acos(np.clip(way @ onward, -1.0, 1.0))
            inward = (onward - math.cos(turn) * way) / math.sin(turn)
            centre = there + radius * inward
            vectors = (tuple(v.tolist()) for v in (centre, -inward, way))
            made.append(Arc(*vectors, radius, turn))
            here = there + radius * math.tan(0.5 * turn) * (way + onward)
    return made


def by_corners(asked: RouteRequest, corners):
    """Directions and straights of a run given by its corners."""
    points = [asked.mouths[0].origin, *map(np.asarray, corners), asked.mouths[1].origin]
    legs = [b - a for a, b in itertools.pairwise(points)]
    chain = [leg / np.linalg.norm(leg) for leg in legs]
    tangents = [asked.tubing.bend_radius * math.tan(0.5 * t) for t in turns(chain)]
    cut = np.array([0.0, *tangents]) + np.array([*tangents, 0.0])
    return chain, np.array([np.linalg.norm(leg) for leg in legs]) - cut


def run_of(asked: RouteRequest, chain, straights) -> TubeRun:
    made = pieces(asked.mouths[0].origin, chain, straights, asked.tubing.bend_radius)
    return TubeRun(tuple(made), asked.tubing.outside, asked.tubing.inside)


def centreline(run: TubeRun, step: float) -> np.ndarray:
    """Points along a run."""
    points = []
    for piece in run.pieces:
        share = np.linspace(0.0, 1.0, max(2, math.ceil(piece.length / step) + 1))[:, None]
        if isinstance(piece, Straight):
            points.append(np.asarray(piece.start) + share * np.subtract(piece.end, piece.start))
        else:
            turn = share * piece.angle
            spoke = np.cos(turn) * np.asarray(piece.outward) + np.sin(turn) * np.asarray(piece.along)
            points.append(np.asarray(piece.centre) + piece.radius * spoke)
    return np.vstack(points)
