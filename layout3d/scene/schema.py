"""JSON Schema of the scene file (draft 2020-12), so that editors complete and check keys."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import models_json_schema

import shapes
from layout3d.scene.building import CHAIN_LINKS, TUBE_FITTINGS
from layout3d.scene.entries import FittingEntry, PartEntry, SceneFile
from layout3d.scene.values import PortRef

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
#: What pydantic leaves of a limit that stands behind a unit reader.
_LIMITS = {"gt": "exclusiveMinimum", "ge": "minimum", "lt": "exclusiveMaximum", "le": "maximum"}


def scene_schema() -> dict[str, Any]:
    """The schema, generated from the models that read scenes and from every shape's parameters."""
    families = {name: shapes.shape_named(name) for name in shapes.SHAPES}
    models = [(model, "validation") for model in (SceneFile, PartEntry, FittingEntry, *families.values())]
    references, schema = models_json_schema(models, by_alias=True)  # type: ignore[arg-type]
    definitions = schema["$defs"]

    def name_of(model: Any) -> str:
        return str(references[model, "validation"]["$ref"]).rpartition("/")[2]

    fittings = [name for name in families if name in (*TUBE_FITTINGS, *CHAIN_LINKS)]
    for entry, names in ((PartEntry, list(families)), (FittingEntry, fittings)):
        choice = definitions[name_of(entry)]
        common = choice["properties"]
        branches = []
        for name in names:
            family = definitions[name_of(families[name])]
            branch = f"{entry.__name__}_{name}"
            definitions[branch] = {
                "title": name,
                "type": "object",
                "properties": {**common, **family.get("properties", {}), "shape": {"const": name}},
                "required": ["shape", *family.get("required", [])],
                "additionalProperties": False,
            }
            match = {"properties": {"shape": {"const": name}}, "required": ["shape"]}
            branches.append({"if": match, "then": {"$ref": f"#/$defs/{branch}"}})
        described = [{"const": name, "description": _first_line(families[name])} for name in names]
        definitions[name_of(entry)] = {
            "title": choice["title"],
            "description": choice["description"],
            "type": "object",
            "properties": {"shape": {**common["shape"], "enum": names, "anyOf": described}},
            "required": ["shape"],
            "allOf": branches,
        }
    for family in families.values():
        del definitions[name_of(family)]
    del definitions[PortRef.__name__]  # written as text, part.port
    top = definitions.pop(name_of(SceneFile))
    plain: dict[str, Any] = _plain({**top, "title": "layout3d scene", "$defs": definitions})
    return {"$schema": _DRAFT, **plain}


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
