"""Cutting from stock: hand-made plans, exhaustive search, and hard instances with a known answer."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.bench.stock import Cutting, _first_fit, cut_from, least_lengths


def plan(sizes: list[float], stock: float, kerf: float = 0.0) -> Cutting:
    return cut_from([(f"p{n}", size) for n, size in enumerate(sizes)], stock, kerf)


def fewest_by_search(sizes: list[float], room: float) -> int:
    """Every way to share the pieces out, first pieces first."""
    best = len(sizes)

    def put(at: int, bins: list[float]) -> None:
        nonlocal best
        if len(bins) >= best:
            return
        if at == len(sizes):
            best = len(bins)
            return
        for k in range(len(bins)):
            if bins[k] + sizes[at] <= room + 1e-6:
                put(at + 1, [*bins[:k], bins[k] + sizes[at], *bins[k + 1 :]])
        put(at + 1, [*bins, sizes[at]])

    put(0, [])
    return best


def held(cutting: Cutting, sizes: list[float]) -> None:
    """Every piece once, no length overdrawn, what is left told right."""
    named = {f"p{n}": size for n, size in enumerate(sizes)}
    cut = [piece for length in cutting.lengths for piece in length.pieces]
    assert sorted([*cut, *cutting.too_long]) == sorted(named)
    for length in cutting.lengths:
        taken = math.fsum(named[piece] for piece in length.pieces)
        saws = cutting.kerf_mm * (len(length.pieces) - 1)
        assert taken + saws <= cutting.stock_mm + 1e-5
        left = cutting.stock_mm - taken - saws
        assert length.left_mm == pytest.approx(max(left - cutting.kerf_mm, 0.0), abs=1e-5)


def test_the_last_piece_that_ends_where_its_length_does_needs_no_cut() -> None:
    assert len(plan([250.0, 250.0], 500.0, 0.0).lengths) == 1
    assert len(plan([249.0, 250.0], 500.0, 1.0).lengths) == 1
    assert len(plan([249.5, 250.0], 500.0, 1.0).lengths) == 2
    assert plan([500.0], 500.0, 2.0).too_long == ()


def test_what_is_too_long_is_said() -> None:
    cutting = plan([600.0, 100.0], 500.0, 1.0)
    assert cutting.too_long == ("p0",)
    assert [length.pieces for length in cutting.lengths] == [("p1",)]


def test_sorted_filling_is_not_always_the_fewest() -> None:
    # Johnson et al., "Worst-case performance bounds for simple one-dimensional packing algorithms",
    # SIAM J. Comput. 3 (1974): sorted filling may take 11/9 of the fewest. The sizes of that proof,
    # from memory: 6 each of 51, 27 and 26 and 12 of 23 fill 9 of 100; sorted filling takes 11.
    sizes = [51.0] * 6 + [27.0] * 6 + [26.0] * 6 + [23.0] * 12
    cutting = plan(sizes, 100.0)
    held(cutting, sizes)
    assert sum(sizes) == 900.0
    assert len(_first_fit(sorted(sizes, reverse=True), 100.0)) == 11
    assert len(cutting.lengths) == 9
    assert cutting.fewest


def test_thirty_pieces_in_threes() -> None:
    # Ten hidden triples that fill their length to the last tenth: nothing to spare anywhere.
    sizes = []
    for n in range(10):
        a, b = 201.3 + 7.1 * n, 340.9 - 3.7 * n
        sizes += [a, b, 1000.0 - a - b]
    cutting = plan(sizes, 1000.0)
    held(cutting, sizes)
    assert len(cutting.lengths) == 10
    assert cutting.fewest
    assert cutting.waste_mm == pytest.approx(0.0, abs=1e-6)


def test_thirty_small_pieces() -> None:
    sizes = [37.0 + 11.0 * (n * n % 17) for n in range(30)]
    cutting = plan(sizes, 1000.0, 1.5)
    held(cutting, sizes)
    assert cutting.fewest
    assert len(cutting.lengths) == math.ceil(sum(size + 1.5 for size in sizes) / 1001.5)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.integers(40, 1100), min_size=1, max_size=8),
    st.sampled_from([500.0, 1000.0]),
    st.sampled_from([0.0, 1.5]),
)
def test_no_other_sharing_takes_fewer(sizes: list[int], stock: float, kerf: float) -> None:
    pieces = [float(size) for size in sizes]
    cutting = plan(pieces, stock, kerf)
    held(cutting, pieces)
    fitting = [size + kerf for size in pieces if size <= stock]
    assert cutting.fewest
    assert len(cutting.lengths) == fewest_by_search(fitting, stock + kerf)
    assert least_lengths(fitting, stock + kerf + 1e-6) <= len(cutting.lengths)


def test_nothing_to_cut() -> None:
    assert plan([], 500.0).lengths == ()
