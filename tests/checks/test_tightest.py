"""The gaps with least to spare, against distances worked out by hand and against every pair measured."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.checks.items import Gaps, items_of
from layout3d.checks.tightest import WORTH_TELLING_MM, tightest
from layout3d.kernels.measure import measure
from layout3d.reports.text import check_text
from layout3d.scene.reader import read_scene
from tests.checks.scenes import box, layout_of

SCENES = Path(__file__).parents[2] / "scenes"


def row(*gaps: float, **own: float) -> str:
    """Blocks of 10 mm in a row with these gaps between them, some with gaps of their own."""
    lines, x = [], 0.0
    for number, gap in enumerate((0.0, *gaps)):
        x += gap + (10.0 if number else 0.0)
        name = f"b{number}"
        more = f"gap: {own[name]}" if name in own else ""
        lines.append(f"{name}: {box('[10, 10, 10]', f'[{x}, 0, 0]', more)}")
    return "\n".join(lines)


def told(parts: str) -> list[tuple[str, str, float, float]]:
    return [
        (margin.first, margin.second, round(margin.gap_mm, 6), margin.required_mm)
        for margin in tightest(layout_of(parts))
    ]


def test_least_to_spare_comes_first_not_the_least_gap():
    # b2 wants 4 mm of its own: 4.5 mm leaves it less than 2 mm leave the others.
    assert told(row(20.0, 4.5, 20.0, 2.0, b2=4.0)) == [("b1", "b2", 4.5, 4.0), ("b3", "b4", 2.0, 1.0)]


def test_three_at_most_and_none_that_has_plenty():
    assert told(row(3.0, 2.0, 4.0, 1.5)) == [
        ("b3", "b4", 1.5, 1.0),
        ("b1", "b2", 2.0, 1.0),
        ("b0", "b1", 3.0, 1.0),
    ]
    assert told(row(1.0 + WORTH_TELLING_MM, 30.0)) == [("b0", "b1", 6.0, 1.0)]
    assert told(row(1.001 + WORTH_TELLING_MM, 30.0)) == []


def test_what_may_touch_is_not_told():
    parts = f"a: {box('[10, 10, 10]', '[0, 0, 0]')}\nb: {box('[10, 10, 10]', '[12, 0, 0]', 'touches: [a]')}"
    assert told(parts) == []


def test_nothing_tighter_is_left_out_of_the_tower():
    layout = build(read_scene(SCENES / "editing_tower.yaml"))
    gaps, least = Gaps.of(layout), {}
    for first, second in combinations(items_of(layout), 2):
        apart = np.maximum(first.body.low - second.body.high, second.body.low - first.body.high).max()
        required = gaps.required(first, second)
        if first.owner == second.owner or not required or apart > 9.0:
            continue
        pair, spare = (first.owner, second.owner), measure(first.body, second.body).gap_mm - required
        least[pair] = min(spare, least.get(pair, np.inf))
    found = [margin.spare_mm for margin in tightest(layout)]
    assert found == pytest.approx(sorted(least.values())[:3], abs=1e-6)


def test_they_are_told_where_they_are_asked_for():
    layout = layout_of(row(2.5))
    text = check_text(layout, check(layout), 0.1, tightest(layout))
    assert "tightest gaps:\n  b0 and b1: 2.5 mm, 1 mm wanted, 1.5 mm to spare" in text
    assert text.endswith("checked every pair of 2 solids (2 parts) and every tube, in 0.10 s")
    assert "tightest" not in check_text(layout, check(layout), 0.1)


def test_one_part_is_one_part_and_no_zero_has_a_minus():
    layout = layout_of(f"a: {box('[10, 10, 10]', '[0, 0, 0]')}")
    assert "1 solid (1 part)" in check_text(layout, check(layout), 0.1, tightest(layout))
    block = "{box: [40, 40, 20], at: [0, 0, 10]}"
    off = f"a: {{shape: custom, solids: [{block}], ports: {{p: {{at: [-0.01, -0.04, 30], facing: roof}}}}}}"
    text = check_text(layout_of(off), check(layout_of(off)), 0.1)
    assert "[0.0, 0.0, 30.0]" in text
    assert "-0.0" not in text
