"""What is told to mend a finding mends it, does no harm, and is the least of its kind.

Known answers are closed forms by hand: boxes along one axis, a fan on slots. What is told is written
into the file, as its reader would, and checked anew.
"""

from __future__ import annotations

import itertools
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from layout3d.checks.check import check
from layout3d.remedies.advise import advised
from layout3d.remedies.trial import fault_of
from layout3d.scene.reader import parse_scene
from layout3d.scene.splice import splice
from tests.remedies.scenes import boxes, built, errors, fan_scene, length, remedied, told, written

ROOT = Path(__file__).parent.parent.parent


def test_a_fan_two_millimetres_too_near_slides_two_along_its_slots() -> None:
    (finding,) = remedied(fan_scene(2.0))
    assert told(finding) == (
        "slide fan 2 mm toward the floor along its slots (`slide: -2`): then 1 mm stay free"
    )


def test_a_longer_slide_than_the_slots_allow_is_not_told() -> None:
    # 8 mm is all there is, 9 would be needed; the shelf itself has room neither up nor, for less, aside.
    assert told(remedied(fan_scene(8.0))[0]).startswith("slide fan 8 mm")
    assert not any("slide" in told(finding) for finding in remedied(fan_scene(9.0)))


@settings(max_examples=3, deadline=None)
@given(st.integers(5, 800).map(lambda n: n / 100.0))
def test_what_is_told_mends_and_a_tenth_less_does_not(missing: float) -> None:
    text = fan_scene(missing)
    (finding,) = remedied(text)
    edited = written(text, told(finding))
    assert errors(check(built(edited))) == []
    less = -missing + 0.1
    short = splice(
        text, parse_scene(text, "t.yaml").places, {("parts", "fan", "fixed_to", "slide"): f"{less:.4f}"}
    )
    assert errors(check(built(short)))


@settings(max_examples=2, deadline=None)
@given(st.integers(10, 500).map(lambda n: n / 100.0), st.sampled_from((0.0, 0.25, 0.5, 1.0)))
def test_a_smaller_rule_never_asks_for_more(missing: float, gap: float) -> None:
    strict = fan_scene(missing)
    relaxed = strict.replace("part_gap: 1.0", f"part_gap: {gap}")
    found = remedied(relaxed)
    assert all(length(told(each)) <= length(told(remedied(strict)[0])) for each in found)


CORNER = st.integers(-8, 8).map(float)
SIDE = st.integers(4, 14).map(float)


@settings(max_examples=20, deadline=None)
@given(
    st.lists(
        st.tuples(st.tuples(SIDE, SIDE, SIDE), st.tuples(CORNER, CORNER, CORNER)), min_size=2, max_size=4
    )
)
def test_boxes_moved_as_told_mend_it_and_harm_nothing(
    drawn: list[tuple[tuple[float, float, float], tuple[float, float, float]]],
) -> None:
    text = boxes({f"box_{n}": each for n, each in enumerate(drawn)})
    before = remedied(text)
    assume(before)
    faults = {fault_of(each) for each in before}
    for finding in before:
        remedy = told(finding)
        if remedy.startswith("mended too"):
            assert any("mends" in told(other) for other in before)
            continue
        if remedy.startswith("no legal move"):
            continue
        after = {fault_of(each) for each in errors(check(built(written(text, remedy))))}
        assert fault_of(finding) not in after
        assert after < faults


@settings(max_examples=15, deadline=None)
@given(st.tuples(SIDE, SIDE, SIDE), st.tuples(SIDE, SIDE, SIDE), st.tuples(CORNER, CORNER, CORNER))
def test_two_boxes_move_by_the_least_there_is(
    first: tuple[float, ...], second: tuple[float, ...], at: tuple[float, ...]
) -> None:
    text = boxes({"a": (first, (0.0, 0.0, 0.0)), "b": (second, at)})
    found = remedied(text)
    assume(found)
    # Closed form: along one axis until the boxes are a gap apart in it.
    axes = [(a + b) / 2.0 + 1.0 - abs(c) for a, b, c in zip(first, second, at, strict=True)]
    overlap = all((a + b) / 2.0 > abs(c) for a, b, c in zip(first, second, at, strict=True))
    assert length(told(found[0])) <= min(each for each in axes if each > 0.0) + 0.011
    if overlap:
        assert length(told(found[0])) == pytest.approx(min(axes), abs=0.011)


@pytest.mark.parametrize("room", [2, 4, 200])
def test_that_nothing_mends_it_is_agreed_by_trying_every_place(room: int) -> None:
    """A block in a pocket: it fits nowhere within reach unless the pocket is open above."""
    wall = 150.0
    text = boxes(
        {
            "block": ((20.0, 20.0, 20.0), (0.0, 0.0, 0.0)),
            "left": ((wall, wall, wall), (-85.0, 0.0, 0.0)),
            "right": ((wall, wall, wall), (85.0 + (room if room == 200 else 0.0), 0.0, 0.0)),
        }
    )
    places = itertools.product(("block", "left", "right"), range(3), (*range(-60, 0), *range(1, 61)))
    at = {
        "block": [0.0, 0.0, 0.0],
        "left": [-85.0, 0, 0],
        "right": [85.0 + (room if room == 200 else 0), 0, 0],
    }
    size = {"block": 20.0, "left": wall, "right": wall}

    def clashes(where: dict[str, list[float]]) -> set[frozenset[str]]:
        return {
            frozenset((a, b))
            for a, b in itertools.combinations(where, 2)
            if all(abs(where[a][k] - where[b][k]) < (size[a] + size[b]) / 2.0 for k in range(3))
            or sum(
                max(0.0, abs(where[a][k] - where[b][k]) - (size[a] + size[b]) / 2.0) ** 2 for k in range(3)
            )
            < 1.0 - 1e-9
        }

    before = clashes(at)
    mends: set[frozenset[str]] = set()
    for name, axis, by in places:
        moved = {each: list(where) for each, where in at.items()}
        moved[name][axis] += by
        after = clashes(moved)
        if after < before:
            mends |= before - after
    for finding in remedied(text, None):
        assert told(finding).startswith("no legal move") == (frozenset(finding.parts) not in mends)


def test_one_change_that_mends_several_is_told_once() -> None:
    text = boxes(
        {
            "low": ((40.0, 40.0, 10.0), (0.0, 0.0, 0.0)),
            "one": ((10.0, 10.0, 10.0), (-12.0, 0.0, 10.5)),
            "two": ((10.0, 10.0, 10.0), (12.0, 0.0, 10.5)),
        }
    )
    first, second = remedied(text)
    assert (
        told(first)
        == "move low 0.5 mm toward the floor (`at: [0, 0, -0.5]`): then 1 mm stay free; mends 2 findings"
    )
    assert told(second) == "mended too by what mends the gap of low and one"


def test_few_are_tried_unless_all_are_asked_for() -> None:
    layout = built(fan_scene(2.0))
    (finding,) = errors(advised(layout, check(layout), 0))
    assert told(finding).startswith(
        "not tried, other findings come first: `layout3d check test.yaml --remedies`"
    )


def test_what_the_checks_say_is_left_but_for_the_remedy() -> None:
    layout = built(fan_scene(2.0))
    checked = check(layout)
    without = tuple(replace(each, remedy=None) for each in advised(layout, checked).findings)
    assert without == tuple(replace(each, remedy=None) for each in checked.findings)


def test_a_scene_without_errors_does_not_load_them() -> None:
    code = (
        "import sys; from layout3d.cli.common import checked_layout, with_remedies; from pathlib import Path;"
        "with_remedies(*checked_layout(Path('scenes/editing_tower.yaml')));"
        "print(any(name.startswith(('layout3d.remedies', 'layout3d.fit')) for name in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
