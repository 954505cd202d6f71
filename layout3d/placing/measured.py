"""Positions measured off another part's faces."""

from __future__ import annotations

import numpy as np

from layout3d.layout import PlacedPart
from layout3d.scene.model import Off, PartSpec
from layout3d.scene.values import split_reference
from shapes.bounds import part_span
from shapes.part import Part
from shapes.pose import DIRECTIONS, Array, Pose, Vec3, compose


def raw_pose(spec: PartSpec) -> Pose:
    """The pose that ``at`` and ``rotate`` state, the origin at zero where ``at`` is left out."""
    return Pose.at(spec.at or (0.0, 0.0, 0.0), spec.rotate)


def measured_pose(part: Part, start: Pose, lines: tuple[Off, ...], hosts: dict[str, PlacedPart]) -> Pose:
    """``start`` moved so that every ``off`` line holds; ValueError where two lines share a direction."""
    pose = start
    taken: list[Array] = []
    for line in lines:
        plane, normal = face_plane(line.face, hosts)
        for other in taken:
            if abs(float(other @ normal)) > 1e-9:
                raise ValueError(
                    f"`off: {line.face}` is not square to an earlier line; each must fix another direction"
                )
        taken.append(normal)
        low, high = _extent(part, pose, normal)
        edge = {"near": low, "far": high, "middle": (low + high) / 2.0}[line.edge]
        pose = pose.shifted(normal * (plane + line.gap - edge))
    return pose


def face_plane(face: str, hosts: dict[str, PlacedPart]) -> tuple[float, Array]:
    """A face's plane as (distance along its normal, normal) in the scene."""
    name, side = split_reference(face)
    host = hosts[name]
    if side in host.part.mounts:
        frame = compose(host.part.mounts[side].mount2part, host.part2scene)
        return float(frame.origin @ frame.z_axis), frame.z_axis
    normal = np.asarray(DIRECTIONS[side])
    return _extent(host.part, host.part2scene, normal)[1], normal


def _extent(part: Part, pose: Pose, normal: Array | Vec3) -> tuple[float, float]:
    """Least and greatest distance of the part's solids along a direction [mm]."""
    return part_span(part, pose, np.asarray(normal))
