"""Ports stated face by face on a block: for tops, panels and plates that differ from maker to maker."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations
from typing import Annotated, Literal, TypeAlias

import numpy as np
from pydantic import Field

from shapes.custom import Name
from shapes.fields import Frozen, Length, Lengths2
from shapes.part import Bore, Port
from shapes.patterns import G_THREAD_MAJOR_MM, PORT_DEPTH_MM, GThread, threaded_port
from shapes.pose import DIRECTIONS, Array, Vec3

Face: TypeAlias = Literal["rear", "front", "window", "tray", "floor", "roof"]
#: Left of the block between a thread and an edge, and between two threads (common practice, no source).
LEAST_WEB_MM = 2.0
#: Left of the block behind a thread.
_LEAST_FLOOR_MM = 1.0
_WORDS = ("front", "tray", "roof")


class FacePort(Frozen):
    """A threaded port in one face of a block.

    ``at`` counts from the face's middle: on roof and floor toward front and tray, on window and
    tray side toward front and roof, on front and rear end toward tray and roof.
    """

    face: Annotated[Face, Field(description="the face it opens in")]
    at: Annotated[Lengths2, Field(description="from the face's middle")] = (0.0, 0.0)
    thread: Annotated[GThread, Field(description="thread, ISO 228-1")] = "G1/4"
    depth: Annotated[Length, Field(description="depth of the thread", ge=3, le=20)] = PORT_DEPTH_MM


Ports: TypeAlias = dict[Name, FacePort]


def block_ports(
    ports: Mapping[str, FacePort], low: Vec3, high: Vec3, into: str
) -> tuple[dict[str, Port], tuple[Bore, ...]]:
    """The ports and their threads' holes in the block ``into`` between two corners [mm].

    ValueError for a port that runs over its face's edge, goes through the block, or runs into
    another one.
    """
    made = {name: _port(name, port, np.asarray(low), np.asarray(high), into) for name, port in ports.items()}
    for (first, (_, one)), (second, (_, other)) in combinations(made.items(), 2):
        web = _web(one, other)
        if web < LEAST_WEB_MM - 1e-9:
            raise ValueError(
                f"ports {first} and {second} leave {max(web, 0.0):.4g} mm between their threads; "
                f"least {LEAST_WEB_MM:g}"
            )
    return {name: port for name, (port, _) in made.items()}, tuple(bore for _, bore in made.values())


def _port(name: str, port: FacePort, low: Array, high: Array, into: str) -> tuple[Port, Bore]:
    facing = np.asarray(DIRECTIONS[port.face])
    through = int(np.argmax(np.abs(facing)))
    radius = G_THREAD_MAJOR_MM[port.thread] / 2.0
    at = (low + high) / 2.0
    across = [axis for axis in range(3) if axis != through]
    for axis, offset in zip(across, port.at, strict=True):
        room = (high[axis] - low[axis]) / 2.0 - radius - LEAST_WEB_MM
        if abs(offset) > room + 1e-9:
            tells = f"at most {room:.4g} mm off" if room >= 0.0 else "too narrow for it: even off by 0 mm"
            raise ValueError(
                f"port {name}: a {port.thread} thread {offset:g} mm toward {_WORDS[axis]} runs over the edge "
                f"of the {port.face} face; {tells}"
                + ("" if room >= 0.0 else f" {-room:.4g} mm are missing each side")
            )
        at[axis] += offset
    at[through] = high[through] if facing[through] > 0 else low[through]
    thick = float(high[through] - low[through])
    if port.depth > thick - _LEAST_FLOOR_MM + 1e-9:
        raise ValueError(
            f"port {name}: depth {port.depth:g} mm goes through the {thick:g} mm behind the {port.face} "
            f"face; most {thick - _LEAST_FLOOR_MM:g}"
        )
    x, y, z = (float(value) for value in at)
    return threaded_port((x, y, z), DIRECTIONS[port.face], thread=port.thread, depth=port.depth, into=(into,))


def _web(one: Bore, other: Bore) -> float:
    """A lower bound of what is left between two holes along the axes [mm].

    Both bounds hold: one takes the holes as boxes, the other as bars with round ends.
    """
    spans = [_span(bore) for bore in (one, other)]
    radii = [bore.diameter / 2.0 for bore in (one, other)]
    apart = np.maximum(spans[0][0] - spans[1][1], spans[1][0] - spans[0][1])
    bars = math.hypot(*np.maximum(apart, 0.0)) - sum(radii)
    sides = [
        radius * (1.0 - np.abs(bore.bore2part.z_axis))
        for bore, radius in zip((one, other), radii, strict=True)
    ]
    return max(float(bars), float((apart - sides[0] - sides[1]).max()))


def _span(bore: Bore) -> tuple[Array, Array]:
    ends = np.array([bore.bore2part.origin, bore.bore2part.origin - bore.depth * bore.bore2part.z_axis])
    return ends.min(axis=0), ends.max(axis=0)
