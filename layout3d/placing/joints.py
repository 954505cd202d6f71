"""Which parts are joined on purpose."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations

from layout3d.layout import Joint, PlacedPart
from layout3d.placing.fittings import screwed_joint
from layout3d.placing.stacks import stack_joints
from layout3d.scene.model import PartSpec, Scene
from shapes.part import Mount
from shapes.pose import as_vec3, compose
from shapes.screwed import is_port_seat


def part_joints(scene: Scene, parts: dict[str, PlacedPart]) -> tuple[Joint, ...]:
    """Joints made by ``fixed_to``, by sharing a row of mounts, and by ``touches``."""
    joints: dict[frozenset[str], Joint] = {}

    def join(joint: Joint) -> None:
        joints.setdefault(frozenset((joint.first, joint.second)), joint)

    rows = _rows(scene)
    for spec in scene.parts.values():
        if spec.fixed_to is None:
            continue
        if (screwed := parts[spec.name].screwed) is not None:
            join(screwed_joint(parts[screwed.host], parts[spec.name]))
            continue
        host, mount = _host(spec, scene)
        join(_mount_joint(spec, host, mount, parts))
        host_fixed = host.fixed_to
        if mount.through and host_fixed is not None:
            join(Joint(host_fixed.host, spec.name))
        for mate in rows.get(_row_of(host, scene), ()):
            if mate != host.name:
                join(Joint(mate, spec.name))
    for mates in rows.values():
        for first, second in combinations(mates, 2):
            join(Joint(first, second))
    for joint in stack_joints(scene):
        join(joint)
    for spec in scene.parts.values():
        for other in spec.touches:
            join(Joint(other, spec.name))
    return tuple(joints.values())


def _mount_joint(spec: PartSpec, host: PartSpec, mount: Mount, parts: dict[str, PlacedPart]) -> Joint:
    frame = compose(mount.mount2part, parts[host.name].part2scene)
    face = float(frame.origin @ frame.z_axis)
    return Joint(host.name, spec.name, as_vec3(frame.z_axis), mount.engagement, face, as_vec3(frame.origin))


def _host(spec: PartSpec, scene: Scene) -> tuple[PartSpec, Mount]:
    assert spec.fixed_to is not None
    host = scene.parts[spec.fixed_to.host]
    return host, host.part.mounts[spec.fixed_to.place]


def _hangs_on_a_port(spec: PartSpec, scene: Scene) -> bool:
    assert spec.fixed_to is not None
    return is_port_seat(spec.part, scene.parts[spec.fixed_to.host].part, spec.fixed_to.place)


def _row_of(spec: PartSpec, scene: Scene) -> tuple[str, str] | None:
    """The row a part sits in: its host, and the row's name or else the mount's."""
    if spec.fixed_to is None or _hangs_on_a_port(spec, scene):
        return None
    host, mount = _host(spec, scene)
    return host.name, mount.row_of or spec.fixed_to.mount


def _rows(scene: Scene) -> dict[tuple[str, str] | None, list[str]]:
    rows: dict[tuple[str, str] | None, list[str]] = defaultdict(list)
    for spec in scene.parts.values():
        row = _row_of(spec, scene)
        if row is not None:
            rows[row].append(spec.name)
    return rows
