"""What a part is: solids, ports, mounts and zones in one frame.

This is the neutral model. Shapes make it; placing puts it into a scene; the checker and the
writers read it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, TypeAlias

from shapes.pose import IDENTITY, Pose, Vec3
from shapes.primitives import Point2, Primitive

#: Surface words; the writers own what each looks like.
Look: TypeAlias = Literal[
    "panel", "glass", "board", "black", "metal", "copper", "plastic", "clear", "coolant", "accent"
]


@dataclass(frozen=True, slots=True)
class Solid:
    """One primitive of a part, placed in the part's frame."""

    name: str
    primitive: Primitive
    solid2part: Pose = IDENTITY
    look: Look = "black"


@dataclass(frozen=True, slots=True)
class Bore:
    """A round hole cut into the exported solids; the checker takes it as filled.

    From the frame's origin along -z for ``depth`` mm. ``into`` names the solids it cuts,
    empty for all of the part.
    """

    bore2part: Pose
    diameter: float
    depth: float
    into: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Port:
    """An opening of the coolant path: origin on its face, z axis out of the part.

    thread : "G1/4" and the like, None for a plain opening
    depth : how deep a fitting's thread may go in [mm]; of a male thread how long it is
    male : the thread goes into another part's port; its origin is in the face that seals there
    """

    port2part: Pose
    thread: str | None = None
    depth: float = 0.0
    male: bool = False


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole of a mounting pattern, in the mount's x-y plane; ``slot`` is its travel along x [mm]."""

    at: Point2
    diameter: float
    slot: float = 0.0


@dataclass(frozen=True, slots=True)
class Mount:
    """A place where one part is fixed to another.

    mount2part : origin in the mounting plane, z out of the part, x along the row or slot
    kind : only mounts of one kind meet ("fan", "board", "slot", "cpu", "psu", "stand", ...)
    rows : named hole patterns ("120", "140"); one of them must take the guest's holes.
        An empty pattern fits anything of its kind.
    surface : low and high corner of a plain mount's face, in its x-y plane; a guest's own mount
        must come to stand on it. None for a mount with holes
    row_of : mounts of one row may touch their neighbours' guests (fans side by side)
    opposite : the mount on this part's other face, taken instead when the part is flipped
    through : a guest is joined to this part's own host too (a card's bracket screws to the case)
    sheet : thickness of the sheet behind the plane, for `side: outside` [mm]
    engagement : how far a guest goes into the part along -z [mm] (a card's edge in its slot)
    thread : the screw its holes take ("M3"), None for plain clearance holes
    screw_depth : greatest depth of a screw past the face [mm], 0 where nothing limits it
    round_mm : diameter of the round tube held or of the clamp that holds it (kind "band"); both
        must agree
    """

    mount2part: Pose
    kind: str
    rows: Mapping[str, tuple[Hole, ...]] = field(default_factory=lambda: MappingProxyType({"": ()}))
    row_of: str = ""
    opposite: str = ""
    through: bool = False
    surface: tuple[Point2, Point2] | None = None
    sheet: float = 0.0
    engagement: float = 0.0
    thread: str | None = None
    screw_depth: float = 0.0
    round_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Zone:
    """Room that must stay free, in the part's frame.

    severity : "error" for room that is needed, "warning" for room that is likely taken
    only_parts : tubes and fittings may pass (a height limit of described boards)
    reason : completes "... stands in the room for ..."
    """

    name: str
    primitive: Primitive
    zone2part: Pose
    reason: str
    severity: Literal["error", "warning"] = "error"
    only_parts: bool = False


@dataclass(frozen=True, slots=True)
class Socket:
    """What a fitting takes: the tube goes ``insertion`` mm in at its ``mouth`` port.

    outside, inside : the tube it is made for [mm]; None where it does not matter
    """

    insertion: float
    kind: Literal["rigid", "soft"]
    outside: float | None = None
    inside: float | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A part in its own frame.

    A fitting has the ports ``thread`` (male, screwed into another part's port, facing into it)
    and ``mouth`` (where the tube leaves), and a ``socket``; an adapter's ``mouth`` takes the next
    thread and it has no socket.

    removals : solids that come off by themselves, such as side panels -> the way they are drawn
        off (unit, in the part's frame)
    coolant_ml : room for coolant inside the part [mL], None where it is not known
    grips : round solids that fingers turn: a collar, a fill cap
    pulled : solids that hands pull straight out of the part, such as memory -> the way (unit, in the
        part's frame)
    channels : which ports a plate's channels join, name of the channel -> ports (and pump_in,
        pump_out of its pump's seat); empty where all ports open into one room
    """

    solids: tuple[Solid, ...]
    ports: Mapping[str, Port] = field(default_factory=lambda: MappingProxyType({}))
    mounts: Mapping[str, Mount] = field(default_factory=lambda: MappingProxyType({}))
    zones: tuple[Zone, ...] = ()
    bores: tuple[Bore, ...] = ()
    socket: Socket | None = None
    removals: Mapping[str, Vec3] = field(default_factory=lambda: MappingProxyType({}))
    coolant_ml: float | None = None
    grips: tuple[str, ...] = ()
    pulled: Mapping[str, Vec3] = field(default_factory=lambda: MappingProxyType({}))
    channels: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
