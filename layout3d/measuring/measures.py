"""What is measured on a case of each family, and between which faces of the part.

An end of a measure is ``solid.side`` (that side of a solid's box), ``%board.side`` or ``%psu.side``
(what stands in the case), ``@mount`` (its middle) or ``@mount<`` and ``@mount>`` (the ends of a row's
screw slots, or of a round opening).
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Measure:
    """One length to take: the case's parameter, the view it is drawn in, and its two ends.

    place : where across the view the dimension line is drawn, 0 left or low to 1 right or high
    """

    key: str
    view: str
    start: str
    end: str
    place: float = 0.5


@dataclass(frozen=True, slots=True)
class Sheet:
    """A family's caliper sheet: what is ticked and what is measured."""

    shape: str
    called: str
    ticked: tuple[str, ...]
    measures: tuple[Measure, ...]


def _shell(panel: str = "tray_panel") -> tuple[Measure, ...]:
    return (
        Measure("width", "rear", "floor.window", "floor.tray", 0.5),
        Measure("depth", "window", "floor.rear", "floor.front", 0.5),
        Measure("height", "window", "floor.floor", "roof.roof", 0.94),
        Measure("panel", "above", f"{panel}.window", f"{panel}.tray", 0.5),
        Measure("glass", "above", "window_panel.window", "window_panel.tray", 0.5),
        Measure("feet", "window", "foot_front_window.floor", "floor.floor", 0.9),
    )


_SUPPLY_LIFT = Measure("psu_lift", "tray", "floor.roof", "%psu.floor", 0.85)

_TOWER = Sheet(
    "case_tower",
    "Tower",
    (
        "size",
        "mirrored",
        "stand_offs",
        "slots",
        "window",
        "rear_fan",
        "psu",
        "shroud",
        "passes",
        "drive_cage",
        "bays",
    ),
    (
        *_shell(),
        Measure("cable_room", "above", "tray.tray", "tray_panel.window", 0.6),
        Measure("board_drop", "window", "roof.floor", "%board.roof", 0.3),
        Measure("roof_slots", "roof", "@roof<", "@roof>", 0.75),
        Measure("roof_middle", "roof", "rear.front", "@roof", 0.25),
        Measure("roof_offset", "above", "tray.window", "@roof", 0.5),
        Measure("front_slots", "front", "@front<", "@front>", 0.25),
        Measure("front_middle", "front", "floor.roof", "@front", 0.75),
        Measure("front_offset", "above", "tray.window", "@front", 0.93),
        Measure("rear_fan_drop", "rear", "roof.floor", "@rear", 0.75),
        Measure("rear_fan_offset", "above", "tray.window", "@rear", 0.07),
        Measure("floor_slots", "deep", "@floor<", "@floor>", 0.8),
        Measure("floor_middle", "deep", "rear.front", "@floor", 0.2),
        _SUPPLY_LIFT,
        Measure("shroud_height", "window", "floor.roof", "shroud_top.roof", 0.7),
        Measure("shroud_length", "window", "rear.front", "shroud_top.front", 0.35),
        Measure("pass_diameter", "above", "@pass_1<", "@pass_1>", 0.3),
    ),
)
_SANDWICH = Sheet(
    "case_sandwich",
    "Mini-ITX sandwich",
    ("slots", "window"),
    (
        *_shell(),
        Measure("board_room", "behind", "window_panel.tray", "spine.window", 0.4),
        Measure("roof_room", "behind", "roof.floor", "spine.roof", 0.8),
        Measure("board_drop", "behind", "spine.roof", "%board.roof", 0.65),
        Measure("card_offset", "behind", "spine.tray", "@riser", 0.65),
        Measure("card_drop", "behind", "spine.roof", "@riser", 0.35),
        Measure("roof_slots", "roof", "@roof<", "@roof>", 0.8),
        Measure("roof_middle", "roof", "rear.front", "@roof", 0.2),
        Measure("roof_offset", "roof", "tray_panel.window", "@roof", 0.5),
        Measure("supply_front", "window", "front.rear", "supply_bracket.front", 0.3),
        Measure("supply_lift", "window", "floor.roof", "%psu.floor", 0.75),
    ),
)
_SHOEBOX = Sheet(
    "case_shoebox",
    "Mini-ITX shoe-box",
    ("slots", "window", "rear_fan", "psu", "drive_cage"),
    (
        *_shell(),
        Measure("deck_height", "window", "floor.roof", "deck.roof", 0.6),
        Measure("deck_length", "window", "rear.front", "deck.front", 0.45),
        Measure("board_drop", "above", "tray_panel.window", "%board.tray", 0.3),
        Measure("roof_slots", "roof", "@roof<", "@roof>", 0.8),
        Measure("roof_middle", "roof", "rear.front", "@roof", 0.2),
        Measure("roof_offset", "roof", "tray_panel.window", "@roof", 0.5),
        Measure("front_slots", "front", "@front<", "@front>", 0.2),
        Measure("front_middle", "front", "floor.roof", "@front", 0.8),
        Measure("front_offset", "front", "tray_panel.window", "@front", 0.5),
        Measure("rear_fan_drop", "rear", "roof.floor", "@rear", 0.2),
        Measure("rear_fan_offset", "rear", "tray_panel.window", "@rear", 0.8),
        Measure("psu_lift", "window", "floor.roof", "%psu.floor", 0.3),
    ),
)
_DUAL = Sheet(
    "case_dual",
    "Dual chamber",
    ("mirrored", "front", "stand_offs", "slots", "window", "rear_fan", "psu", "drive_plates"),
    (
        *_shell(),
        Measure("chamber", "above", "window_panel.tray", "tray.window", 0.4),
        Measure("board_drop", "window", "roof.floor", "%board.roof", 0.3),
        Measure("roof_slots", "roof", "@roof<", "@roof>", 0.8),
        Measure("floor_slots", "deep", "@floor<", "@floor>", 0.5),
        Measure("row_middle", "roof", "rear.front", "@roof", 0.2),
        Measure("row_offset", "above", "tray.window", "@roof", 0.5),
        Measure("side_slots", "window", "@side<", "@side>", 0.9),
        Measure("side_middle", "window", "floor.roof", "@side", 0.65),
        Measure("side_inset", "window", "front.rear", "@side", 0.5),
        Measure("rear_fan_drop", "rear", "%board.roof", "@rear", 0.75),
        Measure("rear_fan_offset", "above", "tray.window", "@rear", 0.05),
        _SUPPLY_LIFT,
    ),
)
_OPEN = Sheet(
    "open_frame",
    "Open frame",
    ("stand_offs", "slots", "psu", "drives"),
    (
        Measure("width", "rear", "lower_deck.window", "lower_deck.tray", 0.5),
        Measure("depth", "window", "lower_deck.rear", "lower_deck.front", 0.5),
        Measure("deck_height", "window", "lower_deck.floor", "upper_deck.roof", 0.8),
        Measure("panel", "rear", "rail.window", "rail.tray", 0.8),
        Measure("feet", "window", "foot_front_window.floor", "lower_deck.floor", 0.9),
        Measure("board_drop", "roof", "rail.window", "%board.tray", 0.4),
        Measure("rail_slots", "window", "@rail<", "@rail>", 0.9),
        Measure("rail_height", "window", "upper_deck.roof", "rail.roof", 0.9),
        Measure("psu_offset", "rear", "lower_deck.tray", "@psu", 0.3),
    ),
)
#: Word on the command line -> sheet.
SHEETS = MappingProxyType(
    {"tower": _TOWER, "sandwich": _SANDWICH, "shoebox": _SHOEBOX, "dual": _DUAL, "open": _OPEN}
)


def sheet_of(shape: str) -> Sheet | None:
    """The sheet of a family by its name in a scene."""
    return next((sheet for sheet in SHEETS.values() if sheet.shape == shape), None)
