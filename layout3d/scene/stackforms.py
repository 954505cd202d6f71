"""The forms in which ``stacks:`` may be written."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Tag

from layout3d.scene.pathforms import form
from layout3d.scene.values import Reference, RowName, deg, mm
from shapes.fields import Angle, Frozen, Length

PANEL = "panel"


class TurnedLayer(Frozen):
    """One layer with its other face outside: ``{part: roof_radiator, flip: true}``."""

    part: Annotated[str, Field(description="the part")]
    flip: Annotated[bool, Field(description="its other face outside")] = False


_Layer = Annotated[
    Annotated[str, Tag("<name>")]
    | Annotated[TurnedLayer, Tag("<turned>")]
    | Annotated[tuple[str, ...], Field(min_length=1), Tag("<side by side>")],
    form(
        {str: "<name>", dict: "<turned>", tuple: "<side by side>"},
        "expected the name of a part, `panel`, a list of names side by side, or {part: name, flip: true}",
    ),
]


class StackEntry(Frozen):
    """Grille, panel, radiator, fans: what is screwed together at a fan mount, outside to inside."""

    on: Annotated[Reference, Field(description="the mount it hangs on, part.mount")]
    row: Annotated[RowName | None, Field(description="hole row of the mount, such as 120 or 140")] = None
    slide: Annotated[Length, mm("middle of the stack along the mount's x")] = 0.0
    turn: Annotated[Angle, deg("of the whole stack about the mount's normal")] = 0.0
    air: Annotated[
        Literal["intake", "exhaust"] | None,
        Field(description="which way its fans blow: into the case or out of it"),
    ] = None
    order: Annotated[
        tuple[_Layer, ...],
        Field(min_length=1, description="its layers from outside to inside; `panel` is the mount's sheet"),
    ]
