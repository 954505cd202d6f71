"""Ports a builder stated off the surface of his own part: tubes would be cut to a place in the air."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from layout3d.findings import Finding
from layout3d.kernels.measure import CONTACT_MM
from layout3d.kernels.points import distance_to
from layout3d.layout import Layout, PlacedPart
from layout3d.words import mm
from shapes.part import Part, Port
from shapes.pose import Array, Pose, as_vec3
from shapes.primitives import Mesh, Plate, Primitive

#: What a port's place may be off by where it was measured with calipers (common practice, no source).
PLAY_MM = 0.5
#: Families whose ports are the builder's own words, not the shape's.
_STATED = frozenset({"custom", "import"})


def surface_findings(layout: Layout) -> Iterator[Finding]:
    """A finding for each port in the air or under the surface of a part its builder described.

    A part without solids is a bare anchor: it has no surface its ports could miss.
    """
    for part in layout.parts.values():
        if part.shape in _STATED and part.part.solids:
            for name, port in part.part.ports.items():
                depth = _depth(part.part, port.port2part.origin)
                play = PLAY_MM if part.shape == "custom" else _imported_play(layout, part, port, depth)
                if abs(depth) > play + CONTACT_MM:
                    yield _finding(layout, part, name, depth, play)


def _imported_play(layout: Layout, part: PlacedPart, port: Port, depth: float) -> float:
    """What a port of an imported part may be off [mm]: it is no further off than the rim of its own hole,
    and under a hull that covers it it may lie anywhere.
    """
    from shapes.patterns import G_THREAD_MAJOR_MM

    missed = max(one.primitive.spread for one in part.part.solids if isinstance(one.primitive, Mesh))
    if depth < 0.0:
        return PLAY_MM + missed + G_THREAD_MAJOR_MM.get(port.thread or "", math.inf) / 2.0
    hull = getattr(layout.scene.parts[part.name].shape, "solid", None) == "hull"
    return math.inf if hull else PLAY_MM + missed


def _depth(part: Part, at: Array) -> float:
    """How deep a place lies inside the part's solids, minus how far outside all of them [mm].

    In a plate's opening it is neither: a port may stand in the middle of a ring.
    """
    inside = -min(_distance(at, one.primitive, one.solid2part) for one in part.solids)
    if inside >= 0.0:
        return inside
    return min(0.0, -min(_distance(at, _filled(one.primitive), one.solid2part) for one in part.solids))


def _distance(at: Array, primitive: Primitive, solid2part: Pose) -> float:
    return float(distance_to(at[None, :], primitive, solid2part)[0])


def _filled(primitive: Primitive) -> Primitive:
    return replace(primitive, openings=()) if isinstance(primitive, Plate) else primitive


def _finding(layout: Layout, part: PlacedPart, port: str, depth: float, play: float) -> Finding:
    where = "inside the part's solids" if depth > 0.0 else "off all of the part's solids"
    out = np.asarray(part.port2scene(port).z_axis)
    return Finding(
        rule="port-off-surface",
        severity="error",
        parts=(part.name,),
        message=f"port {part.name}.{port} lies {mm(abs(depth))} {where}, {mm(play)} is let pass",
        measured_mm=abs(depth),
        required_mm=play,
        at_mm=as_vec3(part.port2scene(port).origin),
        direction=as_vec3(out if depth > 0.0 else -out),
        remedy=(
            "put the port's `at` on the face it opens in"
            if depth > 0.0
            else "put the port's `at` on the face it opens in, or add the solid it stands on"
        ),
        where=layout.scene.where("parts", part.name, "ports", port),
    )
