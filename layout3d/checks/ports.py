"""Ports: used once, by what fits them, none left open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import product

import numpy as np

from layout3d.findings import Finding
from layout3d.layout import Layout, as_vec3
from layout3d.scene.model import FittingSpec, PortRef, TubeSpec
from layout3d.words import mm

#: Ports this close and face to face lead into each other.
_MEET_MM = 1e-6


def port_findings(layout: Layout) -> Iterator[Finding]:
    """Everything wrong with how ports are used."""
    yield from _used_twice(layout)
    for tube in layout.scene.tubes.values():
        for end, (port, fitting) in enumerate(zip((tube.start, tube.end), tube.fittings, strict=True)):
            if fitting is not None:
                yield from _thread(layout, tube, end, port, fitting)
                yield from _socket(layout, tube, end, fitting)
    yield from _open(layout)


def port_users(layout: Layout) -> dict[str, list[str]]:
    """Who uses each port, "part.port" -> ["tube pump_gpu", "a plug"]; unused ports are missing."""
    users: dict[str, list[str]] = defaultdict(list)
    for tube in layout.scene.tubes.values():
        users[str(tube.start)].append(f"tube {tube.name}")
        users[str(tube.end)].append(f"tube {tube.name}")
    for plug in layout.scene.plugs:
        users[str(plug)].append("a plug")
    for first, second in mated_ports(layout):
        users[first].append(second)
        users[second].append(first)
    return dict(users)


def mated_ports(layout: Layout) -> Iterator[tuple[str, str]]:
    """Ports of joined parts that meet face to face: a reservoir standing on its pump."""
    for joint in layout.joints:
        first, second = layout.parts.get(joint.first), layout.parts.get(joint.second)
        if first is None or second is None or first.tube is not None or second.tube is not None:
            continue
        for here, there in product(first.part.ports, second.part.ports):
            a, b = first.port2scene(here), second.port2scene(there)
            meet = np.allclose(a.origin, b.origin, rtol=0.0, atol=_MEET_MM)
            if meet and float(a.z_axis @ b.z_axis) < -1.0 + 1e-9:
                yield f"{first.name}.{here}", f"{second.name}.{there}"


def _used_twice(layout: Layout) -> Iterator[Finding]:
    for port, users in port_users(layout).items():
        if len(users) > 1:
            part, _, name = port.partition(".")
            tubes = tuple(user.removeprefix("tube ") for user in users if user.startswith("tube "))
            free = [
                other
                for other in layout.parts[part].part.ports
                if f"{part}.{other}" not in port_users(layout)
            ]
            yield Finding(
                rule="port-used-twice",
                severity="error",
                parts=(part, *tubes),
                message=f"port {port} is used by {' and '.join(users)}",
                at_mm=as_vec3(layout.parts[part].port2scene(name).origin),
                remedy=f"use another port of {part}: {', '.join(free)}" if free else None,
                where=layout.scene.where("tubes", tubes[-1]) if tubes else layout.scene.where("plugs"),
            )


def _thread(
    layout: Layout, tube: TubeSpec, end: int, port: PortRef, fitting: FittingSpec
) -> Iterator[Finding]:
    host, screwed = layout.parts[port.part].port(port.port), fitting.part.ports["thread"]
    at = as_vec3(layout.parts[port.part].port2scene(port.port).origin)
    names = (port.part, tube.name)
    where = layout.scene.where("tubes", tube.name, "fittings", end)
    if screwed.thread and host.thread is None:
        yield Finding(
            rule="thread-mismatch",
            severity="error",
            parts=names,
            message=f"port {port} has no thread, the {fitting.shape_name} is screwed in by {screwed.thread}",
            at_mm=at,
            remedy=f"give the port `thread: {screwed.thread}` if it has one, or the tube no fitting there",
            where=where,
        )
    elif screwed.thread and host.thread != screwed.thread:
        yield Finding(
            rule="thread-mismatch",
            severity="error",
            parts=names,
            message=f"port {port} has a {host.thread} thread, the {fitting.shape_name} has {screwed.thread}",
            at_mm=at,
            remedy=f"use a fitting with a {host.thread} thread",
            where=where,
        )
    elif host.depth < screwed.depth - 1e-6:
        yield Finding(
            rule="thread-mismatch",
            severity="error",
            parts=names,
            message=(
                f"the {fitting.shape_name}'s thread is {mm(screwed.depth)} long, "
                f"port {port} takes {mm(host.depth)}: it would bottom out before it seals"
            ),
            measured_mm=screwed.depth,
            required_mm=host.depth,
            at_mm=at,
            where=where,
        )


def _socket(layout: Layout, tube: TubeSpec, end: int, fitting: FittingSpec) -> Iterator[Finding]:
    tubing, socket = layout.scene.tubings[tube.tubing], fitting.part.socket
    if socket is None:
        return
    wrong = [
        f"{side} {mm(taken)}, the tubing has {mm(has)}"
        for side, taken, has in (
            ("outside", socket.outside, tubing.outside),
            ("inside", socket.inside, tubing.inside),
        )
        if taken is not None and abs(taken - has) > 0.05
    ]
    if socket.kind != tubing.kind:
        wrong.insert(0, f"{socket.kind} tube, the tubing is {tubing.kind}")
    if wrong:
        yield Finding(
            rule="fitting-mismatch",
            severity="error",
            parts=(tube.name,),
            message=f"the {fitting.shape_name} takes {'; '.join(wrong)} ({tube.tubing})",
            where=layout.scene.where("tubes", tube.name, "fittings", end),
        )


def _open(layout: Layout) -> Iterator[Finding]:
    users = port_users(layout)
    open_ports = [
        f"{part.name}.{port}"
        for part in layout.parts.values()
        if part.tube is None
        for port in part.part.ports
        if f"{part.name}.{port}" not in users
    ]
    if open_ports:
        noun = "port is" if len(open_ports) == 1 else "ports are"
        yield Finding(
            rule="port-open",
            severity="warning",
            parts=tuple(dict.fromkeys(port.partition(".")[0] for port in open_ports)),
            message=f"{len(open_ports)} {noun} open: {', '.join(open_ports)}",
            remedy="run a tube to each, or list it under `plugs:`",
            where=layout.scene.where("plugs"),
        )
