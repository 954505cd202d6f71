"""The editor schema takes what the reader takes, and refuses what it can see to be wrong."""

from pathlib import Path
from typing import Any

import jsonschema
import pytest

import shapes
from layout3d.scene.document import read_document
from layout3d.scene.schema import scene_schema
from layout3d.scene.starter import starter_text
from layout3d.scene.textfile import read_text

SCENES = Path(__file__).parents[2] / "scenes"
GOOD = sorted(SCENES.glob("*.yaml"))


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    return scene_schema()


@pytest.fixture(scope="module")
def validator(schema: dict[str, Any]) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema)


def as_json(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: as_json(each) for key, each in value.items()}
    return [as_json(each) for each in value] if isinstance(value, tuple) else value


def values(text: str) -> Any:
    document, complaints = read_document(text, "s.yaml")
    complaints.raise_any()
    return as_json(document.values)


def test_it_is_a_schema_of_its_draft(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_shipped_scenes_are_valid(path: Path, validator: jsonschema.Draft202012Validator) -> None:
    validator.validate(values(read_text(path)))


def test_the_starter_is_valid(validator: jsonschema.Draft202012Validator) -> None:
    validator.validate(values(starter_text()))


@pytest.mark.parametrize(
    "name",
    [
        "angle_of_zero",
        "angles_no_list",
        "direction_unknown",
        "directions_unknown",
        "fitting_by_bare_name",
        "fitting_key_misspelt",
        "fitting_that_is_none",
        "format_of_the_future",
        "most_bends_above_four",
        "name_no_file_name",
        "negative_gap",
        "negative_size",
        "no_format",
        "path_bend_above_180",
        "path_bends_without_last",
        "path_corner_of_two_numbers",
        "path_legs_negative",
        "path_unknown_mapping",
        "path_unknown_word",
        "port_without_part",
        "section_is_a_list",
        "shape_key_misspelt",
        "shape_key_out_of_range",
        "shape_missing",
        "shape_unknown",
        "solid_key_missing",
        "too_few_numbers",
        "tube_with_one_fitting",
        "tubing_key_missing",
        "tubing_kind_missing",
        "tubing_kind_unknown",
        "unknown_section",
        "wrong_type_mapping",
        "wrong_type_text",
        "wrong_type_title",
        "wrong_type_yes",
    ],
)
def test_broken_scenes_are_not(name: str, validator: jsonschema.Draft202012Validator) -> None:
    text = read_text(SCENES / "broken" / "unreadable" / f"{name}.yaml")
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(values(text))


@pytest.mark.parametrize("name", list(shapes.SHAPES))
def test_every_parameter_of_a_shape_is_described(name: str, schema: dict[str, Any]) -> None:
    family = shapes.shape_named(name)
    described = schema["$defs"][f"PartEntry_{name}"]["properties"]
    assert described.keys() >= family.model_fields.keys()
    for field, info in family.model_fields.items():
        assert info.description in described[field]["description"]
        if isinstance(info.default, int | float | str):
            assert described[field]["default"] == info.default
        unit = info.json_schema_extra["unit"]
        assert not unit or f"[{unit}]" in described[field]["description"]


def test_a_chain_of_fittings_and_a_screwed_in_part_are_valid(
    validator: jsonschema.Draft202012Validator,
) -> None:
    link, last = {"shape": "rotary_adapter", "angle": 45, "turn": 90}, {"shape": "rigid_fitting"}
    tube = {"tubing": "rigid14", "from": "pump.out", "to": "split.front", "fittings": [[link, last], "none"]}
    parts = {"pump": {"shape": "pump"}, "split": {"shape": "tee", "fixed_to": "pump.in"}}
    scene = {"layout3d": 1, "parts": parts, "tubes": {"over": tube}}
    validator.validate(scene)
    for wrong in ([], [{"shape": "radiator"}, last], [{"shape": "rotary_adapter", "agle": 45}, last]):
        tube["fittings"] = [wrong, "none"]
        with pytest.raises(jsonschema.ValidationError):
            validator.validate(scene)


@pytest.mark.parametrize("name", list(shapes.SHAPES))
def test_a_shape_without_parameters_is_valid(name: str, validator: jsonschema.Draft202012Validator) -> None:
    validator.validate({"layout3d": 1, "parts": {"one": {"shape": name, "at": [0, 0, "1/2 in"]}}})
    with pytest.raises(jsonschema.ValidationError):
        validator.validate({"layout3d": 1, "parts": {"one": {"shape": name, "no_such_key": 1}}})


def test_no_key_may_be_null_and_limits_have_standard_names(schema: dict[str, Any]) -> None:
    seen: list[Any] = [schema]
    while seen:
        node = seen.pop()
        if isinstance(node, dict):
            assert node.get("type") != "null"
            if node.get("type") in ("number", "integer"):
                assert not node.keys() & {"gt", "ge", "lt", "le"}
            seen += node.values()
        elif isinstance(node, list):
            seen += node
