"""Centrelines: corners or a bend table to exact straights and arcs, and back to a bend table.

A bend of angle theta and radius R at a corner starts R tan(theta / 2) before it and is R theta
long (the set-back and arc of tube bending). The turn of a bend is the angle from the plane of
the bend before to its own, right hand about the direction of travel.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from layout3d.layout import Bend
from layout3d.tubes.vectors import (
    add,
    along,
    angle,
    cross,
    dot,
    half_tangent,
    minus,
    square_to,
    times,
    turned,
    unit,
)
from shapes.pose import Vec3, as_vec3
from shapes.primitives import Arc, Straight

Piece: TypeAlias = Straight | Arc

#: A corner that turns by less is none [radians]: the contract's 1e-6 degrees.
NO_TURN = math.radians(1e-6)
#: A straight shorter than this is left out [mm]; it is below what the pieces' ends are exact to.
_NO_LENGTH = 1e-9


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a bend table as it is given: straight before the bend, turn, angle, radius."""

    straight_mm: float
    turn_deg: float
    bend_deg: float
    radius_mm: float


def start_of(piece: Piece) -> tuple[Vec3, Vec3]:
    """Where a piece starts [mm] and which way it runs there (unit)."""
    if isinstance(piece, Arc):
        return along(piece.centre, piece.outward, piece.radius), piece.along
    return piece.start, unit(minus(piece.end, piece.start))


def end_of(piece: Piece) -> tuple[Vec3, Vec3]:
    """Where a piece ends [mm] and which way it runs there (unit)."""
    if isinstance(piece, Straight):
        return piece.end, unit(minus(piece.end, piece.start))
    spoke, direction = _turned_spokes(piece, piece.angle)
    return along(piece.centre, spoke, piece.radius), direction


def _turned_spokes(arc: Arc, angle_rad: float) -> tuple[Vec3, Vec3]:
    """From the centre out to the point at an angle, and the direction of travel there."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return (
        add(times(arc.outward, cos), times(arc.along, sin)),
        add(times(arc.outward, -sin), times(arc.along, cos)),
    )


def part_of(pieces: Iterable[Piece], low_mm: float, high_mm: float) -> tuple[Piece, ...]:
    """The stretch of a centreline between two distances from its start [mm]."""
    part: list[Piece] = []
    for piece in pieces:
        low, high = max(low_mm, 0.0), min(high_mm, piece.length)
        low_mm, high_mm = low_mm - piece.length, high_mm - piece.length
        if high - low > _NO_LENGTH:
            part.append(_cut(piece, low, high))
    return tuple(part)


def _cut(piece: Piece, low: float, high: float) -> Piece:
    if high - low >= piece.length:
        return piece
    if isinstance(piece, Straight):
        start, direction = start_of(piece)
        return Straight(along(start, direction, low), along(start, direction, high))
    spoke, direction = _turned_spokes(piece, low / piece.radius)
    return Arc(piece.centre, spoke, direction, piece.radius, (high - low) / piece.radius)


def arc_from(start: Vec3, direction: Vec3, inward: Vec3, radius: float, angle_rad: float) -> Arc:
    """The arc that leaves ``start`` along ``direction`` and bends to ``inward`` (unit, square to it)."""
    return Arc(along(start, inward, radius), times(inward, -1.0), direction, radius, angle_rad)


def straight_between(start: Vec3, end: Vec3) -> tuple[Straight, ...]:
    """The straight from ``start`` to ``end``; nothing where they are one point."""
    return (Straight(start, end),) if math.dist(start, end) > _NO_LENGTH else ()


def length_mm(pieces: Iterable[Piece]) -> float:
    """Length along the centreline [mm]."""
    return math.fsum(piece.length for piece in pieces)


def reversed_pieces(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """The same centreline run the other way."""
    back: list[Piece] = []
    for piece in reversed(pieces):
        if isinstance(piece, Straight):
            back.append(Straight(piece.end, piece.start))
        else:
            point, direction = end_of(piece)
            inward = times(minus(piece.centre, point), 1.0 / piece.radius)
            back.append(arc_from(point, times(direction, -1.0), inward, piece.radius, piece.angle))
    return tuple(back)


def rounded(points: Sequence[Vec3], radii: Sequence[float]) -> tuple[Piece, ...]:
    """The centreline through ``points`` with every inner point rounded.

    points : at least 2, no two neighbours in one place, no fold back on itself [mm]
    radii : one per inner point; the set-backs must fit between the points [mm]
    """
    pieces: list[Piece] = []
    here = points[0]
    for before, corner, after, radius in zip(points, points[1:], points[2:], radii, strict=False):
        arriving, leaving = unit(minus(corner, before)), unit(minus(after, corner))
        turn = angle(arriving, leaving)
        if turn < NO_TURN:
            continue
        setback = radius * half_tangent(arriving, leaving)
        start = along(corner, arriving, -setback)
        pieces += straight_between(here, start)
        pieces.append(arc_from(start, arriving, square_to(arriving, leaving), radius, turn))
        here = along(corner, leaving, setback)
    pieces += straight_between(here, points[-1])
    return tuple(pieces)


def from_table(
    rows: Sequence[Row], last_mm: float, start: Vec3, direction: Vec3, normal: Vec3
) -> tuple[Piece, ...]:
    """The centreline of a bend table.

    start, direction : where it starts [mm] and which way it leaves (unit)
    normal : the plane from which the first turn counts, as its unit normal square to
        ``direction``; a bend goes right hand about its plane's normal
    """
    pieces: list[Piece] = []
    here = start
    for row in rows:
        normal = turned(normal, direction, row.turn_deg)
        bend_start = along(here, direction, row.straight_mm)
        pieces += straight_between(here, bend_start)
        pieces.append(
            arc_from(
                bend_start, direction, cross(normal, direction), row.radius_mm, math.radians(row.bend_deg)
            )
        )
        here, direction = end_of(pieces[-1])
    pieces += straight_between(here, along(here, direction, last_mm))
    return tuple(pieces)


def bend_table(pieces: Sequence[Piece], insertion_mm: float = 0.0) -> tuple[tuple[Bend, ...], float]:
    """The bend table of a centreline, and the straight left after its last bend [mm].

    ``insertion_mm`` goes into the fitting at the start; every mark counts it in. Turns are in
    (-180, 180] degrees, the first is 0.
    """
    bends: list[Bend] = []
    straight, mark = 0.0, insertion_mm
    normal: Vec3 | None = None
    for piece in pieces:
        if isinstance(piece, Straight):
            straight += piece.length
        else:
            own_normal = cross(piece.outward, piece.along)
            turn = 0.0 if normal is None else _turn_deg(normal, own_normal, piece.along)
            mark += straight
            bends.append(Bend(straight, turn, math.degrees(piece.angle), piece.radius, mark))
            mark += piece.length
            straight, normal = 0.0, own_normal
    return tuple(bends), straight


def _turn_deg(before: Vec3, after: Vec3, travel: Vec3) -> float:
    turn = math.degrees(math.atan2(dot(cross(before, after), travel), dot(before, after)))
    # 180 and -180 are one turn; rounding must not decide which is printed.
    return 180.0 if abs(turn) > 180.0 - 1e-10 else turn + 0.0


def corners_of(pieces: Sequence[Piece]) -> tuple[Vec3, ...] | None:
    """Where the straights would meet [mm]; None where a bend of 180 degrees has none."""
    corners: list[Vec3] = []
    for piece in pieces:
        if isinstance(piece, Arc):
            if piece.angle > math.pi - NO_TURN:
                return None
            start, direction = start_of(piece)
            corners.append(as_vec3(along(start, direction, piece.radius * math.tan(piece.angle / 2.0))))
    return tuple(corners)
