"""Pieces of tube out of bought lengths: as few of these as there can be, and what is left of each."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np

#: Fits that miss by less are fits [mm].
_TOLERANCE_MM = 1e-6
#: Ways to fill one length, more of which are not written out.
_MOST_FILLINGS = 20_000
#: Work spent on one question of the integer program where there are more.
_MOST_NODES = 50_000


@dataclass(frozen=True, slots=True)
class Length:
    """One bought length: which pieces are sawn off it, in order, and what is left [mm]."""

    pieces: tuple[str, ...]
    left_mm: float


@dataclass(frozen=True, slots=True)
class Cutting:
    """All pieces of one tubing.

    too_long : pieces no bought length yields
    fewest : proved that no fewer lengths would do
    """

    stock_mm: float
    kerf_mm: float
    lengths: tuple[Length, ...]
    too_long: tuple[str, ...]
    fewest: bool

    @property
    def waste_mm(self) -> float:
        """What is left of all lengths together; saw cuts are not counted in [mm]."""
        return math.fsum(length.left_mm for length in self.lengths)


def cut_from(pieces: Sequence[tuple[str, float]], stock_mm: float, kerf_mm: float) -> Cutting:
    """The pieces (name, length to saw [mm]) out of as few lengths of ``stock_mm`` as there can be.

    Every piece but one that ends where its length does takes a saw cut. Exact: sorted filling
    gives a plan, a bound says whether fewer could do, and only then an integer program is solved.
    """
    too_long = tuple(name for name, size in pieces if size > stock_mm + _TOLERANCE_MM)
    fitting = sorted((piece for piece in pieces if piece[0] not in too_long), key=lambda piece: -piece[1])
    sizes = [size + kerf_mm for _, size in fitting]
    room = stock_mm + kerf_mm + _TOLERANCE_MM
    bins = _first_fit(sizes, room)
    fewest = len(bins) <= least_lengths(sizes, room)
    if not fewest:
        solved = _solved(sizes, room, len(bins))
        bins, fewest = (bins, False) if solved is None else (solved, True)
    lengths = [
        Length(
            tuple(fitting[k][0] for k in held),
            max(stock_mm - math.fsum(sizes[k] for k in held), 0.0),
        )
        for held in bins
    ]
    return Cutting(stock_mm, kerf_mm, tuple(lengths), too_long, fewest)


def _first_fit(sizes: Sequence[float], room: float) -> list[list[int]]:
    """Longest first, each into the first length that has room for it."""
    bins: list[list[int]] = []
    for k, size in enumerate(sizes):
        for held in bins:
            if math.fsum(sizes[n] for n in held) + size <= room:
                held.append(k)
                break
        else:
            bins.append([k])
    return bins


def least_lengths(sizes: Sequence[float], room: float) -> int:
    """A bound no plan can be below: Martello and Toth's L2 (Knapsack Problems, 1990, section 8.3)."""
    best = math.ceil(math.fsum(sizes) / room - 1e-9)
    for small in {size for size in sizes if size <= room / 2.0} | {0.0}:
        big = [size for size in sizes if size > room - small]
        large = [size for size in sizes if room / 2.0 < size <= room - small]
        rest = [size for size in sizes if small <= size <= room / 2.0]
        spare = len(large) * room - math.fsum(large)
        more = max(0, math.ceil((math.fsum(rest) - spare) / room - 1e-9))
        best = max(best, len(big) + len(large) + more)
    return best


def _solved(sizes: Sequence[float], room: float, most: int) -> list[list[int]] | None:
    """A plan with fewest lengths by an integer program; None where it gave up."""
    fillings = list(islice(_fillings(sizes, room), _MOST_FILLINGS + 1))
    if len(fillings) <= _MOST_FILLINGS:
        return _by_fillings(len(sizes), fillings)
    for count in range(least_lengths(sizes, room), most + 1):
        found = _by_places(sizes, room, count)
        if found is None or found:
            return found
    return None


def _by_fillings(count: int, fillings: Sequence[tuple[int, ...]]) -> list[list[int]] | None:
    """Every piece in one filling, as few fillings as can be."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csc_array

    rows = np.concatenate([np.array(filling) for filling in fillings])
    columns = np.repeat(np.arange(len(fillings)), [len(filling) for filling in fillings])
    held = csc_array((np.ones(len(rows)), (rows, columns)), shape=(count, len(fillings)))
    ones = np.ones(len(fillings))
    answer = milp(ones, integrality=ones, bounds=Bounds(0, 1), constraints=[LinearConstraint(held, 1, 1)])
    if answer.status != 0:
        return None
    return [list(filling) for filling, used in zip(fillings, answer.x, strict=True) if used > 0.5]


def _by_places(sizes: Sequence[float], room: float, count: int) -> list[list[int]] | None:
    """The pieces in ``count`` lengths; [] where they do not go in, None where that was not decided.

    The k-th piece goes into one of the first k + 1 lengths: lengths are alike, so that loses nothing.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    pieces = len(sizes)
    each = np.kron(np.eye(pieces), np.ones(count))
    filled = np.kron(np.array(sizes), np.eye(count))
    allowed = np.array([[float(place <= piece) for place in range(count)] for piece in range(pieces)]).ravel()
    answer = milp(
        np.zeros(pieces * count),
        integrality=np.ones(pieces * count),
        bounds=Bounds(0, allowed),
        constraints=[LinearConstraint(each, 1, 1), LinearConstraint(filled, 0, room)],
        options={"node_limit": _MOST_NODES},
    )
    if answer.status == 2:
        return []
    if answer.x is None:
        return None
    places = answer.x.reshape(pieces, count).argmax(axis=1)
    return [[k for k in range(pieces) if places[k] == place] for place in range(count)]


def _fillings(sizes: Sequence[float], room: float, first: int = 0) -> Iterator[tuple[int, ...]]:
    """Every set of pieces that one length yields."""
    for k in range(first, len(sizes)):
        if sizes[k] <= room:
            yield (k,)
            for rest in _fillings(sizes, room - sizes[k], k + 1):
                yield (k, *rest)
