"""What is screwed into ports: parts, and the fittings derived from tube ends; where a tube leaves them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layout3d.layout import Joint, PlacedPart, Screwed
from layout3d.scene.model import FittingSpec
from layout3d.scene.values import PortRef
from shapes.part import Part, Port
from shapes.pose import TURNED_OVER, Pose, about_z, as_vec3, compose
from shapes.screwed import leads_on, screwed_by


@dataclass(frozen=True, slots=True)
class TubeEnd:
    """One end of a tube: its mouth, what goes into the fitting, and who stands there.

    fittings : from the part's port outward, with the joint of each to what it is screwed to
    """

    mouth: Pose
    insertion: float
    near: tuple[str, ...]
    fittings: tuple[PlacedPart, ...] = ()
    joints: tuple[Joint, ...] = ()


def tube_end(
    name: str, tube: str, port: PortRef, chain: Sequence[FittingSpec], hosts: dict[str, PlacedPart]
) -> TubeEnd:
    """The end of ``tube`` on ``port`` with a chain of fittings, the first on the part's port.

    ``name`` is that of the first; the next are called ``name_2``, ``name_3`` and so on. Each is
    screwed to what stands before it and rolled by its ``turn``.
    """
    host, leaving = hosts[port.part], port.port
    fittings: list[PlacedPart] = []
    joints: list[Joint] = []
    for number, link in enumerate(chain, 1):
        by = screwed_by(link.part, host.port(leaving)) or "thread"
        own = name if number == 1 else f"{name}_{number}"
        pose = screwed_pose(link.part, by, link.turn, host.port2scene(leaving))
        seat = Screwed(host.name, leaving, by)
        placed = PlacedPart(own, link.shape_name, link.part, pose, tube=tube, screwed=seat)
        joints.append(screwed_joint(host, placed))
        fittings.append(placed)
        host, leaving = placed, leads_on(link.part, by) or "mouth"
    socket = host.part.socket if fittings else None
    insertion = socket.insertion if socket is not None else 0.0
    near = (port.part, *(fitting.name for fitting in fittings))
    return TubeEnd(host.port2scene(leaving), insertion, near, tuple(fittings), tuple(joints))


def screwed_pose(guest: Part, by: str, turn: float, port2scene: Pose) -> Pose:
    """The guest's pose with its port ``by`` face to face with a port of the scene.

    ``turn`` rolls it about that port's axis [degrees], right-handed seen from outside the host.
    """
    return compose(guest.ports[by].port2part.inverse, TURNED_OVER, about_z(turn), port2scene)


def screwed_joint(host: PlacedPart, guest: PlacedPart) -> Joint:
    """The joint of a placed guest and what it is screwed to: the male thread goes into the other part."""
    assert guest.screwed is not None
    port, own = host.port(guest.screwed.port), guest.port(guest.screwed.by)
    port2scene = host.port2scene(guest.screwed.port)
    if port.male and not own.male:
        return _joint(guest.name, host.name, port, guest.port2scene(guest.screwed.by))
    return _joint(host.name, guest.name, own, port2scene)


def _joint(into: str, what: str, thread: Port, port2scene: Pose) -> Joint:
    """``what`` goes into ``into`` by its thread, at a port of ``into``."""
    face = float(port2scene.origin @ port2scene.z_axis)
    engagement = thread.depth if thread.male else 0.0
    return Joint(into, what, as_vec3(port2scene.z_axis), engagement, face, as_vec3(port2scene.origin))
