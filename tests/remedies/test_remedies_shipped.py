"""What the shipped broken scenes are told mends them."""

from __future__ import annotations

from pathlib import Path

import pytest

from layout3d.checks.check import check
from layout3d.remedies.advise import QUICK_TRIES
from tests.remedies.scenes import built, errors, remedied, told, written

SCENES = Path(__file__).parent.parent.parent / "scenes"


@pytest.mark.parametrize("name", ["overlap", "gap", "keep_out"])
def test_every_overlap_gap_and_keep_out_is_told_a_change(name: str) -> None:
    text = (SCENES / "broken" / f"{name}.yaml").read_text(encoding="utf-8")
    (finding,) = remedied(text, QUICK_TRIES)
    assert errors(check(built(written(text, told(finding))))) == []


def test_the_thick_radiator_is_told_to_be_taken_thinner() -> None:
    text = (SCENES / "thick_radiator.yaml").read_text(encoding="utf-8")
    found = [each for each in remedied(text, QUICK_TRIES) if each.rule == "gap"]
    assert told(found[0]).startswith(
        "take roof_radiator 30 mm thick in place of 60 mm (`thickness: 30`); mends 7"
    )
    assert "at most 56 mm fits" in told(found[0])
    thinner = text.replace("fans: 3, thickness: 60", "fans: 3, thickness: 30")
    assert thinner != text
    assert errors(check(built(thinner))) == []


BAR = """\
layout3d: 1
title: A bar under a tube
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 36, end_straight: 20, between_bends: 14}
parts:
  left:
    shape: custom
    solids: [{box: [40, 40, 20], at: [0, 0, 10]}]
    ports: {out: {at: [0, 0, 20], facing: roof, thread: G1/4}}
  right:
    shape: custom
    at: [200, 0, 0]
    solids: [{box: [40, 40, 20], at: [0, 0, 10]}]
    ports: {in: {at: [0, 0, 20], facing: roof, thread: G1/4}}
  bar: {shape: custom, at: [100, 0, 132], solids: [{box: [20, 200, 20]}]}
tubes:
  over:
    tubing: rigid14
    from: left.out
    to: right.in
    fittings: [none, none]
    path: [[0, 0, 150], [200, 0, 150]]
"""


def test_both_corners_of_a_tube_are_raised_over_a_bar() -> None:
    # By hand: the bar's top is at 142, the tube's underside at 150 - 7 = 143, 3 mm wanted: 2 are missing.
    (finding,) = remedied(BAR)
    assert told(finding) == (
        "in over, move corners 1 to 2 by 2 mm toward the roof (`path: [[0, 0, 152], [200, 0, 152]]`): "
        "then 3 mm stay free"
    )
    assert errors(check(built(BAR.replace("0, 150]", "0, 152]")))) == []
    assert errors(check(built(BAR.replace("0, 150]", "0, 151.9]"))))
