"""A part measured with calipers: the solids, ports, mounts and zones its builder wrote down."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from shapes.fields import Angles3, Direction, Frozen, Length, Lengths2, Lengths3, Shape, choice
from shapes.openings import check_openings
from shapes.part import Bore, Hole, Look, Mount, Part, Port, Solid, Zone
from shapes.patterns import G_THREAD_MAJOR_MM, PORT_DEPTH_MM, normalised_thread
from shapes.pose import Pose, compose
from shapes.primitives import Box, Cylinder, Opening, Plate, Prism, RectOpening, RoundOpening

_NAME = r"[A-Za-z][A-Za-z0-9_-]*"
_MEASURED = "measured by the builder"


def _name(value: object) -> str:
    if not isinstance(value, str) or not re.fullmatch(_NAME, value):
        raise ValueError(f"{value!r} is no name: a letter, then letters, digits, _ and -")
    return value


def _thread(value: object) -> object:
    return normalised_thread(value) if isinstance(value, str) else value


Name = Annotated[str, BeforeValidator(_name)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Size = Annotated[Length, Field(gt=0)]


class CylinderSize(Frozen):
    """``{diameter, length}`` of a round bar."""

    diameter: Size
    length: Size


class PrismSize(Frozen):
    """``{corners, height}``: a convex polygon, its corners in order either way round."""

    corners: Annotated[tuple[Lengths2, ...], Field(min_length=3)]
    height: Size

    def prism(self) -> Prism:
        """The prism; ValueError where the polygon is not convex."""
        ring = zip(self.corners, (*self.corners[1:], *self.corners[:1]), strict=True)
        twice_area = sum(ax * by - bx * ay for (ax, ay), (bx, by) in ring)
        try:
            return Prism(self.corners if twice_area > 0 else self.corners[::-1], self.height)
        except ValueError:
            listed = ", ".join(map(_pair, self.corners))
            raise ValueError(
                f"prism corners {listed} do not go once round a convex polygon; split it into convex prisms"
            ) from None


class RoundSize(Frozen):
    """``{at, diameter}`` of a round opening."""

    at: Lengths2 = (0.0, 0.0)
    diameter: Size


class RectSize(Frozen):
    """``{at, size}`` of a rectangular opening."""

    at: Lengths2 = (0.0, 0.0)
    size: tuple[Size, Size]


class OpeningSpec(Frozen):
    """One opening of a plate: ``round`` or ``rect``."""

    round: RoundSize | None = None
    rect: RectSize | None = None

    @model_validator(mode="after")
    def _one(self) -> OpeningSpec:
        _exactly_one("an opening", {"round": self.round, "rect": self.rect})
        return self

    def opening(self) -> Opening:
        """The opening in the plate's frame."""
        if self.round is not None:
            return RoundOpening(self.round.at, self.round.diameter)
        assert self.rect is not None
        return RectOpening(self.rect.at, self.rect.size)


class PlateSize(Frozen):
    """``{size, thickness, openings}`` of a sheet."""

    size: tuple[Size, Size]
    thickness: Size
    openings: tuple[OpeningSpec, ...] = ()

    def plate(self) -> Plate:
        """The plate; ValueError where openings run into each other or lie beside the sheet."""
        openings = tuple(spec.opening() for spec in self.openings)
        return check_openings(Plate(self.size, self.thickness, openings))


class Body(Frozen):
    """Exactly one of ``box``, ``cylinder``, ``prism``, ``plate``, and where its centre is."""

    box: tuple[Size, Size, Size] | None = None
    cylinder: CylinderSize | None = None
    prism: PrismSize | None = None
    plate: PlateSize | None = None
    at: Lengths3 = (0.0, 0.0, 0.0)
    axis: Direction = (0.0, 0.0, 1.0)
    rotate: Angles3 = (0.0, 0.0, 0.0)

    @model_validator(mode="after")
    def _sound(self) -> Body:
        kind = _exactly_one(
            "a solid", {"box": self.box, "cylinder": self.cylinder, "prism": self.prism, "plate": self.plate}
        )
        if "axis" in self.model_fields_set and kind != "cylinder":
            raise ValueError(f"`axis` is for a cylinder; turn a {kind} with `rotate`")
        self.primitive()
        return self

    @property
    def kind(self) -> str:
        """The word it was written with: box, cylinder, prism or plate."""
        return type(self.primitive()).__name__.lower()

    def primitive(self) -> Box | Cylinder | Prism | Plate:
        """The solid in its own frame."""
        if self.box is not None:
            return Box(self.box)
        if self.cylinder is not None:
            return Cylinder(self.cylinder.diameter, self.cylinder.length)
        if self.prism is not None:
            return self.prism.prism()
        assert self.plate is not None
        return self.plate.plate()

    def pose(self) -> Pose:
        """``solid2part``: a cylinder laid along ``axis``, then turned by ``rotate`` about its centre."""
        return compose(Pose.facing((0.0, 0.0, 0.0), self.axis), Pose.at(self.at, self.rotate))


class CustomSolid(Body):
    """One entry of ``solids``."""

    name: Name | None = None
    look: Look = "black"


class CustomZone(Body):
    """One entry of ``zones``: room that must stay free."""

    name: Name | None = None
    reason: Text = "a part that needs it"
    severity: Literal["error", "warning"] = "error"
    only_parts: bool = False


class _Face(Frozen):
    at: Lengths3
    facing: Direction
    up: Direction | None = None

    @model_validator(mode="after")
    def _has_roll(self) -> _Face:
        self.pose()
        return self

    def pose(self) -> Pose:
        return Pose.facing(self.at, self.facing, self.up)


class CustomPort(_Face):
    """One entry of ``ports``; ``depth`` is how deep a fitting's thread may go in [mm].

    ``male``: a thread that goes into another part's port, ``depth`` long; draw it as a solid of its own.
    """

    thread: Annotated[str | None, BeforeValidator(_thread)] = None
    depth: Annotated[Length, Field(ge=0, le=100)] | None = None
    male: bool = False

    @model_validator(mode="after")
    def _thread_when_male(self) -> CustomPort:
        if self.male and (self.thread is None or self.depth is None):
            raise ValueError("a male port states its `thread` and, as `depth`, how long it is")
        return self

    def port(self) -> Port:
        """The port; a thread without a depth is taken as deep as loop parts usually have it."""
        usual = 0.0 if self.thread is None else PORT_DEPTH_MM
        return Port(self.pose(), self.thread, usual if self.depth is None else self.depth, self.male)


class CustomMount(_Face):
    """One entry of ``mounts``; ``holes`` are ``[x, y, diameter]`` in the mount's plane, x along ``up``."""

    kind: Name
    holes: tuple[tuple[Length, Length, Size], ...] = ()

    def mount(self) -> Mount:
        """The mount; one without holes fits any guest of its kind."""
        holes = tuple(Hole((x, y), diameter) for x, y, diameter in self.holes)
        return Mount(self.pose(), self.kind, MappingProxyType({"": holes}))


class Custom(Shape):
    """A part of boxes, cylinders, prisms and plates placed by hand.

    The origin and the axes are the builder's: every ``at`` and ``facing`` counts from them, and
    direction words mean the part's own axes as it stands unturned. ``at`` of a solid is its centre.
    Solids may run into each other. A part without solids is a bare anchor for ports.
    A port with a G thread makes a hole of the thread's major diameter (ISO 228-1) in the exported
    solids; where no depth is stated it is 6 mm (common practice, no source).
    """

    solids: tuple[CustomSolid, ...] = choice((), "what the part is made of", source=_MEASURED)
    ports: dict[Name, CustomPort] = choice({}, "openings of the coolant path", source=_MEASURED)
    mounts: dict[Name, CustomMount] = choice({}, "places where parts are fixed", source=_MEASURED)
    zones: tuple[CustomZone, ...] = choice((), "room that must stay free", source=_MEASURED)

    def build(self) -> Part:
        """The part in the builder's own frame; ValueError for two solids or zones of one name."""
        ports = {name: spec.port() for name, spec in self.ports.items()}
        solids = tuple(
            Solid(spec.name or f"{spec.kind}_{number}", spec.primitive(), spec.pose(), spec.look)
            for number, spec in enumerate(self.solids, 1)
        )
        zones = tuple(
            Zone(
                spec.name or f"zone_{number}",
                spec.primitive(),
                spec.pose(),
                spec.reason,
                spec.severity,
                spec.only_parts,
            )
            for number, spec in enumerate(self.zones, 1)
        )
        _no_doubles("solid", [solid.name for solid in solids])
        _no_doubles("zone", [zone.name for zone in zones])
        return Part(
            solids=solids,
            ports=MappingProxyType(ports),
            mounts=MappingProxyType({name: spec.mount() for name, spec in self.mounts.items()}),
            zones=zones,
            bores=tuple(_bores(ports)) if solids else (),
        )


def _bores(ports: dict[str, Port]) -> list[Bore]:
    known = [
        port
        for port in ports.values()
        if port.depth > 0 and not port.male and port.thread in G_THREAD_MAJOR_MM
    ]
    return [Bore(port.port2part, G_THREAD_MAJOR_MM[port.thread or ""], port.depth) for port in known]


def _no_doubles(what: str, names: list[str]) -> None:
    doubles = sorted({name for name in names if names.count(name) > 1})
    if doubles:
        raise ValueError(f"{what} names must differ; more than once: {', '.join(doubles)}")


def _exactly_one(what: str, given: dict[str, object]) -> str:
    written = [key for key, value in given.items() if value is not None]
    if len(written) != 1:
        got = " and ".join(written) if written else "none of them"
        raise ValueError(f"{what} is exactly one of {', '.join(given)}; got {got}")
    return written[0]


def _pair(values: tuple[float, float]) -> str:
    return "[{:g}, {:g}]".format(*values)
