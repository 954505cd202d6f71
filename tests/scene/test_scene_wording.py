"""Faults of values in words: what was expected, what stands there, what could."""

from typing import get_args

import pytest
from pydantic import Tag

import shapes
from layout3d.errors import SceneErrors
from layout3d.scene.reader import parse_scene
from layout3d.scene.trace import as_model, union_members

#: One line below a part of the given shape -> the key and the whole message.
FAULTS = [
    ("fan", "size: 130", "size", "expected 80, 92, 120, 140, 180 or 200, got 130"),
    ("fan", "size: '120'", "size", "expected 80, 92, 120, 140, 180 or 200, got '120'; did you mean 120?"),
    (
        "fan",
        "thickness: 1/8 in",
        "thickness",
        "'1/8 in' is out of range: it must be at least 6, at most 60 mm",
    ),
    (
        "fan",
        "thickness: 100.5",
        "thickness",
        "100.5 mm is out of range: it must be at least 6, at most 60 mm",
    ),
    ("fan", "thickness: true", "thickness", "expected a length, got yes/no (true)"),
    ("radiator", "fans: 2.0", "fans", "expected a whole number, got 2.0"),
    ("radiator", "fans: true", "fans", "expected a whole number, got true"),
    ("radiator", "fans: two", "fans", "expected a whole number, got 'two'"),
    (
        "pump",
        "side_inlet: yes",
        "side_inlet",
        "expected true or false, got 'yes' (plain yes and no are text)",
    ),
    ("pump", "side_inlet: 1", "side_inlet", "expected true or false, got 1 (plain yes and no are text)"),
    (
        "pump",
        "out_side: fornt",
        "out_side",
        "expected window, front, tray or rear, got 'fornt'; did you mean front?",
    ),
    ("custom", "solids: {box: [1, 2, 3]}", "solids", "expected a list, got a mapping with box"),
    (
        "custom",
        "solids: [[1, 2, 3]]",
        "solids[0]",
        "expected a mapping (`key: value` lines), got a list of 3",
    ),
    ("custom", "solids: [{box: 4}]", "solids[0].box", "expected a list of 3 lengths [x, y, z] in mm, got 4"),
    (
        "custom",
        "solids: [{prism: {corners: [[0, 0], [1], [0, 1]], height: 3}}]",
        "solids[0].prism.corners[1]",
        "expected a list of 2 lengths [x, y] in mm, got 1",
    ),
    (
        "custom",
        "solids: [{prism: {corners: [[0, 0], [1, 0]], height: 3}}]",
        "solids[0].prism.corners",
        "expected a list of at least 3, got 2",
    ),
    (
        "custom",
        "solids: [{box: [1, 2, 3], cylinder: {diameter: 1, length: 1}}]",
        "solids[0]",
        "a solid is exactly one of box, cylinder, prism, plate; got box and cylinder",
    ),
    (
        "custom",
        "solids: [{box: [1, 2, 3], rotate: [0, 0, ninety]}]",
        "solids[0].rotate[2]",
        "expected an angle in degrees, a plain number, got 'ninety'",
    ),
    (
        "custom",
        "ports: {out: {at: [0, 0, 0], facing: [1, 2]}}",
        "ports.out.facing",
        "expected a direction: one of rear, front, window, tray, floor, roof, or three numbers [x, y, z]",
    ),
    (
        "custom",
        "ports: {a.b: {at: [0, 0, 0], facing: roof}}",
        "ports.a.b",
        "'a.b' is no name: a letter, then letters, digits, _ and -",
    ),
    ("custom", "note: [a, b]", "note", "expected text, got a list of 2"),
    ("custom", "touches: left", "touches", "expected a list, got 'left'"),
    (
        "custom",
        "fixed_to: 5",
        "fixed_to",
        "expected part.mount, or a mapping with the key `mount`; got 5",
    ),
    (
        "custom",
        "fixed_to: {mont: case.roof}",
        "fixed_to.mont",
        "unknown key 'mont'; did you mean mount?",
    ),
    (
        "custom",
        "fixed_to: {mount: roof}",
        "fixed_to.mount",
        "expected part.mount with one point between, got 'roof'",
    ),
    (
        "custom",
        "off: [{face: one.roof}]",
        "off[0].gap",
        "missing key 'gap': distance beyond the face, measured along its normal, mm",
    ),
    ("custom", "rotate: [0, 90]", "rotate", "expected a list of 3 angles [x, y, z] in degrees, got 2"),
    ("custom", "gap: -0.5", "gap", "-0.5 mm is out of range: it must be at least 0 mm"),
]


@pytest.mark.parametrize(("shape", "line", "key", "message"), FAULTS, ids=[fault[1] for fault in FAULTS])
def test_a_wrong_value(shape: str, line: str, key: str, message: str) -> None:
    with pytest.raises(SceneErrors) as caught:
        parse_scene(f"layout3d: 1\nparts:\n  one:\n    shape: {shape}\n    {line}\n", "s.yaml")
    (problem,) = caught.value.problems
    assert (problem.key, problem.message) == (f"parts.one.{key}", message)
    assert problem.line == 5


def test_choices_are_given_beside_the_message() -> None:
    with pytest.raises(SceneErrors) as caught:
        parse_scene("layout3d: 1\nparts: {one: {shape: pump, out_side: up}, two: {shape: pmp}}", "s.yaml")
    choices = {problem.key: problem.choices for problem in caught.value.problems}
    assert choices["parts.one.out_side"] == ("window", "front", "tray", "rear")
    assert {"pump", "radiator", "custom"} <= set(choices["parts.two.shape"])


def unions_in(kind: object, seen: set[object]) -> list[object]:
    """Every union of several alternatives below a declared type."""
    if as_model(kind) is not None and kind not in seen:
        seen.add(kind)
        return [found for field in kind.model_fields.values() for found in unions_in(field.annotation, seen)]
    below = [found for part in get_args(kind) for found in unions_in(part, seen)]
    return [kind, *below] if union_members(kind) else below


@pytest.mark.parametrize("name", list(shapes.SHAPES))
def test_no_shape_has_a_parameter_of_untold_alternatives(name: str) -> None:
    # Such a union would complain once for each alternative; write a discriminated one.
    for union in unions_in(shapes.shape_named(name), set()):
        for member in union_members(union):
            assert any(isinstance(note, Tag) for note in get_args(member)[1:]), union
