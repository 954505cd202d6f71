"""From the place of a fault, as pydantic gives it, to the file's key, value and declared type."""

from __future__ import annotations

import types
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, Tag
from pydantic.fields import FieldInfo

from layout3d.scene.complaints import Key


@dataclass(frozen=True, slots=True)
class Trace:
    """One value of the file and what is declared about it.

    kind : its type, without Annotated and "or None"; None where nothing is declared
    notes : what Annotated says: limits, validators, tags
    above : the list or mapping it stands in
    """

    key: Key
    value: object
    kind: Any
    notes: tuple[Any, ...] = ()
    description: str | None = None
    above: Trace | None = None

    @staticmethod
    def along(place: Sequence[str | int], model: type[BaseModel], data: object) -> Trace:
        """The trace of a fault's place below ``model``, which read ``data``.

        Steps that only name the branch of a union are in the place, not in the file.
        """
        trace = Trace((), data, model)
        for step in place:
            trace = trace._step(step)
        return trace

    def _step(self, step: str | int) -> Trace:
        members = union_members(self.kind)
        if members:
            branch = next((member for member in members if _is_branch(member, step)), None)
            return replace(self, kind=None, notes=()).declared(branch)
        if step == "[key]":
            return self
        below = Trace((*self.key, step), _item(self.value, step), None, above=self)
        if (model := as_model(self.kind)) is not None:
            for name, field in model.model_fields.items():
                if step in (name, field.alias):
                    found = replace(below, notes=tuple(field.metadata), description=field.description)
                    return found.declared(field.annotation)
            return below
        return below.declared(_element(self.kind, step))

    def declared(self, kind: Any) -> Trace:
        """With ``kind`` taken apart."""
        notes, description = self.notes, self.description
        while True:
            if get_origin(kind) is Annotated:
                kind, *said = get_args(kind)
                for note in said:
                    if isinstance(note, FieldInfo):
                        notes += tuple(note.metadata)
                        description = description or note.description
                    else:
                        notes += (note,)
            elif len(members := _but_none(kind)) == 1:
                (kind,) = members
            else:
                return replace(self, kind=kind, notes=notes, description=description)


def as_model(kind: Any) -> type[BaseModel] | None:
    """The kind where it is a model."""
    return kind if isinstance(kind, type) and issubclass(kind, BaseModel) else None


def union_members(kind: Any) -> tuple[Any, ...]:
    """The alternatives of a union of several, None left out."""
    members = _but_none(kind)
    return members if len(members) > 1 else ()


def tuple_parts(kind: Any) -> tuple[Any, ...]:
    """The element types of a tuple of fixed length, else nothing."""
    parts = get_args(kind) if get_origin(kind) is tuple else ()
    return () if Ellipsis in parts else parts


def literals(kind: Any) -> tuple[Any, ...]:
    """The words a Literal allows."""
    return get_args(kind) if get_origin(kind) is Literal else ()


def tag_words(kind: Any, field: str) -> tuple[str, ...]:
    """The words that tell the alternatives of a union apart, in the key ``field``."""
    models = filter(None, map(as_model, union_members(kind)))
    return tuple(str(word) for model in models for word in literals(model.model_fields[field].annotation))


def _but_none(kind: Any) -> tuple[Any, ...]:
    if get_origin(kind) not in (Union, types.UnionType):
        return ()
    return tuple(member for member in get_args(kind) if member is not type(None))


def _is_branch(member: Any, step: str | int) -> bool:
    if get_origin(member) is Annotated:
        return any(isinstance(note, Tag) and note.tag == step for note in get_args(member)[1:])
    model = as_model(member)
    return model is not None and any(
        literals(field.annotation) == (step,) for field in model.model_fields.values()
    )


def _element(kind: Any, step: str | int) -> Any:
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (dict, Mapping):
        return parts[1]
    if origin is tuple and isinstance(step, int):
        return parts[0] if Ellipsis in parts else parts[min(step, len(parts) - 1)]
    return None


def _item(value: object, step: str | int) -> object:
    if isinstance(value, dict):
        return value.get(step)
    if isinstance(value, tuple) and isinstance(step, int) and step < len(value):
        return value[step]
    return None
