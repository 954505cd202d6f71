"""Paths given by legs, and the lengths of those left open."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layout3d.scene.paths import Leg
from layout3d.tubes.vectors import along
from layout3d.words import mm, toward
from shapes.pose import Vec3

#: Open legs this nearly dependent on each other or on the last leg have no one length.
_DEPENDENT = 1e-6
_SHORTEST_MM = 1e-6


def leg_ends(start: Vec3, end: Vec3, arrival: Vec3, legs: Sequence[Leg]) -> tuple[Vec3, ...]:
    """The corners [mm] that legs from ``start`` lead to; the last leg, not listed, runs on to ``end``.

    arrival : unit, the way the tube arrives at ``end``
    Open legs get the lengths that bring the last corner onto the far port's axis, or as near to
    it as their directions can. Raises ValueError where those lengths are not determined (an open
    leg along the arrival, or two along one line) or a leg would have to run backwards.
    """
    lengths = [leg.length for leg in legs]
    if None in lengths:
        solved = _open_lengths(start, end, arrival, legs)
        lengths = [solved.pop(0) if length is None else length for length in lengths]
        _refuse_backward(legs, lengths)
    points = [start]
    for leg, length in zip(legs, lengths, strict=True):
        points.append(along(points[-1], leg.direction, length or 0.0))
    return tuple(points[1:])


def _refuse_backward(legs: Sequence[Leg], lengths: Sequence[float | None]) -> None:
    for number, (leg, length) in enumerate(zip(legs, lengths, strict=True), start=1):
        if leg.length is None and length is not None and length < _SHORTEST_MM:
            back = toward((-leg.direction[0], -leg.direction[1], -leg.direction[2]))
            how = f"would have to run {mm(-length)} {back}" if length < -_SHORTEST_MM else "has no length"
            raise ValueError(f"leg {number}, left open, {how} to line up with the far port")


def _open_lengths(start: Vec3, end: Vec3, arrival: Vec3, legs: Sequence[Leg]) -> list[float]:
    known = sum(
        (np.multiply(leg.direction, leg.length) for leg in legs if leg.length is not None), np.zeros(3)
    )
    # start + known + sum(length * direction) + last * arrival = end, least squares.
    columns = [leg.direction for leg in legs if leg.length is None] + [arrival]
    matrix = np.array(columns, dtype=float).T
    if np.linalg.matrix_rank(matrix, tol=_DEPENDENT) < len(columns):
        open_legs = " and ".join(f"leg {n}" for n, leg in enumerate(legs, 1) if leg.length is None)
        raise ValueError(f"the far port's axis does not settle how long {open_legs} should be: give a length")
    solved = np.linalg.lstsq(matrix, np.subtract(end, start) - known, rcond=None)[0]
    return [float(value) for value in solved[:-1]]
