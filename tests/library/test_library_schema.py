"""The editor schemas take part files and `use:`, and refuse what they can see to be wrong."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from layout3d.library.shelf import BUILT_IN
from layout3d.scene.schema import part_file_schema, scene_schema


@pytest.fixture(scope="module")
def part_files() -> jsonschema.Draft202012Validator:
    schema = part_file_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@pytest.fixture(scope="module")
def scenes() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(scene_schema())


@pytest.mark.parametrize("path", sorted(BUILT_IN.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_built_in_files_are_valid(path: Path, part_files: jsonschema.Draft202012Validator) -> None:
    part_files.validate(yaml.safe_load(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    "entry",
    [
        {"shape": "radiator", "fanss": 3},
        {"shape": "radiator", "measured": {"thick": 3}},
        {"shape": "radiator", "price": "cheap"},
        {"shape": "radiator", "mass": 12},
        {"shape": "radiator", "metals": ["tin foil"]},
        {"use": "slim_360"},
        {"fans": 3},
    ],
)
def test_wrong_parts_are_refused(entry: dict[str, Any], part_files: jsonschema.Draft202012Validator) -> None:
    assert not part_files.is_valid({"layout3d_parts": 1, "parts": {"p": entry}})


def test_a_full_part_is_valid(part_files: jsonschema.Draft202012Validator) -> None:
    entry = {
        "shape": "radiator",
        "fans": 3,
        "measured": {"thickness": 28.4, "port_pitch": "1 1/2 in"},
        "price": "89.90 EUR",
        "mass": "1.2 kg",
        "metals": ["copper"],
        "note": "n",
        "source": "s",
        "label": "l",
    }
    part_files.validate({"layout3d_parts": 1, "source": "s", "parts": {"p": entry}})


@pytest.mark.parametrize(
    ("entry", "is_valid"),
    [
        ({"use": "slim_360"}, True),
        ({"use": "my_own", "thickness": 28, "at": [0, 0, 0], "price": "3 EUR"}, True),
        ({"use": "my_own", "at": "here"}, False),
        ({"use": "my_own", "shape": "radiator"}, False),
        ({"shape": "radiator", "mass": "850 g"}, True),
        ({"shape": "radiator", "mass": "850"}, False),
        ({"at": [0, 0, 0]}, False),
    ],
)
def test_use_in_scenes(
    entry: dict[str, Any], is_valid: bool, scenes: jsonschema.Draft202012Validator
) -> None:
    scene = {"layout3d": 1, "library": ["parts"], "parts": {"p": entry}}
    assert scenes.is_valid(scene) is is_valid
