"""Sound entries of the file to specs: each shape is validated and built once."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import ValidationError

import shapes
from layout3d.scene.complaints import Complaints, Key
from layout3d.scene.entries import FITTING_KEYS, PART_KEYS, FittingEntry, PartEntry, SceneFile, TubeEntry
from layout3d.scene.model import FittingSpec, FixedTo, PartSpec, TubeSpec
from shapes.fields import Shape
from shapes.part import Part


@dataclass(frozen=True, slots=True)
class Made:
    """A shape with its parameters, and the part it builds."""

    shape: Shape
    part: Part


class Builder:
    """Builds the shapes of a scene; equal ones share one part."""

    def __init__(self, complaints: Complaints) -> None:
        self._complaints = complaints
        self._made: dict[str, Made] = {}

    def parts(self, entries: SceneFile) -> dict[str, Made]:
        """The parts whose shape is sound, by name."""
        made: dict[str, Made] = {}
        for name, entry in entries.parts.items():
            if one := self._make(entry, PART_KEYS, ("parts", name)):
                made[name] = one
        return made

    def fittings(self, entries: SceneFile) -> dict[str, tuple[FittingSpec | None, FittingSpec | None]]:
        """The fittings at both ends of each tube; None for no fitting, or one complained of."""
        return {
            name: (
                self._fitting(entry.fittings[0], ("tubes", name, "fittings", 0)),
                self._fitting(entry.fittings[1], ("tubes", name, "fittings", 1)),
            )
            for name, entry in entries.tubes.items()
        }

    def _fitting(self, entry: FittingEntry | str, key: Key) -> FittingSpec | None:
        if isinstance(entry, str) or (made := self._make(entry, FITTING_KEYS, key)) is None:
            return None
        if made.part.socket is None or not {"thread", "mouth"} <= made.part.ports.keys():
            known = [name for name in shapes.SHAPES if name.endswith("_fitting")]
            message = f"{entry.shape!r} is no fitting: it takes no tube; fittings: {', '.join(known)}"
            self._complaints.add((*key, "shape"), message, known)
        return FittingSpec(entry.shape, made.shape, made.part, entry.turn)

    def _make(self, entry: PartEntry | FittingEntry, own: tuple[str, ...], key: Key) -> Made | None:
        given = entry.model_extra or {}
        label = f"{entry.shape} {given!r}"
        if label in self._made:
            return self._made[label]
        family = shapes.shape_named(entry.shape)
        try:
            shape = family.model_validate(given, strict=True)
        except ValidationError as error:
            # Late, as in the reader: only faults need the words.
            from layout3d.scene.wording import complaints_about

            for found in complaints_about(error, family, given, own):
                self._complaints.add((*key, *found.key), found.message, found.choices)
            return None
        try:
            made = Made(shape, shape.build())
        except ValueError as error:
            self._complaints.add(key, str(error))
            return None
        return self._made.setdefault(label, made)


def part_spec(name: str, entry: PartEntry, made: Made, seat: FixedTo | None) -> PartSpec:
    """An entry of ``parts:`` with its part; ``seat`` is how its stack fixes it."""
    seat = entry.seat() if seat is None else seat
    return PartSpec(
        name=name,
        shape_name=entry.shape,
        shape=made.shape,
        part=made.part,
        label=entry.label,
        note=entry.note,
        at=(0.0, 0.0, 0.0) if entry.at is None and seat is None else entry.at,
        rotate=entry.rotate or (0.0, 0.0, 0.0),
        fixed_to=seat,
        off=entry.off,
        touches=entry.touches,
        gap=entry.gap,
    )


def tube_spec(
    name: str, entry: TubeEntry, fittings: tuple[FittingSpec | None, FittingSpec | None]
) -> TubeSpec:
    """An entry of ``tubes:`` with its fittings."""
    return TubeSpec(
        name=name,
        tubing=entry.tubing,
        start=entry.from_,
        end=entry.to,
        fittings=fittings,
        path=entry.run(),
        angles=entry.angles,
        directions=entry.directions or ("any" if entry.angles == "any" else "case"),
        bend_cost=entry.bend_cost,
        most_bends=entry.most_bends,
        label=entry.label,
        touches=entry.touches,
        gap=entry.gap,
    )
