"""The certified worst case of every pair: the least room at any lengths within their tolerances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.kernels.front import box_room
from layout3d.kernels.measure import CONTACT_MM
from layout3d.kernels.pieces import Bools, Ints
from layout3d.tolerance.bounding import Rows, least_rooms
from layout3d.tolerance.pairs import Moving, Pair
from layout3d.tolerance.reach import Cells, swept_boxes, worst_corner
from shapes.pose import Array, Vec3, as_vec3
from shapes.primitives import Mesh

#: Pairs bounded in one go.
_BATCH = 200
#: Stretches of arcs and bays taken again where the first do not prove a pair: these stand off a 64th as far.
_FINER = 8


@dataclass(frozen=True, slots=True, eq=False)
class Left:
    """R pairs of cells that were not proved to keep ``enough`` mm.

    direction, room : (R, 3) and (R,) what was proved of each [mm]
    """

    a: Cells
    b: Cells
    direction: Array
    room: Array
    enough: float


@dataclass(frozen=True, slots=True, eq=False)
class WorstCase:
    """What is proved of one pair.

    room_mm : nowhere within the tolerances are the two nearer; negative: they may overlap by that much
    shares : (N,) what each length adds to the doubt at the worst place, at most [mm]
    corner : (N,) offsets of the lengths there [mm]
    direction : from the first to the second, along which the room is proved
    left : the cells that were not proved to keep the gap; None where all were
    """

    room_mm: float
    shares: Array
    corner: Array
    direction: Vec3
    left: Left | None = None


def worst_cases(pairs: Sequence[Pair], low: Array, high: Array) -> list[WorstCase]:
    """Every pair over the box ``low`` to ``high`` (N,) of offsets [mm].

    A pair is followed up only until it is proved to keep its gap: then ``room_mm`` may be a lower bound
    far below its least room.
    """
    found: list[WorstCase] = []
    for start in range(0, len(pairs), _BATCH):
        batch = pairs[start : start + _BATCH]
        told = _bounded(batch, low, high, 1)
        again = [n for n, worst in enumerate(told) if worst.room_mm < batch[n].required - CONTACT_MM]
        again = [n for n in again if _curved(batch[n].first) or _curved(batch[n].second)]
        if again:
            for n, worst in zip(again, _bounded([batch[n] for n in again], low, high, _FINER), strict=True):
                told[n] = worst
        found += told
    return found


def _curved(moving: Moving) -> bool:
    return bool((moving.body.pieces.kind != 0).any())


def _bounded(pairs: Sequence[Pair], low: Array, high: Array, finer: int) -> list[WorstCase]:
    enough = np.array([pair.required + _off(pair) - CONTACT_MM for pair in pairs])
    cells, rows = _rows(pairs, low, high, enough, finer)
    told: list[WorstCase] = []
    nothing = np.zeros(len(low))
    if cells is not None:
        rows = least_rooms(cells, rows, enough)
    order = np.lexsort((rows.room, rows.pair))
    firsts = dict(zip(rows.pair[order][::-1].tolist(), order[::-1].tolist(), strict=True))
    for n, pair in enumerate(pairs):
        if (row := firsts.get(n)) is None:
            told.append(WorstCase(float(enough[n]) - _off(pair), nothing, nothing, (1.0, 0.0, 0.0)))
            continue
        slope = rows.slope[row]
        corner = worst_corner(slope, low, high)
        room = float(rows.room[row]) - _off(pair)
        left = None if cells is None else _left(cells, rows, n, float(enough[n]))
        told.append(WorstCase(room, slope * corner, corner, as_vec3(rows.direction[row]), left))
    return told


def _left(cells: Cells, rows: Rows, pair: int, enough: float) -> Left | None:
    open_ = np.flatnonzero((rows.pair == pair) & (rows.room < enough))
    if not len(open_):
        return None
    open_ = open_[np.argsort(rows.room[open_], kind="stable")]
    _, once = np.unique(np.stack([rows.a[open_], rows.b[open_]]), axis=1, return_index=True)
    some = rows.take(open_[once])
    return Left(cells.take(some.a), cells.take(some.b), some.direction, some.room, enough)


def _off(pair: Pair) -> float:
    """How far the true surfaces may lie from those measured [mm]."""
    solids = (pair.first.body.primitive, pair.second.body.primitive)
    return sum(solid.deviation for solid in solids if isinstance(solid, Mesh))


def _rows(
    pairs: Sequence[Pair], low: Array, high: Array, enough: Array, finer: int
) -> tuple[Cells | None, Rows]:
    """The cells of all pairs and every two of them whose swept boxes do not prove the gap by themselves."""
    tables: list[Cells] = []
    places: list[tuple[Ints, Ints, Ints]] = []
    made: dict[int, tuple[Cells, Array, Array]] = {}
    count = 0
    for n, pair in enumerate(pairs):
        sides = []
        for moving in (pair.first, pair.second):
            if id(moving) not in made:
                cells = moving.cells(finer)
                made[id(moving)] = (cells, *swept_boxes(cells, low, high))
            sides.append(made[id(moving)])
        (a, low_a, high_a), (b, low_b, high_b) = sides
        near_a = _near(low_a, high_a, low_b.min(axis=0), high_b.max(axis=0), enough[n])
        near_b = _near(low_b, high_b, low_a.min(axis=0), high_a.max(axis=0), enough[n])
        i, j = (
            index.ravel() for index in np.meshgrid(near_a.nonzero()[0], near_b.nonzero()[0], indexing="ij")
        )
        close = box_room(low_a[i], high_a[i], low_b[j], high_b[j])[0] < enough[n]
        i, j = i[close], j[close]
        if not len(i):
            continue
        used_a, at_a = np.unique(i, return_inverse=True)
        used_b, at_b = np.unique(j, return_inverse=True)
        tables += [a.take(used_a), b.take(used_b)]
        places.append((np.full(len(i), n), at_a + count, at_b + count + len(used_a)))
        count += len(used_a) + len(used_b)
    empty = np.empty(0, dtype=np.intp)
    if not tables:
        return None, Rows.start(empty, empty, empty, low, high)
    pair_of, first, second = (np.concatenate(each) for each in zip(*places, strict=True))
    return Cells.joined(tables), Rows.start(pair_of, first, second, low, high)


def _near(low: Array, high: Array, other_low: Array, other_high: Array, gap: float) -> Bools:
    """Which boxes come within a gap of another box."""
    reach = max(gap, 0.0)
    return np.asarray(((low <= other_high + reach) & (other_low <= high + reach)).all(axis=1))
