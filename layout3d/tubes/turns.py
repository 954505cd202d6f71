"""The shortest arc, straight and arc of one radius between two rays in space.

Of curves that leave and arrive in given directions and nowhere bend tighter than a radius R,
the shortest are, for ends well apart, an arc of radius R, a straight, and another arc of
radius R (Dubins 1957 in the plane; Sussmann 1995 in space).

With the straight along the unit vector u, an arc from direction t to u ends
R tan(theta / 2) (t + u) further on, so that for ends ``offset`` apart

    offset = R tan(theta_1 / 2) (t_1 + u) + s u + R tan(theta_2 / 2) (u + t_2),   s >= 0.

What remains of ``offset`` after the t-terms must run along u: two equations on the sphere,
solved by Newton's method from guesses all round it. A bend may go the short way round or the
long one (theta above 180 degrees, its tangent negative): four ways for two bends.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from layout3d.tubes.centreline import NO_TURN, Piece, arc_from, length_mm, reversed_pieces, straight_between
from layout3d.tubes.vectors import (
    add,
    along,
    angle,
    any_square_to,
    cross,
    dot,
    half_tangent,
    minus,
    norm,
    square_to,
    times,
    unit,
)
from shapes.pose import Array, Vec3, as_vec3

#: A bend goes the short way (1) or the long way round (-1), first bend and last.
Way: TypeAlias = tuple[int, int]
WAYS: tuple[Way, ...] = ((1, 1), (1, -1), (-1, 1), (-1, -1))
SHORT_WAY = WAYS[:1]
#: The most one bend may turn: further round, a hose runs into itself [radians].
MOST_BEND = math.radians(270.0)

#: A place and the unit direction of travel there.
Ray: TypeAlias = tuple[Vec3, Vec3]

#: How far apart the pieces of an accepted curve may end [mm].
CLOSURE_MM = 1e-9
#: A shorter straight is left out: rounding would say which way it runs [mm].
SHORTEST_STRAIGHT_MM = 1e-7
#: Largest tangent of half a bend that is still exact: within 2e-6 radians of a half-turn.
_MOST_TAU = 1e6
_MOST_STEPS = 20
_LONGEST_STEP = 0.5


def _sphere(count: int) -> Array:
    """``count`` unit vectors spread evenly, on a spiral."""
    k = np.arange(count) + 0.5
    z = 1.0 - 2.0 * k / count
    azimuth = k * math.pi * (3.0 - math.sqrt(5.0))
    flat = np.sqrt(1.0 - z * z)
    return np.column_stack((flat * np.cos(azimuth), flat * np.sin(azimuth), z))


_GUESSES = _sphere(8)
#: How far off a half-turn the guesses near it begin.
_TILT = 0.2


def shortest_turns(
    start: Ray, end: Ray, radius: float, ways: Sequence[Way] = WAYS
) -> tuple[Piece, ...] | None:
    """The shortest such curve with bends of at most 270 degrees; None where there is none.

    Its least radius is ``radius``; a bend that does not turn and a straight of no length are
    left out.
    """
    begin, leave, finish, arrive = (np.array([vector]) for vector in (*start, *end))
    solved = all_turns(begin, leave, finish, arrive, radius, ways)
    found = (_curve(start, end, radius, u, way) for u, way in solved.by_length(0))
    curves = [next((curve for curve in found if curve is not None), None)]
    curves += [_folded_twice(start, end, radius), _folded_first(start, end, radius)]
    back = _folded_first(_turned_round(end), _turned_round(start), radius)
    curves.append(None if back is None else reversed_pieces(back))
    return min((curve for curve in curves if curve is not None), key=length_mm, default=None)


@dataclass(frozen=True, slots=True)
class Solved:
    """What Newton's method found for n pairs of rays from g guesses each.

    directions : of the straights (n, g, 3)
    lengths : of the curves (n, g) [mm], infinite where a guess led to none
    ways : as in WAYS, each for an equal share of the guesses
    """

    directions: Array
    lengths: Array
    ways: Sequence[Way]

    def by_length(self, k: int) -> Iterator[tuple[Vec3, Way]]:
        """Directions and ways of the curves of pair k, the shortest first."""
        share = self.lengths.shape[1] // len(self.ways)
        for guess in np.argsort(self.lengths[k], kind="stable"):
            if self.lengths[k, guess] < math.inf:
                yield as_vec3(self.directions[k, guess]), self.ways[guess // share]


def all_turns(
    starts: Array,
    leaves: Array,
    ends: Array,
    arrives: Array,
    radius: float,
    ways: Sequence[Way] = SHORT_WAY,
) -> Solved:
    """Newton's method for n pairs of rays at once; each array is (n, 3), directions unit."""
    offset = (ends - starts)[:, None, :]
    leave, arrive = leaves[:, None, :], arrives[:, None, :]
    guesses = _first_guesses(offset, leave, arrive, radius)
    u = np.concatenate([guesses] * len(ways), axis=1)
    way = np.repeat(np.array(ways, dtype=float), guesses.shape[1], axis=0)
    bends = (_Bends(leave, way[:, 0] * radius), _Bends(arrive, way[:, 1] * radius))
    scale = radius + np.sqrt((offset * offset).sum(-1))
    for _ in range(_MOST_STEPS):
        step, miss = _newton_step(u, offset, bends)
        if not (miss > 1e-13 * scale).any():
            break
        u = u + step
        u = u / np.sqrt((u * u).sum(-1, keepdims=True))
    return Solved(u, _curve_lengths(u, offset, bends, radius, scale), ways)


@dataclass(frozen=True, slots=True)
class _Bends:
    """One end's bends: between ``axis`` and u, their radius negative for the long way round."""

    axis: Array
    radius: Array

    def at(self, u: Array) -> tuple[Array, Array]:
        """Cosine of the angle between axis and u, and the tangent of half of it."""
        cos = (u * self.axis).sum(-1)
        return cos, np.sqrt(np.maximum(1.0 - cos, 0.0) / np.maximum(1.0 + cos, 1e-14))


def _first_guesses(offset: Array, leave: Array, arrive: Array, radius: float) -> Array:
    """(n, g, 3): across, with both bends taken off, all round, and about the near half-turns."""
    across = np.concatenate((offset, offset - radius * (leave + arrive)), 1)
    around = np.broadcast_to(_GUESSES, (len(offset), *_GUESSES.shape))
    tilts = _TILT * _GUESSES[::2]
    guesses = np.concatenate((across, around, tilts - leave, tilts - arrive), 1)
    size = np.sqrt((guesses * guesses).sum(-1, keepdims=True))
    return np.where(size > 1e-9, guesses / np.maximum(size, 1e-9), leave)


def _rest(u: Array, offset: Array, bends: tuple[_Bends, _Bends]) -> Array:
    """What remains of the offset for the terms along u (n, g, 3)."""
    for bend in bends:
        offset = offset - (bend.radius * bend.at(u)[1])[..., None] * bend.axis
    return offset


def _newton_step(u: Array, offset: Array, bends: tuple[_Bends, _Bends]) -> tuple[Array, Array]:
    """The step of u in its tangent plane (n, g, 3), and how far the rest is off u (n, g) [mm].

    Newton's method on the slope of the rest against u, not on its distance off u: the slope
    stays bounded where a bend nears 180 degrees and its tangent runs off to infinity.
    """
    rest = _rest(u, offset, bends)
    ahead = (rest * u).sum(-1)
    ahead = np.where(np.abs(ahead) < 1e-9, 1e-9, ahead)
    first, second = _tangent_frame(u)
    r1, r2 = (rest * first).sum(-1), (rest * second).sum(-1)
    # Changes with u: of the rest across u (symmetric, j), and along u (h).
    j11, j12, j22, h1, h2 = -ahead, np.zeros_like(ahead), -ahead, r1, r2
    for bend in bends:
        cos, tau = bend.at(u)
        gain = bend.radius / np.maximum(tau * (1.0 + cos) ** 2, 1e-12)
        a, b = (first * bend.axis).sum(-1), (second * bend.axis).sum(-1)
        j11, j12, j22 = j11 + gain * a * a, j12 + gain * a * b, j22 + gain * b * b
        h1, h2 = h1 + gain * cos * a, h2 + gain * cos * b
    slope_1, slope_2 = r1 / ahead, r2 / ahead
    a11, a12 = j11 - slope_1 * h1, j12 - slope_1 * h2
    a21, a22 = j12 - slope_2 * h1, j22 - slope_2 * h2
    # Least squares, a trace damped: ends on one axis have a ring of solutions, and no slope along it.
    damping = 1e-12 * (a11 * a11 + a12 * a12 + a21 * a21 + a22 * a22)
    n11, n12, n22 = a11 * a11 + a21 * a21 + damping, a11 * a12 + a21 * a22, a12 * a12 + a22 * a22 + damping
    g1, g2 = a11 * r1 + a21 * r2, a12 * r1 + a22 * r2
    determinant = np.maximum(n11 * n22 - n12 * n12, 1e-300)
    d1, d2 = (n12 * g2 - n22 * g1) / determinant, (n12 * g1 - n11 * g2) / determinant
    shrink = _LONGEST_STEP / np.maximum(np.hypot(d1, d2), _LONGEST_STEP)
    return (shrink * d1)[..., None] * first + (shrink * d2)[..., None] * second, np.hypot(r1, r2)


def _curve_lengths(
    u: Array, offset: Array, bends: tuple[_Bends, _Bends], radius: float, scale: Array
) -> Array:
    rest = _rest(u, offset, bends)
    straight = (rest * u).sum(-1)
    miss = np.sqrt(np.maximum((rest * rest).sum(-1) - straight * straight, 0.0))
    length, sound = straight, miss <= 1e-6 * scale
    for bend in bends:
        tau = bend.at(u)[1]
        turn = 2.0 * np.arctan(tau)
        turn = np.where(bend.radius > 0.0, turn, 2.0 * math.pi - turn)
        straight = straight - bend.radius * tau
        length = length - bend.radius * tau + radius * turn
        # Nearer a half-turn the tangent is capped and its roots are not ones; `_folded_first` looks there.
        sound &= (turn <= MOST_BEND) & (tau < _MOST_TAU)
    return np.where(sound & (straight >= -CLOSURE_MM), length, math.inf)


def _tangent_frame(u: Array) -> tuple[Array, Array]:
    """Two unit vectors square to each u and to each other (Duff et al. 2017)."""
    x, y, z = u[..., 0], u[..., 1], u[..., 2]
    sign = np.where(z >= 0.0, 1.0, -1.0)
    a = -1.0 / (sign + z)
    b = x * y * a
    first = np.stack((1.0 + sign * x * x * a, sign * b, -sign * x), -1)
    return first, np.stack((b, sign + y * y * a, -y), -1)


def _curve(start: Ray, end: Ray, radius: float, u: Vec3, ways: Way) -> tuple[Piece, ...] | None:
    """The exact pieces for a straight along u; None where they do not close."""
    (from_point, leave), (to_point, arrive) = start, end
    if angle(leave, u) > math.pi - NO_TURN or angle(u, arrive) > math.pi - NO_TURN:
        return None
    straight_start, first = _bend(from_point, leave, u, radius, ways[0])
    # The last bend is found from its far end, travelling back.
    straight_end, last = _bend(to_point, times(arrive, -1.0), times(u, -1.0), radius, ways[1])
    way = minus(straight_end, straight_start)
    aside = norm(cross(way, u))
    if dot(way, u) < -CLOSURE_MM or aside > min(CLOSURE_MM, max(1e-12, 1e-7 * norm(way))):
        return None
    straight = straight_between(straight_start, straight_end) if norm(way) > SHORTEST_STRAIGHT_MM else ()
    return (*first, *straight, *reversed_pieces(last))


def _bend(point: Vec3, leave: Vec3, u: Vec3, radius: float, way: int) -> tuple[Vec3, tuple[Piece, ...]]:
    """Where the bend from ``leave`` to u ends, and its arc, none where it does not turn."""
    turn = angle(leave, u)
    if turn < NO_TURN:
        return point, ()
    tangent = way * radius * half_tangent(leave, u)
    inward = times(square_to(leave, u), way)
    arc = arc_from(point, leave, inward, radius, turn if way > 0 else 2.0 * math.pi - turn)
    return along(along(point, leave, tangent), u, tangent), (arc,)


def _folded_first(start: Ray, end: Ray, radius: float) -> tuple[Piece, ...] | None:
    """A half-turn, a straight back, and a bend: Newton's method cannot hold its first direction."""
    (from_point, leave), (to_point, arrive) = start, end
    back = times(leave, -1.0)
    tangent = radius * half_tangent(back, arrive)
    if not math.isfinite(tangent) or tangent > 1e6 * radius:
        return None
    bend_start = along(along(to_point, arrive, -tangent), back, -tangent)
    way = minus(bend_start, from_point)
    aside = minus(way, times(leave, dot(way, leave)))
    if abs(norm(aside) - 2.0 * radius) > CLOSURE_MM or dot(way, back) < 0.0:
        return None
    half_turn = arc_from(from_point, leave, unit(aside), radius, math.pi)
    straight = straight_between(add(from_point, aside), bend_start)
    bend = angle(back, arrive)
    last = (arc_from(bend_start, back, square_to(back, arrive), radius, bend),) if bend >= NO_TURN else ()
    return (half_turn, *straight, *last)


def _folded_twice(start: Ray, end: Ray, radius: float) -> tuple[Piece, ...] | None:
    """Two half-turns and a straight back between them, for one direction at both ends."""
    (from_point, leave), (to_point, arrive) = start, end
    way = minus(to_point, from_point)
    aside = minus(way, times(leave, dot(way, leave)))
    back = -dot(way, leave)
    # A straight too short to say which way it runs would not follow on tangentially.
    unclear = CLOSURE_MM < back < 1e-4
    if angle(leave, arrive) >= NO_TURN or norm(aside) > 4.0 * radius or back < -CLOSURE_MM or unclear:
        return None
    toward = unit(aside) if norm(aside) > 1e-11 else any_square_to(leave)
    reach = norm(aside) / (4.0 * radius)
    out = times(cross(leave, toward), math.sqrt(1.0 - reach * reach))
    first, second = add(times(toward, reach), out), minus(times(toward, reach), out)
    turned = along(from_point, first, 2.0 * radius)
    turning = along(to_point, second, -2.0 * radius)
    straight = straight_between(turned, turning) if back > CLOSURE_MM else ()
    return (
        arc_from(from_point, leave, first, radius, math.pi),
        *straight,
        arc_from(turning, times(leave, -1.0), second, radius, math.pi),
    )


def _turned_round(ray: Ray) -> Ray:
    return ray[0], times(ray[1], -1.0)
