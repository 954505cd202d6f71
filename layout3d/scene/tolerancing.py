"""Finds the lengths with a tolerance in a scene's values, and writes other lengths in their place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from layout3d.scene.complaints import Complaints, Key
from layout3d.scene.tolerances import Tolerance, Tolerances
from shapes.units import parse_tolerance, states_tolerance

_TOLERATED = (
    "where a part stands, its sizes, its fittings and the tubing's own diameters may carry a tolerance"
)


def tolerances_in(values: Mapping[str, object], folder: Path, complaints: Complaints) -> Tolerances | None:
    """Every length with a tolerance; None where there is none.

    Complains of those on what nobody measures: rules, gaps, paths, the bench. What is no length is left
    to the models, which refuse it.
    """
    terms: dict[Key, Tolerance] = {}
    for key, text in _texts(values, ()):
        try:
            nominal, below, above = parse_tolerance(text)
        except ValueError:
            continue
        if (why := _not_measured(key)) is not None:
            complaints.add(key, f"{why} takes no tolerance, write {nominal:g}: {_TOLERATED}")
        elif _is_measured(key):
            terms[key] = Tolerance(nominal, below, above)
    return Tolerances(MappingProxyType(terms), values, folder) if terms else None


def with_lengths(value: object, lengths: Mapping[Key, float], key: Key = ()) -> object:
    """The same values with these lengths [mm] at their keys."""
    if key in lengths:
        return lengths[key]
    if isinstance(value, dict):
        return {name: with_lengths(item, lengths, (*key, name)) for name, item in value.items()}
    if isinstance(value, tuple):
        return tuple(with_lengths(item, lengths, (*key, at)) for at, item in enumerate(value))
    return value


def _texts(value: object, key: Key) -> Iterator[tuple[Key, str]]:
    if isinstance(value, str):
        if states_tolerance(value):
            yield key, value
    elif isinstance(value, dict):
        for name, item in value.items():
            yield from _texts(item, (*key, name))
    elif isinstance(value, tuple):
        for at, item in enumerate(value):
            yield from _texts(item, (*key, at))


def _is_measured(key: Key) -> bool:
    """Whether a length may stand here; else it is a title, a remark or the like."""
    free = ("label", "note", "source", "price", "mass", "metals", "use", "file")
    return key[0] in ("parts", "tubes", "tubings", "stacks") and not any(step in free for step in key[2:])


def _not_measured(key: Key) -> str | None:
    """Why a length at this key is no measurement, or None where it is one."""
    if key[0] == "rules":
        return "a rule is what is asked for, it"
    if key[0] == "bench":
        return "what stands under `bench`"
    last = key[2] if len(key) > 2 else ""
    if key[0] in ("parts", "tubes") and last in ("gap", "bend_cost"):
        return f"`{last}` is what is asked for, it"
    if key[0] == "tubes" and last in ("path", "cut"):
        return "a tube is cut to its path, which"
    if key[0] == "tubings" and last not in ("outside", "inside"):
        return f"`{last}` is a rule of the tubing, it"
    return None
