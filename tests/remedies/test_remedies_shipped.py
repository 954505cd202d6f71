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
