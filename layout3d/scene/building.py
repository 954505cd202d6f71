"""Sound entries of the file to specs: each shape is validated and built once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

import shapes
from layout3d.scene.complaints import Complaints, Key
from layout3d.scene.entries import FITTING_KEYS, PART_KEYS, FittingEntry, PartEntry, SceneFile, TubeEntry
from layout3d.scene.model import Chain, FittingSpec, FixedTo, PartSpec, TubeSpec
from shapes.fields import Shape
from shapes.part import Part


@dataclass(frozen=True, slots=True)
class Made:
    """A shape with its parameters, and the part it builds."""

    shape: Shape
    part: Part


class Builder:
    """Builds the shapes of a scene; equal ones share one part."""

    def __init__(self, complaints: Complaints, folder: Path) -> None:
        self._complaints = complaints
        self._folder = folder
        self._made: dict[str, Made] = {}

    def parts(self, entries: SceneFile) -> dict[str, Made]:
        """The parts whose shape is sound, by name."""
        made: dict[str, Made] = {}
        for name, entry in entries.parts.items():
            if one := self._make(entry, PART_KEYS, ("parts", name)):
                made[name] = one
        return made

    def fittings(self, entries: SceneFile) -> dict[str, tuple[Chain, Chain]]:
        """The chains of fittings at both ends of each tube; faulty links are complained of and left out."""
        return {
            name: (
                self._chain(entry.fittings[0], ("tubes", name, "fittings", 0)),
                self._chain(entry.fittings[1], ("tubes", name, "fittings", 1)),
            )
            for name, entry in entries.tubes.items()
        }

    def _chain(self, entry: FittingEntry | str | tuple[FittingEntry, ...], key: Key) -> Chain:
        if isinstance(entry, str):
            return ()
        if isinstance(entry, FittingEntry):
            return tuple(self._link(entry, key, last=True))
        places = range(len(entry))
        return tuple(
            link for at in places for link in self._link(entry[at], (*key, at), last=at == places[-1])
        )

    def _link(self, entry: FittingEntry, key: Key, *, last: bool) -> Iterator[FittingSpec]:
        made = self._make(entry, FITTING_KEYS, key)
        if made is None:
            return
        if (fault := _takes_no_tube(made.part) if last else _leads_not_on(made.part)) is not None:
            known = tuple(TUBE_FITTINGS if last else CHAIN_LINKS)
            what = "fittings" if last else "links"
            self._complaints.add(
                (*key, "shape"), f"{entry.shape!r} {fault}; {what}: {', '.join(known)}", known
            )
        yield FittingSpec(entry.shape, made.shape, made.part, entry.turn, entry.use, entry.facts())

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
            part = self._imported(shape, key) if entry.shape == "import" else shape.build()
            if part is None:
                return None
            made = Made(shape, part)
        except ValueError as error:
            self._complaints.add(key, str(error))
            return None
        return self._made.setdefault(label, made)

    def _imported(self, shape: Shape, key: Key) -> Part | None:
        # Late: scenes without imported parts start without what reads them.
        from layout3d.importing.load import ImportProblem
        from layout3d.importing.parts import imported_part

        try:
            return imported_part(shape, self._folder)
        except ImportProblem as error:
            self._complaints.add((*key, "file"), str(error))
            return None


#: What may stand last in a chain of fittings, and what before it.
TUBE_FITTINGS = tuple(name for name in shapes.SHAPES if name.endswith("_fitting"))
CHAIN_LINKS = ("rotary_adapter", "extender", "male_coupler", "ball_valve", "quick_disconnect", "flow_meter")


def _takes_no_tube(part: Part) -> str | None:
    """Why the last fitting of a chain cannot be this, or None."""
    if part.socket is not None and {"thread", "mouth"} <= part.ports.keys():
        return None
    return "is no fitting: it takes no tube"


def _leads_not_on(part: Part) -> str | None:
    """Why a fitting before the last cannot be this, or None."""
    if part.socket is not None:
        return "takes the tube, so it must be the last of the list"
    threaded = [name for name, port in part.ports.items() if port.thread is not None]
    if len(threaded) == len(part.ports) == 2:
        return None
    if len(threaded) > 2:
        return (
            f"has {len(threaded)} openings: list it under `parts:`, screwed in by `fixed_to: part.port`, "
            "and run tubes from its ports"
        )
    return "does not lead on to the next: a link has two threaded ends"


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
        use=entry.use,
        facts=entry.facts(),
        service=entry.service,
    )


def tube_spec(name: str, entry: TubeEntry, fittings: tuple[Chain, Chain]) -> TubeSpec:
    """An entry of ``tubes:`` with its fittings."""
    return TubeSpec(
        name=name,
        tubing=entry.tubing,
        start=entry.from_,
        end=entry.to,
        fittings=fittings,
        fittings_given="fittings" in entry.model_fields_set,
        path=entry.run(),
        angles=entry.angles,
        directions=entry.directions or ("any" if entry.angles == "any" else "case"),
        bend_cost=entry.bend_cost,
        most_bends=entry.most_bends,
        label=entry.label,
        touches=entry.touches,
        gap=entry.gap,
        service=entry.service,
    )
