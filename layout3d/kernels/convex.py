"""Certified distance between convex hulls of pieces, many pairs at once.

``separation(a, b, n) = -(h_a(n) + h_b(-n))`` is the room between the two support planes
normal to n: a positive one proves the pair apart, and the largest over all n is the distance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout3d.kernels.pieces import Bools, Ints, Pieces
from shapes.pose import Array

#: How far apart upper and lower bound may stay [mm].
CLOSED_MM = 1e-10
#: Share of that for pairs nearly in contact, whose points else slip along the contact.
_CLOSER = 1e-3
#: Pairs nearer than this are measured drawn apart, where directions are well defined [mm].
NEAR_MM = 0.05
_MOST_STEPS = 80
#: A descent whose bounds stayed further apart, on edges nearly parallel, starts again beside its result.
_STUCK_MM = 1e-7
_STRIDES = 2.0 ** np.arange(-1.0, 9.0)
_NUDGES = np.array([(1e-6, 2e-6, 3e-6), (-3e-7, 1e-7, 2e-7), (2e-5, -3e-5, 1e-5)])


@dataclass(frozen=True, slots=True, eq=False)
class Separation:
    """N pairs: the best direction found, from a to b, its certificate, and a point of each hull.

    direction : (N, 3) unit
    lower : (N,) room between the support planes normal to it [mm]; negative: none found
    point_a, point_b : (N, 3) nearest points found [mm]
    """

    direction: Array
    lower: Array
    point_a: Array
    point_b: Array

    @property
    def upper(self) -> Array:
        """How far the points are apart, (N,) [mm]."""
        apart = self.point_a - self.point_b
        return np.sqrt(_dot(apart, apart))


def separation(a: Pieces, b: Pieces, directions: Array) -> Array:
    """Room between support planes normal to directions (N, M, 3), from a to b; (N, M) [mm]."""
    return -(a.height(directions) + b.height(-directions))


def separated(
    a: Pieces,
    b: Pieces,
    direction: Array,
    enough: Array,
    *,
    climbs: int = 3,
    climbing: Bools | None = None,
    closed: float = CLOSED_MM,
) -> Separation:
    """The best separation found from one starting direction (N, 3) each.

    Pairs apart are measured to ``closed`` mm or until the certificate reaches ``enough`` (N,).
    Pairs that touch or overlap climb towards the nearest local optimum, all or those ``climbing``:
    b is drawn off along the best direction so far and measured there, which never makes the
    room less.
    """
    direction = unit(direction)
    lower = separation(a, b, direction[:, None, :])[:, 0]
    found, point_a, point_b = nearest(a, b, direction, enough, closed)
    _improve(direction, lower, np.arange(len(lower)), found, separation(a, b, found[:, None, :])[:, 0])
    best = Separation(direction, lower, point_a, point_b)
    stuck = max(_STUCK_MM, 10.0 * closed)
    for nudge in _NUDGES:
        upper = best.upper
        rows = np.flatnonzero((upper - lower > stuck) & (upper > 1e-9) & (lower < enough))
        if len(rows):
            _descend(best, a.take(rows), b.take(rows), rows, nudge, np.zeros(len(rows)), enough[rows], closed)
    upper = best.upper
    near = (upper < NEAR_MM) & (upper - lower > 1e-8) & (lower < enough)
    rows = np.flatnonzero(near if climbing is None else near & climbing)
    for climb in range(climbs):
        if len(rows):
            pull = np.maximum(NEAR_MM - lower[rows], 0.0)
            nudge = _NUDGES[climb % len(_NUDGES)]
            part_a, part_b, before = a.take(rows), b.take(rows), direction[rows]
            gain = _descend(best, part_a, part_b, rows, nudge, pull, enough[rows] + pull, closed)
            gain += _stride(best, part_a, part_b, rows, before)
            rows = rows[((gain > 1e-9) | (climb == 0)) & (lower[rows] < enough[rows])]
    return best


def _descend(
    best: Separation,
    a: Pieces,
    b: Pieces,
    rows: Ints,
    nudge: Array,
    pull: Array,
    enough: Array,
    closed: float,
) -> Array:
    """Measure these rows with b drawn off by ``pull`` (n,); what room that gained (n,).

    The descent starts beside the best direction: where it got stuck once it would again.
    """
    drawn = pull[:, None] * best.direction[rows]
    start = unit(best.direction[rows] + nudge)
    found, on_a, on_b = nearest(a, b.shifted(drawn), start, enough, closed)
    gain = _improve(best.direction, best.lower, rows, found, separation(a, b, found[:, None, :])[:, 0])
    on_b = on_b - drawn
    closer = np.sqrt(_dot(on_a - on_b, on_a - on_b)) < best.upper[rows]
    best.point_a[rows[closer]], best.point_b[rows[closer]] = on_a[closer], on_b[closer]
    return gain


def _stride(best: Separation, a: Pieces, b: Pieces, rows: Ints, before: Array) -> Array:
    """Go on the way a climb went, as far as that helps; what room that gained (n,).

    A deep overlap with a slender margin climbs by ever shorter steps; along its way they add up.
    A combination of two directions square to an edge stays square to it.
    """
    step = best.direction[rows] - before
    tried = unit(best.direction[rows][:, None] + _STRIDES[:, None] * step[:, None])
    room = separation(a, b, tried)
    chosen, every = room.argmax(axis=1), np.arange(len(rows))
    return np.maximum(
        _improve(best.direction, best.lower, rows, tried[every, chosen], room[every, chosen]), 0.0
    )


def _improve(direction: Array, lower: Array, rows: Ints, found: Array, room: Array) -> Array:
    """Take over the directions that leave more room; how much more, (n,)."""
    gain = room - lower[rows]
    better = gain > 0.0
    direction[rows[better]], lower[rows[better]] = found[better], room[better]
    return gain


def surely_meet(a: Pieces, b: Pieces, by: float) -> Bools:
    """Whether hulls overlap by a proven depth of at least ``by`` (N,) [mm].

    Each pair is tried with b set off by ``3 by`` to the four corners of a tetrahedron. Where all
    four still meet, the difference of the two holds those corners, so their hull, so a ball
    of radius ``by`` round the origin: nothing shorter parts them.
    """
    count = len(a)
    corners = (
        np.array([[1.0, 1.0, 1.0], [1.0, -1.0, -1.0], [-1.0, 1.0, -1.0], [-1.0, -1.0, 1.0]])
        * np.sqrt(3.0)
        * by
    )
    four = np.repeat(np.arange(count), 4)
    off = np.tile(corners, (count, 1))
    _, on_a, on_b = nearest(a.take(four), b.take(four).shifted(off), unit(off), np.zeros(4 * count), 1e-6)
    return np.asarray((np.abs(on_a - on_b).max(axis=1) < 1e-10).reshape(count, 4).all(axis=1))


def nearest(
    a: Pieces, b: Pieces, direction: Array, enough: Array, closed: float = CLOSED_MM
) -> tuple[Array, Array, Array]:
    """Nearest points of hulls by Gilbert, Johnson and Keerthi's descent on their difference.

    Returns the direction from a to b (N, 3) and a point of each hull (N, 3); the points
    coincide where the hulls meet. Stops where the support plane proves the distance to
    ``closed``, or ``enough``, or no further progress is possible in double precision.
    """
    count = len(a)
    best, on_a, on_b = direction.copy(), direction, direction
    rows = np.arange(count)
    towards = direction.copy()
    vertices, on_first = np.zeros((count, 3, 3)), np.zeros((count, 3, 3))
    held = np.zeros((count, 3), dtype=bool)
    length, proved = np.full(count, np.inf), np.full(count, -np.inf)
    for step in range(_MOST_STEPS):
        first = a.support_points(towards)
        newest = first - b.support_points(-towards)
        room = -np.einsum("nc,nc->n", newest, towards)
        better = room > proved
        best[rows[better]] = towards[better]
        proved = np.maximum(proved, room)
        within = np.where(length < 2.0 * NEAR_MM, _CLOSER * closed, closed)
        done = (length - proved <= within) | (proved >= enough)
        if step == 0:
            on_a, on_b = first.copy(), first - newest
        else:
            done |= _repeats(vertices, held, newest)
        if done.any():
            keep = ~done
            rows, a, b = rows[keep], a.take(keep), b.take(keep)
            vertices, on_first, held = vertices[keep], on_first[keep], held[keep]
            newest, first, enough = newest[keep], first[keep], enough[keep]
            length, proved, towards = length[keep], proved[keep], towards[keep]
            if not len(rows):
                break
        weights, offset = _least_of_simplex(newest, vertices, held)
        at = np.einsum("nk,nkc->nc", weights, np.concatenate([first[:, None], on_first], axis=1))
        vertices, on_first, held = _kept(weights, newest, first, vertices, on_first)
        norm = np.sqrt(np.einsum("nc,nc->n", offset, offset))
        shorter = norm < length
        ahead = rows[shorter]
        on_a[ahead], on_b[ahead] = at[shorter], (at - offset)[shorter]
        enough = np.where(shorter & (norm > 1e-12), enough, -np.inf)
        length = np.minimum(length, norm)
        towards = np.where(norm[:, None] > 1e-12, -offset / np.maximum(norm, 1e-12)[:, None], towards)
    return best, on_a, on_b


def _repeats(vertices: Array, held: Bools, newest: Array) -> Bools:
    """Whether the newest support point is already in the simplex."""
    same = (np.abs(vertices - newest[:, None, :]).max(axis=2) <= 1e-13) & held
    return np.asarray(same.any(axis=1))


_FIRST, _SECOND = np.array([0, 0, 1]), np.array([1, 2, 2])


def _least_of_simplex(newest: Array, vertices: Array, held: Bools) -> tuple[Array, Array]:
    """Weights (N, 4) of newest and vertices, and the point of their hull nearest to the origin.

    Every face that has the newest vertex is tried; a face whose nearest point lies outside it
    is left out, so what is returned is a point of the hull even after rounding. Shares come
    from cross products: Gram determinants lose half the digits on a sliver.
    """
    edges = np.where(held[:, :, None], vertices - newest[:, None, :], 0.0)
    one, two = edges[:, _FIRST], edges[:, _SECOND]
    normal = cross(one, two)
    tried = np.zeros((len(newest), 8, 3))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = -_dot(edges, newest[:, None, :]) / _dot(edges, edges)
        tried[:, _ON_EDGE, _EDGE] = np.clip(share, 0.0, 1.0)
        plane = newest[:, None, :] / _dot(normal, normal)[..., None]
        tried[:, _ON_FACE, _FIRST] = -_dot(cross(two, normal), plane)
        tried[:, _ON_FACE, _SECOND] = -_dot(cross(normal, one), plane)
        within = _dot(normal, newest[:, None, :]) / _dot(normal[:, 2], edges[:, 0])[:, None]
        tried[:, 7] = within[:, ::-1] * _INWARD
        valid = (tried >= 0.0).all(axis=2) & (tried.sum(axis=2) <= 1.0)
    tried[~valid] = 0.0
    points = newest[:, None, :] + tried @ edges
    norms = _dot(points, points)
    norms[~valid] = np.inf
    chosen = norms.argmin(axis=1)
    every = np.arange(len(newest))
    weights = np.empty((len(newest), 4))
    weights[:, 1:] = tried[every, chosen]
    weights[:, 0] = 1.0 - weights[:, 1:].sum(axis=1)
    return weights, points[every, chosen]


_EDGE, _ON_EDGE, _ON_FACE = np.arange(3), np.arange(1, 4), np.arange(4, 7)
#: Signs of the shares of a tetrahedron's edges: normals are of edges (0, 1), (0, 2), (1, 2).
_INWARD = np.array([-1.0, 1.0, -1.0])


def cross(a: Array, b: Array) -> Array:
    """Cross products over the last axis, by components (``np.cross`` takes thrice as long)."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    found = np.empty(np.broadcast_shapes(a.shape, b.shape))
    found[..., 0] = ay * bz - az * by
    found[..., 1] = az * bx - ax * bz
    found[..., 2] = ax * by - ay * bx
    return found


def _dot(a: Array, b: Array) -> Array:
    return np.asarray(np.einsum("...c,...c->...", a, b))


def _kept(
    weights: Array, newest: Array, first: Array, vertices: Array, on_first: Array
) -> tuple[Array, Array, Bools]:
    """The up to three vertices that carry the nearest point, heaviest first."""
    order: Ints = np.argsort(-weights, axis=1)[:, :3]
    every = np.arange(len(order))[:, None]
    kept = np.concatenate([newest[:, None], vertices], axis=1)[every, order]
    kept_first = np.concatenate([first[:, None], on_first], axis=1)[every, order]
    return kept, kept_first, weights[every, order] > 0.0


def unit(directions: Array) -> Array:
    """Vectors (..., 3) scaled to length 1; the x axis for one shorter than 1e-12."""
    length = np.sqrt(np.einsum("...c,...c->...", directions, directions))[..., None]
    return np.asarray(np.where(length > 1e-12, directions / np.maximum(length, 1e-12), [1.0, 0.0, 0.0]))
