"""Names of parts and tubes: they become file names and the first half of ``part.port``."""

from __future__ import annotations

import re
from collections.abc import Iterable

from layout3d.scene.complaints import Complaints

NAME = r"[A-Za-z][A-Za-z0-9_-]*"
_LONGEST = 60
#: Names that Windows keeps for devices, whatever the suffix.
_DEVICES = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))]
)


def check_names(parts: Iterable[str], tubes: Iterable[str], complaints: Complaints) -> None:
    """Complain about every name that cannot be used, or that another part or tube has."""
    taken: dict[str, tuple[str, str]] = {}
    for section, names in (("parts", parts), ("tubes", tubes)):
        for name in names:
            key = (section, name)
            if fault := name_fault(name):
                complaints.add(key, fault)
            what, first = taken.setdefault(name.lower(), (section, name))
            if (what, first) != key:
                where = f"{first!r} in {what}, line {complaints.line(what, first)}"
                complaints.add(
                    key,
                    f"the name {name!r} is taken by {where}: parts and tubes share one set of names, "
                    "and capitals make no difference",
                )


def name_fault(name: str) -> str | None:
    """Why ``name`` cannot name a part or tube, or None."""
    if not re.fullmatch(NAME, name):
        return (
            f"{name!r} cannot be a name: a letter, then letters, digits, _ and -; free text goes in `label:`"
        )
    if len(name) > _LONGEST:
        return f"a name of {len(name)} characters is too long: at most {_LONGEST}; free text goes in `label:`"
    if name.lower() in _DEVICES:
        return (
            f"{name!r} cannot be a name: Windows keeps it for a device and cannot store a file of that name"
        )
    return None
