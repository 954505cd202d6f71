"""The share of builds that clear: closed forms, the whole scene built anew at the draws, known intervals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binomtest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene
from layout3d.tolerance.interval import share_interval
from layout3d.tolerance.odds import Odds, odds
from tests.checks.scenes import box, layout_of
from tests.tolerance.scenes import layout_at, measure, solid_of, studied

DRAWS = 4000


def drawn(layout: Layout, draws: int = DRAWS, seed: int = 1) -> Odds:
    return odds(layout, check(layout).findings, draws, seed)


def irwin_hall(x: float, n: int) -> float:
    """P(sum of n numbers even on 0 to 1 <= x).

    Source: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions, volume 2, chapter 26 (from
    memory).
    """
    terms = ((-1) ** k * math.comb(n, k) * (x - k) ** n for k in range(math.floor(x) + 1))
    return sum(terms) / math.factorial(n)


def chain(count: int, spare: float) -> Layout:
    """Boxes in a row, each gap so much off the last part; the free end has ``spare`` over its rule.

    The end lies off by the sum of ``count`` lengths of +- 0.5, so by an Irwin-Hall sum less its middle.
    """
    parts = [f"p0: {box('[10, 10, 10]', '[0, 0, 0]')}"]
    for n in range(1, count + 1):
        parts.append(
            f"p{n}: {box('[10, 10, 10]', '[0, 0, 0]', f'off: [{{face: p{n - 1}.front, gap: 5 +- 0.5}}]')}"
        )
    wall = 5.0 + count * 15.0 + 1.0 + spare + 5.0
    parts.append(f"wall: {box('[10, 10, 10]', f'[{wall}, 0, 0]')}")
    return layout_of("\n".join(parts))


@pytest.mark.parametrize(("count", "spare"), [(1, 0.2), (2, 0.4), (3, 0.5), (5, 0.8)])
def test_a_chain_clears_as_often_as_the_sum_of_even_draws_says(count: int, spare: float) -> None:
    true = irwin_hall(0.5 * count + spare, count)
    found = drawn(chain(count, spare))
    # Four standard deviations of a binomial share: one seed in 16,000 would miss.
    assert abs(found.share - true) < 4.0 * math.sqrt(true * (1.0 - true) / DRAWS)
    assert found.failures[0].parts == (f"p{count}", "wall")


def test_what_is_proved_needs_no_draws_and_always_clears() -> None:
    found = drawn(chain(3, 1.5))
    assert (found.clear, found.failures) == (DRAWS, ())
    assert found.low == pytest.approx(0.025 ** (1.0 / DRAWS), abs=1e-9)  # closed form where all clear
    assert found.high == 1.0


def test_every_draw_is_judged_as_the_build_it_stands_for() -> None:
    """Turned, round and pierced solids; every draw's whole scene built anew and measured by the checker."""
    parts = (
        "a: {shape: custom, rotate: [10, 25, 40], solids: [{plate: {size: [60, 50], thickness: 3 +- 0.3, "
        "openings: [{round: {diameter: 30 +- 0.5, at: [0 +- 1, 0]}}]}}]}\n"
        "b: {shape: custom, at: [0, 1 +- 1.5, 2], rotate: [12, 24, 33], "
        "solids: [{cylinder: {diameter: 24 +- 1, length: 40}}]}"
    )
    layout = layout_of(parts)
    looked = studied(layout)
    found = drawn(layout, 60, 7)
    offsets = np.random.default_rng(7).uniform(
        looked.unknowns.low, looked.unknowns.high, (60, len(looked.unknowns))
    )
    clear = 0
    for offset in offsets:
        there = layout_at(layout, looked, offset)
        gap = measure(solid_of(there, "a", "plate_1"), solid_of(there, "b", "cylinder_1")).gap_mm
        clear += gap >= 1.0 - 1e-6
    assert 5 < clear < 55
    # Rims are taken as chords: a build within 0.003 mm of its rule may count as failing.
    assert clear - 1 <= found.clear <= clear


def test_tube_ends_count() -> None:
    """The miss is |x| for x even on -2 to 2: half of the builds keep 1 mm of play."""
    post = "shape: custom, solids: [], ports: {p: {at: [0, 0, 0], facing: roof}}"
    parts = f"left: {{{post}, at: [0 +- 2, 0, 0]}}\nright: {{{post}, at: [200, 0, 0]}}"
    tube = (
        "over: {tubing: rigid14, from: left.p, to: right.p, fittings: [none, none], "
        "path: {legs: [[roof, 100], [front, 200], to]}}"
    )
    found = drawn(layout_of(parts, tube))
    assert abs(found.share - 0.5) < 4.0 * math.sqrt(0.25 / DRAWS)
    assert [failing.rule for failing in found.failures] == ["tube-misfit"]


def test_what_fails_as_written_fails_in_every_build() -> None:
    parts = f"a: {box('[40, 40, 20]', '[0, 0, 0]')}\nb: {box('[40, 40, 20]', '[30, 0, 0]')}"
    found = drawn(layout_of(f"{parts}\nc: {box('[4, 4, 4]', '[0 +- 1, 0, 200]')}"), 50)
    assert found.clear == 0
    assert [(one.parts, one.count) for one in found.failures] == [(("a", "b"), 50)]


def test_one_seed_gives_one_answer() -> None:
    layout = chain(2, 0.4)
    assert drawn(layout, seed=3) == drawn(layout, seed=3)
    assert drawn(layout, seed=3).clear != drawn(layout, seed=4).clear


@pytest.mark.parametrize(("hits", "draws"), [(0, 10), (10, 10), (3, 10), (9672, 10_000), (1, 1), (81, 263)])
def test_the_interval_is_that_of_clopper_and_pearson(hits: int, draws: int) -> None:
    theirs = binomtest(hits, draws).proportion_ci(0.95, "exact")
    assert share_interval(hits, draws) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_nothing_to_draw_is_refused() -> None:
    layout = build(parse_scene("layout3d: 1\nparts: {}\n", "t.yaml"))
    with pytest.raises(RequestError, match="has a tolerance"):
        odds(layout, ())
    with pytest.raises(RequestError, match="--draws 0"):
        odds(layout, (), 0)
