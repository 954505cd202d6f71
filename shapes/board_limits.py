"""Room over a board that its form leaves for tall components, and that memory clips swing out into."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from shapes.board_plugs import Span, corners
from shapes.form_factors import IO_HEIGHT_MM, SLOT_DATUM_MM, SLOT_PITCH_MM
from shapes.part import Zone
from shapes.solids import room

#: Height limits over the component face: A middle, B slots, C front strip, D rear strip. Secondary
#: source; the larger forms state no D, theirs is the top of the I/O aperture, and the
#: strips' extent is the Mini-ITX drawing's, from memory for the larger forms.
_HEIGHT_LIMITS_MM = MappingProxyType(
    {
        "ATX": (76.2, 15.24, 38.1, IO_HEIGHT_MM[1]),
        "microATX": (76.2, 15.24, 38.1, IO_HEIGHT_MM[1]),
        "Mini-ITX": (57.0, 16.0, 38.0, 39.0),
    }
)
_REAR_STRIP_MM, _FRONT_STRIP_MM, _SLOT_STRIP_MM = 27.0, 30.0, 15.0
#: How far a module's clips swing out past its ends, and how high (common practice, no source).
_CLIP_MM, _CLIP_HEIGHT_MM = 10.0, 22.0


def height_limits(form: str, size: Span) -> Iterator[Zone]:
    """Where components of the form may be tall: likely taken, tubes may pass; ``size`` (down, along) [mm]."""
    down, along = size
    a, b, c, d = _HEIGHT_LIMITS_MM[form]
    slots = SLOT_DATUM_MM[0] - SLOT_PITCH_MM / 2 if form != "Mini-ITX" else down - _SLOT_STRIP_MM
    front = along - _FRONT_STRIP_MM
    for name, downs, alongs, limit in (
        ("area_a", (0.0, slots), (_REAR_STRIP_MM, front), a),
        ("area_b", (slots, down), (0.0, along), b),
        ("area_c", (0.0, slots), (front, along), c),
        ("area_d", (0.0, slots), (0.0, _REAR_STRIP_MM), d),
    ):
        yield room(
            name,
            *corners(downs, alongs, (0.0, limit)),
            f"tall components on this {form} board, up to {limit:g} mm",
            likely=True,
            only_parts=True,
        )


def clip_rooms(modules_down: Span, modules_along: Span, clips: str) -> Iterator[Zone]:
    """Room to open the clips at the memory's ends, "both" or the "upper" one alone: likely needed."""
    begin, end = modules_down
    for name, down in (("upper", (begin - _CLIP_MM, begin)), ("lower", (end, end + _CLIP_MM))):
        if clips in (name, "both"):
            yield room(
                f"{name}_clip_room",
                *corners(down, modules_along, (0.0, _CLIP_HEIGHT_MM)),
                "the memory clips as they are opened",
                likely=True,
            )
