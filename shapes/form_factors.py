"""Where boards, slots and power supplies have their holes: what case, board and card share.

Places on a board are (down, along) [mm]: ``down`` from its top edge (the I/O side) toward the
slots, ``along`` from its rear edge toward the front, as it stands in a tower. Heights count
from the board's component face toward the window.

Sources
-------
Outlines, I/O aperture, board thickness: microATX specification 1.2 (tables 3 and 6, figures 4
and 5) and the Mini-ITX addendum 1.1. Holes: ATX hole table in inches, two secondary
sources agree. Slot and bracket: the PCI Express card drawings, secondary source,
original not read. Power supplies: secondary source of the PS/2 and SFX styles, the
corner that two sources give differently as it was measured. Stand-off height: common
practice (the 0.25 in left free under a board).
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Annotated, Literal, TypeAlias

from pydantic import BeforeValidator

from shapes.part import Hole
from shapes.pose import Vec3

#: What builders call a form or style, without spaces, dashes and capitals -> its name here.
_FORM_WORDS = MappingProxyType(
    {
        "atx": "ATX",
        "microatx": "microATX",
        "matx": "microATX",
        "uatx": "microATX",
        "µatx": "microATX",
        "miniitx": "Mini-ITX",
        "mitx": "Mini-ITX",
        "itx": "Mini-ITX",
    }
)
_WIDE_WORDS = frozenset({"eatx", "extendedatx", "ssiceb", "ceb"})
_STYLE_WORDS = MappingProxyType({"ps2": "PS2", "atx": "PS2", "sfx": "SFX", "sfxl": "SFX"})


def _plain(text: str) -> str:
    return "".join(letter for letter in text.lower() if letter.isalnum())


def board_form(word: object) -> object:
    """The form a builder's word means: ``mATX`` is ``microATX``; other words stay as they are.

    ValueError for boards wider than ATX: those with ATX holes are written by their depth.
    """
    if not isinstance(word, str):
        return word
    if _plain(word) in _WIDE_WORDS:
        raise ValueError(
            f"{word!r}: a board deeper than 243.84 mm with ATX holes is `form: ATX` with its own `depth:`, "
            "266.7 (10.5 in) and 330.2 mm (13 in) are usual; compare its holes, some have others"
        )
    return _FORM_WORDS.get(_plain(word), word)


def psu_style(word: object) -> object:
    """The style a builder's word means: ``ATX`` and ``PS/2`` are ``PS2``, ``SFX-L`` has SFX screws."""
    return _STYLE_WORDS.get(_plain(word), word) if isinstance(word, str) else word


BoardForm: TypeAlias = Annotated[Literal["ATX", "microATX", "Mini-ITX"], BeforeValidator(board_form)]
PsuStyle: TypeAlias = Annotated[Literal["PS2", "SFX"], BeforeValidator(psu_style)]
Point2: TypeAlias = tuple[float, float]

PCB_MM = 1.57
STAND_OFF_MM = 6.35
BOARD_HOLE_MM = 3.96
#: Least from a hole's middle to a board's edge, as on the standard forms.
BOARD_EDGE_MM = 5.0
#: Form -> extent (down, along).
BOARD_OUTLINE_MM = MappingProxyType(
    {"ATX": (304.8, 243.84), "microATX": (243.84, 243.84), "Mini-ITX": (170.18, 170.18)}
)
#: Letter of the specifications -> (down, along).
BOARD_HOLES_MM = MappingProxyType(
    {
        "A": (288.29, 10.16),
        "B": (209.55, 10.16),
        "C": (163.83, 10.16),
        "F": (6.35, 33.02),
        "G": (288.29, 165.10),
        "H": (163.83, 165.10),
        "J": (6.35, 165.10),
        "K": (288.29, 237.49),
        "L": (163.83, 237.49),
        "M": (6.35, 237.49),
        "R": (229.87, 165.10),
        "S": (209.55, 165.10),
    }
)
HOLE_SETS = MappingProxyType({"ATX": "ACFGHJKLM", "microATX": "BCFHJLMRS", "Mini-ITX": "CFHJ"})
SLOT_COUNT = MappingProxyType({"ATX": 7, "microATX": 4, "Mini-ITX": 1})

#: The case's rear panel: its inner face lies this far behind the board's rear edge.
REAR_PANEL_MM = 2.11
#: I/O aperture in the rear panel: down, and height over the component face (below it at first).
IO_DOWN_MM = (-2.44, 156.31)
IO_HEIGHT_MM = (-3.81, 40.64)

#: First slot's datum (down, along): the card's middle plane and the key of its edge.
SLOT_DATUM_MM = (162.26, 57.10)
SLOT_PITCH_MM = 20.32
SLOT_CONNECTOR_MM = MappingProxyType({"x1": 25.0, "x4": 39.0, "x8": 56.0, "x16": 89.0})
SLOT_CONNECTOR_WIDTH_MM = 7.5
SLOT_CONNECTOR_HEIGHT_MM = 11.25
#: A drive module on the board under its cover, in the place of a slot: across and along.
#: 22 x 80 mm modules (common practice), from 60 mm before the rear edge (no source).
MODULE_COVER_MM = (22.0, (60.0, 142.0))
#: From the connector's rear end to the datum.
SLOT_CONNECTOR_REAR_MM = 14.50
#: A seated card's edge ends this high over the board; the rest of the connector is taken by it.
SLOT_FLOOR_MM = 3.40
SLOT_ENGAGEMENT_MM = SLOT_CONNECTOR_HEIGHT_MM - SLOT_FLOOR_MM
#: Bracket opening in the rear panel: below the card's middle plane, and height over the board.
SLOT_OPENING_DOWN_MM = (1.135, 13.195)
SLOT_OPENING_HEIGHT_MM = (8.25, 98.15)
#: The face a bracket's bent end rests on, over the board; and its reach about the middle plane.
BRACKET_SHELF_MM = 108.31
BRACKET_END_DOWN_MM = (-5.225, 13.825)

#: Style -> width, height, depth of the housing.
PSU_SIZE_MM = MappingProxyType({"PS2": (150.0, 86.0, 140.0), "SFX": (125.0, 63.5, 100.0)})
#: Style -> screws on the rear face, seen from behind: from the left edge, from the lower edge.
PSU_HOLES_MM = MappingProxyType(
    {
        "PS2": ((6.0, 80.0), (144.0, 80.0), (120.0, 6.0), (6.0, 16.0)),
        "SFX": ((6.0, 6.0), (119.0, 6.0), (6.0, 31.7), (119.0, 31.7), (6.0, 57.5), (119.0, 57.5)),
    }
)
#: Clearance hole of a #6-32 screw, close fit (drill #23).
PSU_HOLE_MM = 3.912


def on_board(down: float, along: float, height: float = 0.0) -> Vec3:
    """A place on a board in its part frame: origin rear top corner of the underside."""
    return (along, -(PCB_MM + height), -down)


def board_holes(form: str) -> tuple[Hole, ...]:
    """The board's holes as its mount sees them: x to the roof, y to the front."""
    return tuple(
        Hole((-down, along), BOARD_HOLE_MM)
        for down, along in (BOARD_HOLES_MM[letter] for letter in HOLE_SETS[form])
    )


def psu_holes(style: str) -> tuple[Hole, ...]:
    """Screws about the middle of the rear face as the supply's mount sees them: x roof, y tray."""
    width, height, _ = PSU_SIZE_MM[style]
    return tuple(
        Hole((up - height / 2.0, width / 2.0 - right), PSU_HOLE_MM) for right, up in PSU_HOLES_MM[style]
    )


def turned_over(holes: tuple[Hole, ...]) -> tuple[Hole, ...]:
    """The holes a host needs for these holes of a guest."""
    return tuple(Hole((hole.at[0], -hole.at[1]), hole.diameter, hole.slot) for hole in holes)
