"""How much coolant goes in, as far as the layout tells."""

from __future__ import annotations

import math
from dataclasses import dataclass

from layout3d.layout import Layout
from layout3d.words import counted, number


@dataclass(frozen=True, slots=True)
class Coolant:
    """What is known, each with its millilitres, and the names of what is not."""

    known: tuple[tuple[str, float], ...]
    unknown: tuple[str, ...]

    @property
    def known_ml(self) -> float:
        """All that is known together [mL]."""
        return math.fsum(volume for _, volume in self.known)


def coolant_of(layout: Layout) -> Coolant:
    """Tubes by bore and cut length, parts by what they say of themselves; fittings count as not known."""
    known: list[tuple[str, float]] = []
    for name, tubing in layout.scene.tubings.items():
        cuts = [tube.cut_mm for tube in layout.tubes if tube.tubing == name and tube.cut_mm is not None]
        if cuts:
            what = f"{counted(len(cuts), 'tube')} of {name}, {number(tubing.inside)} mm inside"
            known.append((what, math.pi / 4.0 * tubing.inside**2 * math.fsum(cuts) / 1000.0))
    unknown = [tube.name for tube in layout.tubes if tube.cut_mm is None]
    for part in layout.parts.values():
        if part.tube is None and part.part.ports:
            if part.part.coolant_ml is None:
                unknown.append(part.name)
            else:
                known.append((part.name, part.part.coolant_ml))
    return Coolant(tuple(known), (*unknown, "fittings"))
