"""What the models say about a value, in words for a builder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from layout3d.scene.complaints import Key, nearest
from layout3d.scene.document import BROKEN
from layout3d.scene.trace import Trace, as_model, literals, tag_words, tuple_parts
from shapes.units import parse_angle, parse_length, states_tolerance


@dataclass(frozen=True, slots=True)
class Complaint:
    """What is wrong at a key of the value that was validated.

    missing : the key is not there
    meant : for an unknown key, the one it was probably meant to be
    """

    key: Key
    message: str
    choices: tuple[str, ...] = ()
    missing: bool = False
    meant: Key = ()


def complaints_about(
    error: ValidationError, model: type[BaseModel], data: object, also: tuple[str, ...] = ()
) -> list[Complaint]:
    """Every fault of ``data``, once; ``also`` are keys known beside those of ``model`` at the top."""
    found: dict[Complaint, None] = {}
    for fault in error.errors(include_url=False):
        trace = Trace.along(fault["loc"], model, data)
        if not (_holds_broken(trace.value) or _is_long_enough(fault, trace.value)):
            found[_worded(fault, trace, also)] = None
    meant = {complaint.meant for complaint in found}
    return [complaint for complaint in found if not (complaint.missing and complaint.key in meant)]


def _worded(fault: Any, trace: Trace, also: tuple[str, ...]) -> Complaint:
    kind, context, got = fault["type"], fault.get("ctx", {}), shown(trace.value)
    if kind == "missing":
        return _missing(trace)
    if kind == "extra_forbidden":
        return _unknown_key(trace, also if len(trace.key) == 1 else ())
    if kind == "value_error":
        cause = context["error"]
        return Complaint(trace.key, str(cause), getattr(cause, "choices", ()))
    if kind in ("literal_error", "union_tag_invalid", "union_tag_not_found"):
        return _one_of(kind, context, trace)
    if kind in ("too_long", "tuple_type") and (parts := tuple_parts(trace.kind)):
        return Complaint(trace.key, f"expected {_listed(parts)}, got {_count(trace.value)}{_comma(trace)}")
    if kind == "too_short":
        wanted = f"a list of at least {context['min_length']}"
        return Complaint(trace.key, f"expected {wanted}, got {_count(trace.value)}")
    if kind == "form":
        return Complaint(trace.key, f"{fault['msg']}; got {got}")
    if limits := _range(trace, context):
        unit = _unit(trace)
        got += "" if isinstance(trace.value, str) else unit
        return Complaint(trace.key, f"{got} is out of range: it must be {limits}{unit}")
    expected = _EXPECTED.get(kind)
    if expected is None:
        return Complaint(trace.key, f"{fault['msg'][:1].lower()}{fault['msg'][1:]}, got {got}")
    hint = _HINTS.get(kind, "") if isinstance(trace.value, str | int | float) else ""
    if kind.startswith("int_") and isinstance(trace.value, str) and states_tolerance(trace.value):
        hint = ": only lengths take a tolerance"
    return Complaint(trace.key, f"expected {expected}, got {got}{hint.format(trace.value)}")


_EXPECTED = {
    "string_type": "text",
    "string_too_short": "text",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "bool_type": "true or false",
    "tuple_type": "a list",
    "list_type": "a list",
    "dict_type": "a mapping (`key: value` lines)",
    "mapping_type": "a mapping (`key: value` lines)",
    "model_type": "a mapping (`key: value` lines)",
    "model_attributes_type": "a mapping (`key: value` lines)",
    "string_pattern_mismatch": "64 characters from 0 to 9 and a to f",
}
_LIMITS = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
_HINTS = {"string_type": ": put it in quotes, '{0}'", "bool_type": " (plain yes and no are text)"}


def shown(value: object) -> str:
    """A value of the file as its writer would name it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return repr(value if len(value) <= 40 else f"{value[:37]}...")
    if isinstance(value, dict):
        keys = ", ".join(map(str, list(value)[:6]))
        return f"a mapping with {keys}" if value else "an empty mapping"
    if isinstance(value, tuple):
        return f"a list of {len(value)}" if value else "an empty list"
    return str(value)


def _missing(trace: Trace) -> Complaint:
    if trace.key and isinstance(trace.key[-1], int):
        above = trace.above
        assert above is not None
        wanted = _listed(tuple_parts(above.kind))
        return Complaint(above.key, f"expected {wanted}, got {_count(above.value)}")
    unit = _unit(trace).replace(" ", ", ")
    what = f": {trace.description}{unit}" if trace.description else ""
    return Complaint(trace.key, f"missing key {str(trace.key[-1])!r}{what}", missing=True)


def _unknown_key(trace: Trace, also: tuple[str, ...]) -> Complaint:
    word = str(trace.key[-1])
    model = as_model(trace.above.kind) if trace.above is not None else None
    own = [field.alias or name for name, field in model.model_fields.items()] if model is not None else []
    known = (*own, *also)
    near = nearest(word, known)
    hint = f"; did you mean {near}?" if near else f"; known: {', '.join(known)}" if known else ""
    meant = (*trace.key[:-1], near) if near else ()
    return Complaint(trace.key, f"unknown key {word!r}{hint}", known, meant=meant)


def _one_of(kind: str, context: Any, trace: Trace) -> Complaint:
    if kind == "union_tag_not_found":
        name = context["discriminator"].strip("'")
        what = " or ".join(tag_words(trace.kind, name))
        return Complaint((*trace.key, name), f"missing key {name!r}: {what}", tag_words(trace.kind, name))
    key, value = trace.key, trace.value
    if kind == "union_tag_invalid":
        name = context["discriminator"].strip("'")
        choices = tag_words(trace.kind, name)
        key, value = (*trace.key, name), context["tag"]
    else:
        choices = tuple(str(choice) for choice in literals(trace.kind))
    near = nearest(value, choices) if isinstance(value, str) else None
    hint = f"; did you mean {near}?" if near else ""
    return Complaint(
        key, f"expected {_either(choices) or context.get('expected')}, got {shown(value)}{hint}", choices
    )


def _either(words: tuple[str, ...]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _range(trace: Trace, context: Any) -> str:
    """ "above 0, at most 500": all limits of the value, where one was broken."""
    if not context.keys() & _LIMITS.keys():
        return ""
    stated = dict(context)
    for note in trace.notes:
        stated |= {name: getattr(note, name) for name in _LIMITS if hasattr(note, name)}
    return ", ".join(f"{word} {stated[name]:g}" for name, word in _LIMITS.items() if name in stated)


def _unit(trace: Trace) -> str:
    readers = [getattr(note, "func", None) for note in trace.notes]
    return " mm" if parse_length in readers else " degrees" if parse_angle in readers else ""


def _listed(parts: tuple[Any, ...]) -> str:
    """ "a list of 3 lengths [x, y, z] in mm" for the element types of a tuple."""
    units = {_unit(Trace((), None, None).declared(part)) for part in parts}
    what, unit = {" mm": ("lengths", " in mm"), " degrees": ("angles", " in degrees")}.get(
        units.pop() if len(units) == 1 else "", ("items", "")
    )
    axes = f" [{', '.join('xyz'[: len(parts)])}]" if unit and len(parts) <= 3 else ""
    return f"a list of {len(parts)} {what}{axes}{unit}"


def _count(value: object) -> str:
    return str(len(value)) if isinstance(value, tuple) else shown(value)


def _comma(trace: Trace) -> str:
    numbers = isinstance(trace.value, tuple) and all(isinstance(each, int | float) for each in trace.value)
    return " (a decimal comma makes two numbers of one: write a point)" if numbers else ""


def _is_long_enough(fault: Any, value: object) -> bool:
    """Whether a list is only too short because pydantic leaves faulty items out of its count."""
    return (
        fault["type"] == "too_short" and isinstance(value, tuple) and len(value) >= fault["ctx"]["min_length"]
    )


def _holds_broken(value: object) -> bool:
    if isinstance(value, dict):
        return any(map(_holds_broken, value.values()))
    if isinstance(value, tuple):
        return any(map(_holds_broken, value))
    return value is BROKEN
