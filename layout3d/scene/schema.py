"""JSON Schema of scene and part files (draft 2020-12), so that editors complete and check keys."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import models_json_schema

import shapes
from layout3d.library.partfile import LibraryEntry, PartFile
from layout3d.library.shelf import built_in
from layout3d.scene.building import CHAIN_LINKS, TUBE_FITTINGS
from layout3d.scene.entries import FittingEntry, PartEntry, SceneFile
from layout3d.scene.values import PortRef

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
#: What pydantic leaves of a limit that stands behind a unit reader.
_LIMITS = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}


def scene_schema() -> dict[str, Any]:
    """The schema of scenes, from the models that read them and every shape's parameters."""
    fittings = tuple(name for name in shapes.SHAPES if name in (*TUBE_FITTINGS, *CHAIN_LINKS))
    entries = ((PartEntry, tuple(shapes.SHAPES)), (FittingEntry, fittings))
    return _schema(SceneFile, entries, "layout3d scene")


def part_file_schema() -> dict[str, Any]:
    """The schema of part files."""
    return _schema(PartFile, ((LibraryEntry, tuple(shapes.SHAPES)),), "layout3d part file")


def _schema(file: type, entries: tuple[tuple[type, tuple[str, ...]], ...], title: str) -> dict[str, Any]:
    families = {name: shapes.shape_named(name) for name in shapes.SHAPES}
    models = [(model, "validation") for model in (file, *(entry for entry, _ in entries), *families.values())]
    references, schema = models_json_schema(models, by_alias=True)  # type: ignore[arg-type]
    definitions = schema["$defs"]

    def name_of(model: Any) -> str:
        return str(references[model, "validation"]["$ref"]).rpartition("/")[2]

    for entry, names in entries:
        forms = {name: definitions[name_of(families[name])] for name in names}
        described = [{"const": name, "description": _first_line(families[name])} for name in names]
        definitions[name_of(entry)] = _entry(
            entry.__name__, definitions[name_of(entry)], forms, described, definitions
        )
    for family in families.values():
        del definitions[name_of(family)]
    definitions.pop(PortRef.__name__, None)  # written as text, part.port
    top = definitions.pop(name_of(file))
    plain: dict[str, Any] = _plain({**top, "title": title, "$defs": definitions})
    return {"$schema": _DRAFT, **plain}


def _entry(
    entry: str,
    choice: dict[str, Any],
    forms: dict[str, dict[str, Any]],
    described: list[dict[str, str]],
    definitions: dict[str, Any],
) -> dict[str, Any]:
    """An entry whose other keys depend on its ``shape``; a definition is added for each."""
    common = {key: value for key, value in choice["properties"].items() if key != "use"}
    branches: list[dict[str, Any]] = []
    for name, family in forms.items():
        own = family.get("properties", {})
        properties = {**common, **own, "shape": {"const": name}}
        if "measured" in common:
            measured = {"type": "object", "properties": own, "additionalProperties": False}
            properties["measured"] = {**common["measured"], **measured}
        definitions[f"{entry}_{name}"] = {
            "title": name,
            "type": "object",
            "properties": properties,
            "required": ["shape", *family.get("required", [])],
            "additionalProperties": False,
        }
        match = {"properties": {"shape": {"const": name}}, "required": ["shape"]}
        branches.append({"if": match, "then": {"$ref": f"#/$defs/{entry}_{name}"}})
    made: dict[str, Any] = {
        "title": choice["title"],
        "description": choice["description"],
        "type": "object",
        "properties": {"shape": {**common["shape"], "enum": list(forms), "anyOf": described}},
        "allOf": branches,
    }
    use = choice["properties"].get("use")
    if use is None:
        return {**made, "required": ["shape"]}
    # Which keys a part of a library takes is told by its file, which no schema knows.
    ready = {"enum": list(built_in().holders)}
    made["properties"]["use"] = {"description": use["description"], "anyOf": [ready, {"type": "string"}]}
    shared = {key: value for key, value in common.items() if key != "shape"}
    branches.append({"if": {"required": ["use"]}, "then": {"properties": shared}})
    return {**made, "oneOf": [{"required": ["shape"]}, {"required": ["use"]}]}


def _first_line(family: type) -> str:
    return (family.__doc__ or "").strip().partition("\n")[0]


def _plain(node: Any) -> Any:
    """Without null (a scene file holds none), with standard names of limits, units in descriptions."""
    if isinstance(node, list):
        return [_plain(each) for each in node]
    if not isinstance(node, dict):
        return node
    alternatives = node.get("anyOf")
    if alternatives and {"type": "null"} in alternatives:
        others = [each for each in alternatives if each != {"type": "null"}]
        rest = {key: value for key, value in node.items() if key != "anyOf"}
        node = {**others[0], **rest} if len(others) == 1 else {**rest, "anyOf": others}
    if node.get("default", ...) is None:
        node = {key: value for key, value in node.items() if key != "default"}
    plain = {_LIMITS.get(key, key): _plain(value) for key, value in node.items()}
    if isinstance(plain.get("unit"), str) and isinstance(plain.get("description"), str) and plain["unit"]:
        plain["description"] += f" [{plain['unit']}]"
    return plain
