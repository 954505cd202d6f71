"""Pairs of every kind whose gap, depth or containment is known by how they were set up.

The full campaign of 80,000 is ``python -m benchmarks.campaign``; the same draws, fewer of them.
Reaches are found from corners, discs and sampled bends, and the meshes by qhull (scipy).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from .campaign import tallied
from .constructed import Known, draw_apart, draw_deep, draw_in_openings, draw_inside

TIGHT_MM = 1e-6


@pytest.mark.parametrize(
    "draw",
    [
        pytest.param(lambda: draw_apart(360, 101, structured=True), id="near-touching"),
        pytest.param(lambda: draw_apart(360, 102, structured=False), id="random"),
        pytest.param(lambda: draw_in_openings(180, 103), id="in-an-opening"),
    ],
)
def test_gaps_are_those_the_pairs_were_set_up_with(draw: Callable[[], Iterator[Known]]) -> None:
    told = tallied(list(draw()))
    assert not told.wrong
    assert told.gap_error_mm <= TIGHT_MM


@pytest.mark.parametrize(("count", "structured"), [(180, True), (30, False)])
def test_depths_are_the_least_translation_and_never_less(count: int, structured: bool) -> None:
    told = tallied(list(draw_deep(count, 104, structured)))
    assert not told.wrong
    assert told.depth_error_mm <= TIGHT_MM
    assert told.understated_mm <= TIGHT_MM


def test_what_is_inside_another_solid_is_found() -> None:
    assert tallied(list(draw_inside(90, 105))).missed_inside == 0
