"""Picture detail: what solids look like close up, drawn inside them and never checked.

Only pictures read this. A solid with detail is drawn by it, any other as it is: a sheet with an
opening always, for a body could reach across the opening with all its vertices in the sheet.
Families do not know their detail: the table here finds it by family and solid.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import TypeAlias

from shapes.detail import air, boards, coolant
from shapes.detail.bodies import Detail, bevelled, turned
from shapes.part import Part, Solid
from shapes.primitives import Box, Cylinder

Rule: TypeAlias = Callable[[Part, Solid], Iterable[Detail]]

_GRIPS: Mapping[str, Rule] = MappingProxyType(
    dict.fromkeys(("collar", "clamp", "sleeve", "insert", "nut", "cap"), coolant.grip)
)
_PUMP: Mapping[str, Rule] = MappingProxyType({"motor": coolant.motor, "top": coolant.pump_top})
_FITTINGS = (
    "angled_fitting",
    "barb_fitting",
    "bulkhead",
    "drain",
    "male_coupler",
    "quick_disconnect",
    "rigid_fitting",
    "rotary_adapter",
    "soft_fitting",
)

#: Family -> name of a solid, less its number -> who draws it.
DETAIL: Mapping[str, Mapping[str, Rule]] = MappingProxyType(
    {
        **dict.fromkeys(_FITTINGS, _GRIPS),
        "bay_reservoir": {"body": coolant.clear_box},
        "cpu_block": {"body": coolant.cpu_body, "nut": coolant.grip},
        "distribution_plate": {"plate": coolant.channels},
        "drive": {"drive": boards.drive},
        "extender": {"body": coolant.grip},
        "fan": {"rotor": air.rotor},
        "filter": {"mesh": air.mesh},
        "graphics_card": {
            "backplate": boards.backplate,
            "cooler": air.air_cooler,
            "water_block": boards.water_block,
        },
        "inline_pump": _PUMP,
        "motherboard": {
            "chipset_sink": boards.heat_sink,
            "memory": boards.memory,
            "pcb": boards.circuit_board,
            "rear_heat_sink": boards.heat_sink,
            "slot": boards.slot,
            "top_heat_sink": boards.heat_sink,
        },
        "plug": {"base": coolant.grip},
        "power_supply": {"housing": air.supply},
        "pump": _PUMP,
        "pump_reservoir": {**_PUMP, "tube": coolant.reservoir_tube, "fill_cap": coolant.grip},
        "pump_top": _PUMP,
        "radiator": {"fins": air.fins},
        "riser": {"slot": boards.slot},
        "temperature_plug": {"base": coolant.grip},
        "tube_reservoir": {"tube": coolant.reservoir_tube, "fill_cap": coolant.grip},
    }
)
#: Drawn as they were measured or modelled.
PLAIN = frozenset({"custom", "import"})
#: Thinner boxes and bars keep their sharp edges.
_LEAST_BEVELLED_MM = 2.5


def detail(family: str, part: Part) -> tuple[Detail, ...]:
    """All detail of a part of this family, hosts in the order of the part's solids."""
    if family in PLAIN:
        return ()
    rules = DETAIL.get(family, {})
    found: list[Detail] = []
    for solid in part.solids:
        rule = rules.get(re.sub(r"_\d+$", "", solid.name))
        drawn = () if rule is None else tuple(rule(part, solid))
        found += drawn or _softened(solid)
    return tuple(found)


def _softened(solid: Solid) -> tuple[Detail, ...]:
    """A box or bar with its edges broken, as made things have them."""
    match solid.primitive:
        case Box(size=size) if min(size) >= _LEAST_BEVELLED_MM:
            half = [length / 2.0 for length in size]
            body = bevelled([-length for length in half], half, min(0.8, 0.08 * min(size)))
        case Cylinder(diameter=diameter, length=length) if min(diameter, length) >= _LEAST_BEVELLED_MM:
            bevel, radius, end = min(0.6, 0.06 * min(diameter, length)), diameter / 2.0, length / 2.0
            profile = (
                (radius - bevel, -end),
                (radius, bevel - end),
                (radius, end - bevel),
                (radius - bevel, end),
            )
            body = turned(profile, 24 if diameter < 15.0 else 48)
        case _:
            return ()
    return (Detail("edges", solid.name, solid.look, body, drilled=True),)
