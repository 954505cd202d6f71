"""Runs of one direction sequence as a linear family.

With the directions fixed, the straights s of a run between two mouths solve

    sum s_j d_j = b,   s_j >= least_j,

and its length is their sum plus a constant. Written about the shortest such run, the others are
u = u0 + Z f with u = s - least and f >= 0 the straights outside an optimal basis of the linear
program; every f then costs c >= 0 a millimetre. Bends and ends of straights shift linearly in f.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from layout3d.tubes.route.directions import Directions, Indices
from shapes.pose import Array

#: Prices this far below zero are zero.
_FLAT = 1e-9
_FEASIBLE_MM = 1e-7
#: Free straights a family of up to four bends can have.
FREE = 3


@dataclass(frozen=True, slots=True, eq=False)
class Families:
    """Families of ``bends`` bends; F of them, J = bends + 1 straights.

    directions : (F, J, 3)
    angle : (F, bends) [radians]
    least, most : (F, J) least straights; how much longer each may be [mm]
    u0 : (F, J), Z : (F, J, 3), cost : (F,), rate : (F, 3) as above; cost counts bends too
    starts, ends : (F, J, 3) where straights start and end at f = 0
    start_moves, end_moves : (F, J, 3, 3) how they shift with each f
    """

    bends: int
    radius: float
    directions: Array
    angle: Array
    least: Array
    most: Array
    u0: Array
    Z: Array
    cost: Array
    rate: Array
    starts: Array
    ends: Array
    start_moves: Array
    end_moves: Array

    def __len__(self) -> int:
        return len(self.cost)

    def corners(self, family: int, f: Array) -> Array:
        """The run's vertices (bends, 3) between its mouths."""
        tangent = self.radius * np.tan(0.5 * self.angle[family])
        ends = self.ends[family, :-1] + self.end_moves[family, :-1] @ f
        corners: Array = ends + tangent[:, None] * self.directions[family, :-1]
        return corners


def families(
    known: Directions,
    chains: Indices,
    start: Array,
    end: Array,
    radius: float,
    least: Array,
    most: Array,
    bend_cost: float,
) -> Families:
    """The families of these chains of directions (S, J) that reach from ``start`` to ``end``.

    least, most : (J,) least length of each straight, most it may be longer [mm]
    """
    bends = chains.shape[1] - 1
    directions = known.vectors[chains]
    angle = np.radians(known.angle[chains[:, :-1], chains[:, 1:]])
    over_bends = (radius * np.tan(0.5 * angle))[..., None] * (directions[:, :-1] + directions[:, 1:])
    target = end - start - over_bends.sum(axis=1) - np.einsum("j,sji->si", least, directions)
    which, u0, Z, rate = _shortest(known, chains, target)
    directions, over_bends, angle = directions[which], over_bends[which], angle[which]
    steps = (least + u0)[..., None] * directions
    moves = directions[..., None] * Z[:, :, None, :]
    starts = start + np.concatenate(
        (np.zeros((len(which), 1, 3)), np.cumsum(steps[:, :-1] + over_bends, 1)), 1
    )
    start_moves = np.concatenate((np.zeros((len(which), 1, 3, FREE)), np.cumsum(moves[:, :-1], 1)), 1)
    length = (least + u0).sum(axis=1) + radius * angle.sum(axis=1)
    return Families(
        bends=bends,
        radius=radius,
        directions=directions,
        angle=angle,
        least=np.broadcast_to(least, u0.shape),
        most=np.broadcast_to(most, u0.shape),
        u0=u0,
        Z=Z,
        cost=length + bend_cost * bends,
        rate=rate,
        starts=starts,
        ends=starts + steps,
        start_moves=start_moves,
        end_moves=start_moves + moves,
    )


def _shortest(known: Directions, chains: Indices, target: Array) -> tuple[Indices, Array, Array, Array]:
    """The shortest solution u0 >= 0 of sum u_j d_j = target (S, 3) for each chain that has one.

    Returns which chains, u0 (F, J), Z (F, J, 3) and rate (F, 3), the dearest free straight first.
    A basis is optimal where both its solution and its prices are not negative.
    """
    count, straights = chains.shape
    found = np.zeros(count, dtype=bool)
    u0, Z, rate = np.zeros((count, straights)), np.zeros((count, straights, FREE)), np.zeros((count, FREE))
    rank = _rank(known, chains)
    for size in (3, 2):  # a bend makes two directions
        for basis in itertools.combinations(range(straights), size):
            columns = chains[:, basis]
            regular = known.independent[size][tuple(columns.T)]
            todo = np.flatnonzero(~found & (rank == size) & regular)
            free = [j for j in range(straights) if j not in basis]
            inverse = known.inverse[size][tuple(columns[todo].T)]
            reaction = np.einsum("sbi,sji->sbj", inverse, known.vectors[chains[todo][:, free]])
            price = 1.0 - reaction.sum(axis=1)
            basic = np.einsum("sbi,si->sb", inverse, target[todo])
            rest = target[todo] - np.einsum("sb,sbi->si", basic, known.vectors[columns[todo]])
            good = (
                (basic >= -_FEASIBLE_MM).all(axis=1)
                & (np.abs(rest) <= _FEASIBLE_MM).all(axis=1)
                & (price >= -_FLAT).all(axis=1)
            )
            todo, reaction, price, basic = todo[good], reaction[good], price[good], basic[good]
            found[todo] = True
            u0[todo[:, None], basis] = np.maximum(basic, 0.0)
            dearest = np.argsort(-price, axis=1, kind="stable")
            for place in range(len(free)):
                column = dearest[:, place]
                row = np.arange(len(todo))
                Z[todo, np.array(free)[column], place] = 1.0
                Z[todo[:, None], basis, place] = -reaction[row, :, column]
                rate[todo, place] = np.maximum(price[row, column], 0.0)
    which = np.flatnonzero(found)
    return which, u0[which], Z[which], rate[which]


def _rank(known: Directions, chains: Indices) -> Indices:
    """How many independent directions each chain has."""
    rank = np.ones(len(chains), dtype=np.intp)
    for size in (2, 3):
        for some in itertools.combinations(range(chains.shape[1]), size):
            rank = np.where(known.independent[size][tuple(chains[:, some].T)], size, rank)
    return rank
