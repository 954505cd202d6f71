"""Slices of nodes proved blocked: how far a node's first coordinate may advance."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layout3d.tubes.route.directions import Bools, Indices
from layout3d.tubes.route.families import Families
from layout3d.tubes.route.hulls import box_corners, held
from layout3d.tubes.route.motion import ON_BEND, Samples
from layout3d.tubes.route.room import SLACK_MM, Room
from shapes.pose import Array

#: A slice thinner than this is worth a better look, or a split [mm].
GOOD_SLICE_MM = 1.0
_EXACT_SAMPLES = 6


@dataclass(frozen=True, slots=True, eq=False)
class Slices:
    """What samples of B nodes prove.

    gain : (B,) how far the first coordinate may advance past the runs looked at [mm]
    clear : (B,) runs that show no sign of being blocked
    depth : (B, N) of the samples in forbidden room, at least; -inf where not judged [mm]
    """

    gain: Array
    clear: Bools
    depth: Array

    @property
    def worst(self) -> Indices:
        """The deepest sample (B,) of each."""
        worst: Indices = self.depth.argmax(axis=1)
        return worst


def by_samples(room: Room, sampled: Samples, back: Array) -> Slices:
    """By lattice values where these are enough, else by the distances of the likeliest samples."""
    count, wide = sampled.rest.shape
    least = room.radius + SLACK_MM
    value, off = (v.reshape(count, wide) for v in room.field.bounds(sampled.points.reshape(-1, 3)))
    judged = sampled.usable & (sampled.from_start >= room.lenient[0]) & (sampled.from_end >= room.lenient[1])
    depth = np.where(judged, least - value - off, -math.inf)
    gain = sampled.advance(depth, back)
    weak = np.flatnonzero(gain < GOOD_SLICE_MM)
    if len(weak):
        possible = judged[weak] & (value[weak] - off[weak] <= least)
        likely = np.where(possible, least - value[weak] - sampled.rest[weak], -math.inf)
        best = np.argsort(-likely, axis=1, kind="stable")[:, :_EXACT_SAMPLES]
        asked = np.take_along_axis(possible, best, axis=1)
        node, best = np.repeat(weak, asked.sum(axis=1)), best[asked]
        depth[node, best] = least - room.field.at(sampled.points[node, best])
        gain = sampled.advance(depth, back)
    clear: Bools = np.logical_and.reduce(depth <= SLACK_MM, axis=1)
    return Slices(gain, clear, depth)


def by_corners(
    room: Room,
    families: Families,
    rows: Indices,
    low: Array,
    high: Array,
    f: Array,
    sampled: Samples,
    known: Slices,
) -> Array:
    """The gains (B,), raised where the worst sample's obstacle is convex and blocks all corners of a box."""
    gain, worst = known.gain.copy(), known.worst
    weak = np.flatnonzero((gain < GOOD_SLICE_MM) & (known.depth.max(axis=1) > -math.inf))
    if not len(weak) or not len(room.obstacles):
        return gain
    obstacle = room.field.tightest(sampled.points[weak, worst[weak]])
    usable = (obstacle >= 0) & room.obstacles.convex[obstacle]
    if families.radius * float(families.angle.min()) < max(room.lenient):
        # Points of a straight may lie where the field does not judge.
        usable &= worst[weak] < families.bends * len(ON_BEND)
    weak, obstacle = weak[usable], obstacle[usable]
    if not len(weak):
        return gain
    corners, first = box_corners(low[weak], high[weak])
    within = room.required[obstacle] + room.radius + SLACK_MM
    blocked = held(families, rows[weak], worst[weak], corners, room.obstacles, obstacle, within)
    for n in np.flatnonzero(blocked[:, 0]):
        node, faces = weak[n], first[n, blocked[n, 1:]]
        if len(faces):
            whole = faces[0] >= high[node, 0]
            gain[node] = max(gain[node], math.inf if whole else faces[0] - f[node, 0])
    return gain
