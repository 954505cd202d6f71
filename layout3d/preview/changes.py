"""What differs between two layouts of one build, in words for the client."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from layout3d.checks.check import Checked
from layout3d.exporters.contents import solids_key
from layout3d.layout import Layout, PlacedPart, Tube
from layout3d.words import mm
from shapes.bounds import part_box
from shapes.pose import DIRECTIONS, Array

Kind: TypeAlias = Literal["added", "removed", "changed", "moved", "mended", "arisen"]
#: Less than this is no move [mm], and no turn (of a rotation's entries).
_STILL_MM, _STILL_TURN = 0.005, 1e-6


@dataclass(frozen=True, slots=True)
class Change:
    """``names`` : the parts or tubes it is about."""

    kind: Kind
    names: tuple[str, ...]
    told: str


def changes(before: Layout, now: Layout, checked_before: Checked, checked: Checked) -> tuple[Change, ...]:
    """Parts, then tubes, then findings; fittings that only went along with their tube are one line."""
    return (
        *_parts(before, now),
        *_tubes(before, now),
        *_findings(checked_before, checked),
    )


def _parts(before: Layout, now: Layout) -> Iterator[Change]:
    along = []
    for name in dict.fromkeys((*before.parts, *now.parts)):
        old, new = before.parts.get(name), now.parts.get(name)
        if old is None or new is None:
            part = new or old
            if part is not None and part.part.solids:
                words = f"{_shape(part)}, {_size(part)}"
                yield Change("added" if old is None else "removed", (name,), words)
            continue
        change = _changed(old, new)
        if change is None:
            continue
        if change.kind == "moved" and new.tube is not None:
            along.append(name)
        else:
            yield change
    if along:
        count = f"{len(along)} fittings" if len(along) > 1 else "1 fitting"
        yield Change("moved", tuple(along), f"{count}, with their parts" if len(along) > 1 else count)


def _changed(old: PlacedPart, new: PlacedPart) -> Change | None:
    told = []
    if old.shape != new.shape:
        told.append(f"{_shape(old)}, now {_shape(new)}")
    elif solids_key(old.part) != solids_key(new.part):
        sizes = _size(old), _size(new)
        told.append("another form, same size" if sizes[0] == sizes[1] else f"{sizes[0]}, now {sizes[1]}")
    moved = _moved(old, new)
    if not told and moved is None:
        return None
    kind: Kind = "changed" if told else "moved"
    return Change(kind, (new.name,), "; ".join([*told, *([moved] if moved else [])]))


def _moved(old: PlacedPart, new: PlacedPart) -> str | None:
    off = new.part2scene.origin - old.part2scene.origin
    turned = np.abs(new.part2scene.rotation - old.part2scene.rotation).max() > _STILL_TURN
    words = _way(off)
    told = [words] if words else []
    if turned:
        told.append("turned")
    return ", ".join(told) or None


def _way(off: Array) -> str:
    """ "12 mm toward the front, 3 mm toward the roof"; empty where it is no move."""
    words = []
    for word, axis in DIRECTIONS.items():
        share = float(off @ np.asarray(axis))
        if share > _STILL_MM:
            words.append(f"{mm(share)} toward the {word}")
    return ", ".join(words)


def _tubes(before: Layout, now: Layout) -> Iterator[Change]:
    old = {tube.name: tube for tube in before.tubes}
    new = {tube.name: tube for tube in now.tubes}
    for name in dict.fromkeys((*old, *new)):
        if name not in old:
            yield Change("added", (name,), f"tube {_length(new[name])}")
        elif name not in new:
            yield Change("removed", (name,), f"tube {_length(old[name])}")
        else:
            words = _tube(old[name], new[name])
            if words:
                yield Change("changed", (name,), words)


def _tube(old: Tube, new: Tube) -> str | None:
    told = []
    if (old.start, old.end) != (new.start, new.end):
        told.append(f"from {new.start} to {new.end}, before from {old.start} to {old.end}")
    if old.tubing != new.tubing:
        told.append(f"tubing {old.tubing}, now {new.tubing}")
    if old.cut_mm is None or new.cut_mm is None:
        if old.cut_mm is not new.cut_mm:
            told.append(f"{_length(old)}, now {_length(new)}")
    elif abs(new.cut_mm - old.cut_mm) >= 0.05:
        way = "longer" if new.cut_mm > old.cut_mm else "shorter"
        by = abs(new.cut_mm - old.cut_mm)
        told.append(f"{_length(old)}, now {_length(new)}: {by:.1f} mm {way}")
    elif old.run != new.run:
        told.append(f"another way, {_length(new)} as before")
    return "; ".join(told) or None


def _findings(before: Checked, now: Checked) -> Iterator[Change]:
    old = {(finding.rule, finding.parts): finding for finding in before.findings}
    new = {(finding.rule, finding.parts): finding for finding in now.findings}
    for key, finding in old.items():
        if key not in new:
            yield Change("mended", finding.parts, f"{finding.severity} {finding.rule}: {finding.message}")
    for key, finding in new.items():
        if key not in old:
            yield Change("arisen", finding.parts, f"{finding.severity} {finding.rule}: {finding.message}")


def _shape(part: PlacedPart) -> str:
    return part.shape.replace("_", " ")


def _size(part: PlacedPart) -> str:
    low, high = part_box(part.part, part.part2scene)
    return " x ".join(f"{value:.4g}" for value in high - low) + " mm"


def _length(tube: Tube) -> str:
    return "without a path" if tube.cut_mm is None else f"cut to {tube.cut_mm:.1f} mm"
