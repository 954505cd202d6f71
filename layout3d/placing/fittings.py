"""Fittings derived from tube ends, and where a tube leaves them."""

from __future__ import annotations

from dataclasses import dataclass

from layout3d.layout import Joint, PlacedPart, as_vec3
from layout3d.scene.model import FittingSpec, PortRef
from shapes.pose import TURNED_OVER, Pose, about_z, compose


@dataclass(frozen=True, slots=True)
class TubeEnd:
    """One end of a tube: its mouth, what goes into the fitting, and who stands there."""

    mouth: Pose
    insertion: float
    near: tuple[str, ...]
    fitting: PlacedPart | None = None
    joint: Joint | None = None


def tube_end(
    name: str, tube: str, port: PortRef, fitting: FittingSpec | None, hosts: dict[str, PlacedPart]
) -> TubeEnd:
    """The end of ``tube`` on ``port``; ``name`` is its fitting's, if it has one.

    A fitting's ``thread`` port meets the part's port face to face; ``turn`` rolls it about
    that axis, right-handed seen from outside the part.
    """
    host = hosts[port.part]
    port2scene = host.port2scene(port.port)
    if fitting is None:
        return TubeEnd(port2scene, 0.0, (port.part,))
    thread, mouth = fitting.part.ports["thread"], fitting.part.ports["mouth"]
    fitting2scene = compose(thread.port2part.inverse, TURNED_OVER, about_z(fitting.turn), port2scene)
    placed = PlacedPart(name, fitting.shape_name, fitting.part, fitting2scene, tube=tube)
    face = float(port2scene.origin @ port2scene.z_axis)
    joint = Joint(port.part, name, as_vec3(port2scene.z_axis), thread.depth, face)
    socket = fitting.part.socket
    insertion = socket.insertion if socket is not None else 0.0
    return TubeEnd(compose(mouth.port2part, fitting2scene), insertion, (port.part, name), placed, joint)
