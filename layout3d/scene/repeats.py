"""Entries with ``count``: several equal parts written once."""

from __future__ import annotations

from dataclasses import replace

from layout3d.scene.complaints import Complaints
from layout3d.scene.entries import PartEntry, SceneFile
from layout3d.scene.model import Places
from layout3d.scene.names import name_fault


def repeated(
    entries: SceneFile, places: Places, complaints: Complaints
) -> tuple[SceneFile, Places, dict[str, tuple[str, ...]]]:
    """The scene with ``fan`` of ``count: 3`` as fan_1, fan_2, fan_3, and which those are by name.

    Their lines are those of the entry; complains of names that are taken or too long.
    """
    counted = {
        name: tuple(f"{name}_{number}" for number in range(1, entry.count + 1))
        for name, entry in entries.parts.items()
        if entry.count is not None
    }
    if not counted:
        return entries, places, {}
    parts: dict[str, PartEntry] = {}
    for name, entry in entries.parts.items():
        parts |= dict.fromkeys(counted.get(name, (name,)), entry)
    folded = {name.lower() for name in (*entries.parts, *entries.tubes)}
    for name, clones in counted.items():
        for clone in clones:
            fault = name_fault(clone)
            if clone.lower() in folded:
                fault = f"`count` makes {clone!r}, and there is a part or tube of that name already"
            if fault:
                complaints.add(("parts", name, "count"), fault)
    lines = dict(places.lines)
    for key, line in places.lines.items():
        if key[0] == "parts" and len(key) > 1:
            lines |= {("parts", clone, *key[2:]): line for clone in counted.get(str(key[1]), ())}
    return entries.model_copy(update={"parts": parts}), replace(places, lines=lines), counted
