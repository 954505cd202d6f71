"""A part seen in a mirror: for cases that are built the other way round."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from shapes.part import Bore, Hole, Mount, Part, Port, Solid, Zone
from shapes.pose import Pose, Vec3
from shapes.primitives import Box, Cylinder, Opening, Plate, Point2, Prism, RoundOpening, SlotHole

_MIRROR = np.diag([1.0, -1.0, 1.0])


def mirrored(part: Part, width: float) -> Part:
    """The part with ``y`` become ``width - y`` [mm].

    Every frame stays right-handed: its x and z axes are the mirror images of what they were, so a
    mount faces the mirrored way and ``slide`` runs along the image of its row; y follows from both.
    Only boxes, bars, sheets and prisms can be mirrored; TypeError for others.
    """

    def turned(pose: Pose) -> Pose:
        return Pose(_MIRROR @ pose.rotation @ _MIRROR, _MIRROR @ pose.origin + (0.0, width, 0.0))

    def mount(one: Mount) -> Mount:
        rows = {name: tuple(_hole(hole) for hole in holes) for name, holes in one.rows.items()}
        surface = None
        if one.surface is not None:
            (x0, y0), (x1, y1) = one.surface
            surface = ((x0, -y1), (x1, -y0))
        return replace(one, mount2part=turned(one.mount2part), rows=MappingProxyType(rows), surface=surface)

    def solid(one: Solid) -> Solid:
        return replace(one, primitive=_primitive(one.primitive), solid2part=turned(one.solid2part))

    def zone(one: Zone) -> Zone:
        return replace(one, primitive=_primitive(one.primitive), zone2part=turned(one.zone2part))

    def port(one: Port) -> Port:
        return replace(one, port2part=turned(one.port2part))

    def bore(one: Bore) -> Bore:
        return replace(one, bore2part=turned(one.bore2part))

    return replace(
        part,
        solids=tuple(solid(one) for one in part.solids),
        ports=MappingProxyType({name: port(one) for name, one in part.ports.items()}),
        mounts=MappingProxyType({name: mount(one) for name, one in part.mounts.items()}),
        zones=tuple(zone(one) for one in part.zones),
        bores=tuple(bore(one) for one in part.bores),
        removals=MappingProxyType({name: _way(way) for name, way in part.removals.items()}),
        pulled=MappingProxyType({name: _way(way) for name, way in part.pulled.items()}),
    )


def _way(way: Vec3) -> Vec3:
    return (way[0], 0.0 - way[1], way[2])


def _point(at: Point2) -> Point2:
    return (at[0], 0.0 - at[1])


def _hole(hole: Hole) -> Hole:
    return replace(hole, at=_point(hole.at))


def _opening(opening: Opening) -> Opening:
    return replace(opening, at=_point(opening.at))


def _screw(hole: RoundOpening | SlotHole) -> RoundOpening | SlotHole:
    return replace(hole, at=_point(hole.at))


def _primitive(primitive: object) -> Box | Cylinder | Plate | Prism:
    if isinstance(primitive, Box | Cylinder):
        return primitive
    if isinstance(primitive, Plate):
        return replace(
            primitive,
            openings=tuple(_opening(one) for one in primitive.openings),
            screw_holes=tuple(_screw(one) for one in primitive.screw_holes),
        )
    if isinstance(primitive, Prism):
        return replace(primitive, corners=tuple(_point(at) for at in reversed(primitive.corners)))
    raise TypeError(f"a {type(primitive).__name__} cannot be mirrored")
