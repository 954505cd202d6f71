"""Lengths with a tolerance as they are written: read, or refused at their line with what to write."""

from __future__ import annotations

import re

import pytest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import Problem, SceneErrors
from layout3d.scene.model import Scene
from layout3d.scene.reader import parse_scene
from layout3d.scene.tolerances import Tolerance
from shapes.units import parse_length, parse_tolerance


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("60 +- 0.5", (60.0, 0.5, 0.5)),
        ("60 ± 0.5", (60.0, 0.5, 0.5)),
        ("60±0.5 mm", (60.0, 0.5, 0.5)),
        ("60 +/- 0.5", (60.0, 0.5, 0.5)),
        ("60 +0.5 -0.2", (60.0, 0.2, 0.5)),
        ("60 -0.2 +0.5", (60.0, 0.2, 0.5)),
        ("-60 -0.2 +0.5", (-60.0, 0.2, 0.5)),
        ("6 cm +- 1 mm", (60.0, 1.0, 1.0)),
        # 25.4 mm to the inch, exactly (international yard and pound agreement, 1959).
        ("1/2 in +- 0.5 mm", (12.7, 0.5, 0.5)),
        ("1 1/2 in +1/64 in -0 in", (38.1, 0.0, 0.396875)),
        ("60 +- 0", (60.0, 0.0, 0.0)),
    ],
)
def test_every_form_is_read(text: str, told: tuple[float, float, float]) -> None:
    assert parse_tolerance(text) == pytest.approx(told)
    assert parse_length(text) == pytest.approx(told[0])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("60 +-", "no tolerance stands after the sign"),
        ("60 +- -0.5", "has two signs"),
        ("60 +0.5", "write '60 +- 0.5', '60 ± 0.5' or '60 +0.5 -0.2'"),
        ("60 +0.5 -", "write '60 +- 0.5'"),
        ("60 +- 0,5", "decimal comma"),
        ("60 +- a bit", "cannot read 'a bit' as a length"),
        ("1/2 in +- 0.5", "write its unit, mm or in"),
        ("1/2 +- 0.5", "a bare fraction"),
        ("± 0.5", "write '60 +- 0.5'"),
        ("6" * 200 + " +- 1", "write '60 +- 0.5'"),
    ],
)
def test_what_is_written_badly_is_refused_with_the_right_form(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        parse_length(text)


def read(part: str, more: str = "") -> Scene:
    return parse_scene(f"layout3d: 1\n{more}parts:\n  a: {part}\n", "t.yaml")


def problems(part: str, more: str = "") -> tuple[Problem, ...]:
    with pytest.raises(SceneErrors) as refused:
        check(build(read(part, more)))
    return refused.value.problems


BOX = "{shape: custom, solids: [{box: [40, 40, 20]}]"


def test_tolerances_are_kept_beside_the_scene_by_key_path() -> None:
    scene = read("{shape: custom, at: [1, 2 +0.5 -0.2, 3], label: 5 +- 1, solids: [{box: [40 ± 1, 40, 20]}]}")
    assert scene.tolerances is not None
    assert dict(scene.tolerances.terms) == {
        ("parts", "a", "at", 1): Tolerance(2.0, 0.2, 0.5),
        ("parts", "a", "solids", 0, "box", 0): Tolerance(40.0, 1.0, 1.0),
    }
    assert scene.parts["a"].at == (1.0, 2.0, 3.0)
    assert scene.parts["a"].label == "5 +- 1"


def test_a_scene_without_tolerances_has_none() -> None:
    assert read(f"{BOX}, note: a + b}}").tolerances is None


@pytest.mark.parametrize(
    ("part", "key", "said"),
    [
        (f"{BOX}, rotate: [0, 0, 45 +- 1]}}", "parts.a.rotate[2]", "only lengths take a tolerance"),
        ("{shape: radiator, fans: 3 +- 1}", "parts.a.fans", "only lengths take a tolerance"),
        (f"{BOX}, gap: 1 +- 0.2}}", "parts.a.gap", "what is asked for, it takes no tolerance, write 1"),
        (f"{BOX}, at: [0 +-, 0, 0]}}", "parts.a.at[0]", "no tolerance stands after the sign"),
        (
            "{shape: custom, solids: [{box: [40 +- 50, 40, 20]}]}",
            "parts.a.solids[0].box[0]",
            "must be above 0",
        ),
    ],
)
def test_where_no_tolerance_can_stand_it_is_refused_at_its_line(part: str, key: str, said: str) -> None:
    (problem,) = problems(part)
    assert (problem.file, problem.line, problem.key) == ("t.yaml", 3, key)
    assert said in problem.message


def test_rules_and_tubings_own_rules_take_none() -> None:
    tubing = "{kind: rigid, outside: 14, inside: 10, bend_radius: 36 +- 1}"
    more = f"rules: {{part_gap: 1 +- 0.1}}\ntubings:\n  t: {tubing}\n"
    told = problems(f"{BOX}}}", more)
    assert [(problem.line, problem.key) for problem in told] == [
        (2, "rules.part_gap"),
        (4, "tubings.t.bend_radius"),
    ]
    assert all("takes no tolerance" in problem.message for problem in told)


def test_a_tolerance_beyond_what_a_shape_may_be_is_told_with_its_length() -> None:
    (problem,) = problems("{shape: radiator, thickness: 30 +- 200}")
    assert problem.key == "parts.a.thickness"
    assert "parts.a.thickness = -170 mm" in problem.message
