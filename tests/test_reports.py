"""Lists for a terminal: what they say, and that no line runs past a usual window."""

from __future__ import annotations

from pathlib import Path

from layout3d.assembly.sequence import Step, assembly_of
from layout3d.assembly.ways import Leg
from layout3d.build import build
from layout3d.fit.answer import fit
from layout3d.reports.assembly import assembly_text, step_words
from layout3d.reports.fit import fit_text
from layout3d.reports.table import COLUMNS, folded_table
from layout3d.scene.reader import read_scene

SCENES = Path(__file__).parent.parent / "scenes"


def test_a_folded_table_keeps_every_word_and_its_width() -> None:
    words = [f"word{n}" for n in range(60)]
    text = folded_table(("name", "told"), [["a", " ".join(words)], ["b", ""]])
    assert max(map(len, text.splitlines())) <= COLUMNS
    assert text.split() == ["name", "told", "a", *words, "b"]


def test_a_step_names_the_sides_of_a_slanting_way() -> None:
    half = 0.5**0.5
    slanting = Step(("over",), "tube", (Leg((0.0, -half, -half)),))
    assert step_words(slanting) == "put in over, from between the window and floor"
    straight = Step(("over",), "tube", (Leg((0.0, -1.0, 0.0)),))
    assert step_words(straight) == "put in over, from the window"


def test_the_order_keeps_to_the_width() -> None:
    tower = build(read_scene(SCENES / "editing_tower.yaml"))
    assert max(map(len, assembly_text(tower, assembly_of(tower)).splitlines())) <= COLUMNS


def test_fit_numbers_each_reason_once_below_its_table() -> None:
    answer = fit(read_scene(SCENES / "thick_radiator.yaml"), "roof_radiator")
    text = fit_text(answer, "thick_radiator.yaml")
    assert max(map(len, text.splitlines())) <= COLUMNS
    reasons = [row.failure.message for row in answer.rows if row.failure is not None]
    assert len(reasons) > len(set(reasons)), "the scene no longer has one reason twice"
    for reason in set(reasons):
        assert " ".join(text.split()).count(reason) == 1
