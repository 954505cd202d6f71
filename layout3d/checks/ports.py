"""Ports: used once, by what fits them, none left open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import product

import numpy as np

from layout3d.findings import Finding
from layout3d.layout import Layout, PlacedPart, Screwed
from layout3d.scene.model import FittingSpec, TubeSpec
from layout3d.scene.values import split_reference
from layout3d.words import mm
from shapes.part import Port
from shapes.pose import as_vec3

#: Ports this close and face to face lead into each other.
_MEET_MM = 1e-6


def port_findings(layout: Layout) -> Iterator[Finding]:
    """Everything wrong with how ports are used."""
    yield from _used_twice(layout)
    for part in layout.parts.values():
        if part.screwed is not None:
            yield from _thread(layout, part, part.screwed)
    for tube in layout.scene.tubes.values():
        for end, chain in enumerate(tube.fittings):
            if chain:
                yield from _socket(layout, tube, end, chain[-1])
        yield from _bare(layout, tube)
    yield from _open(layout)


def port_users(layout: Layout) -> dict[str, list[str]]:
    """Who uses each port, "part.port" -> ["tube pump_gpu", "a plug"]; unused ports are missing.

    Ports of fittings are told too, by what they are screwed to.
    """
    users: dict[str, list[str]] = defaultdict(list)
    for tube in layout.scene.tubes.values():
        users[str(tube.start)].append(f"tube {tube.name}")
        users[str(tube.end)].append(f"tube {tube.name}")
    for plug in layout.scene.plugs:
        users[str(plug)].append("a plug")
    for first, second in mated_ports(layout):
        users[first].append(second)
        users[second].append(first)
    for part in layout.parts.values():
        if part.tube is not None and part.screwed is not None:
            below, own = f"{part.screwed.host}.{part.screwed.port}", f"{part.name}.{part.screwed.by}"
            users[own].append(below)
            if layout.parts[part.screwed.host].tube is not None:
                users[below].append(own)
    for part in layout.parts.values():
        for port in part.part.ports if part.tube is not None else ():
            users.setdefault(f"{part.name}.{port}", [f"tube {part.tube}"])
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
    all_users = port_users(layout)
    for port, users in all_users.items():
        if len(users) < 2:
            continue
        part, name = split_reference(port)
        tubes = tuple(user.removeprefix("tube ") for user in users if user.startswith("tube "))
        guests = tuple(guest for user in users if (guest := split_reference(user)[0]) in layout.parts)
        free = [other for other in layout.parts[part].part.ports if f"{part}.{other}" not in all_users]
        scene = layout.scene
        yield Finding(
            rule="port-used-twice",
            severity="error",
            parts=(part, *guests, *tubes),
            message=f"port {port} is used by {' and '.join(users)}",
            at_mm=as_vec3(layout.parts[part].port2scene(name).origin),
            remedy=f"use another port of {part}: {', '.join(free)}" if free else None,
            where=scene.where("tubes", tubes[-1])
            if tubes
            else scene.where("parts", guests[-1], "fixed_to")
            if guests
            else scene.where("plugs"),
        )


def _thread(layout: Layout, part: PlacedPart, seat: Screwed) -> Iterator[Finding]:
    """Whether a part or fitting can be screwed to what it stands on."""
    host = layout.parts[seat.host]
    port, own = host.port(seat.port), part.port(seat.by)
    what = f"the {part.shape}" if part.tube is not None else part.name
    misfit = _misfit(f"port {seat.host}.{seat.port}", port, what, own)
    if misfit is None:
        return
    message, remedy, lengths = misfit
    yield Finding(
        rule="thread-mismatch",
        severity="error",
        parts=(seat.host, part.tube or part.name),
        message=message,
        measured_mm=lengths[0] if lengths else None,
        required_mm=lengths[1] if lengths else None,
        at_mm=as_vec3(host.port2scene(seat.port).origin),
        remedy=remedy,
        where=where_screwed(layout, part),
    )


def where_screwed(layout: Layout, part: PlacedPart) -> str:
    """The scene line that screws a part or fitting in."""
    if part.tube is None:
        return layout.scene.where("parts", part.name, "fixed_to")
    end = 0 if part.name.startswith(f"{part.tube}.from") else 1
    return layout.scene.where("tubes", part.tube, "fittings", end)


def _misfit(
    where: str, port: Port, what: str, own: Port
) -> tuple[str, str | None, tuple[float, float] | None] | None:
    """Why two ports cannot be screwed together: message, remedy, lengths measured and wanted."""
    if port.thread is None:
        return (
            f"{where} has no thread, {what} is screwed in by {own.thread}",
            f"give the port `thread: {own.thread}` if it has one, or the tube no fitting there",
            None,
        )
    if port.male == own.male:
        kind = "male threads: one must be a port" if own.male else "ports: put a male_coupler between them"
        return f"{where} and {what} cannot be screwed together, both are {kind}", None, None
    if port.thread != own.thread:
        return (
            f"{where} has a {port.thread} thread, {what} has {own.thread}",
            f"use a fitting with a {port.thread} thread",
            None,
        )
    thread, takes = (own, port) if own.male else (port, own)
    if takes.depth >= thread.depth - 1e-6:
        return None
    (longer, deep) = (f"{what}'s thread", where) if own.male else (f"the thread of {where}", what)
    return (
        f"{longer} is {mm(thread.depth)} long, {deep} takes {mm(takes.depth)}: "
        "it would bottom out before it seals",
        None,
        (thread.depth, takes.depth),
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


def _bare(layout: Layout, tube: TubeSpec) -> Iterator[Finding]:
    """A reminder where nothing is said about fittings on threaded ports."""
    if tube.fittings_given:
        return
    ports = [
        ref for ref in (tube.start, tube.end) if layout.parts[ref.part].port(ref.port).thread is not None
    ]
    if ports:
        noun = "port" if len(ports) == 1 else "ports"
        yield Finding(
            rule="no-fitting",
            severity="note",
            parts=(tube.name,),
            message=(
                f"{tube.name} states no `fittings:` on the threaded {noun} {' and '.join(map(str, ports))}: "
                "its length counts from their faces"
            ),
            remedy="state a fitting for each end, or `fittings: [none, none]`",
            where=layout.scene.where("tubes", tube.name),
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
            parts=tuple(dict.fromkeys(split_reference(port)[0] for port in open_ports)),
            message=f"{len(open_ports)} {noun} open: {', '.join(open_ports)}",
            remedy="run a tube to each, list it under `plugs:`, or screw a plug in as a part",
            where=layout.scene.where("plugs"),
        )
