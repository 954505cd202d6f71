"""Which stretches of lines are seen: exact intervals, line by face.

A point of a line is hidden where it lies behind a face by more than ``BEHIND_MM`` and within the
face's outline. Both are linear along a straight segment, so each face hides one interval of it, less
one for each of its holes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from layout3d.drawing.seen import Face
from shapes.pose import Array

#: A line on a face is on it, not behind it, up to this depth [mm].
BEHIND_MM = 0.02
#: A line along a nearer face's rim is covered by that rim; not along that of a face seen nearly edge-on,
#: whose depth there nobody can tell: it is the outline of the round body the face is a side of.
_RIM_MM = 1e-4
_STEEP, _INNER_MM = 5.0, 1e-6
_CHUNK = 256
_LEAST_SHARE = 1e-7
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class _Polygons:
    """Convex polygons of one number of corners, counter-clockwise: (m, n, 2); planes z = a x + b y + c."""

    corners: Array
    planes: Array
    low: Array
    high: Array
    nearest: Array
    margins: Array
    holes: tuple[tuple[Array, ...], ...]


def visible(lines: Sequence[Array], faces: Sequence[Face]) -> list[list[Array]]:
    """For each line (n, 3) the runs of it that no face hides, each (k, 3)."""
    if not lines:
        return []
    starts = np.concatenate([line[:-1] for line in lines])
    ends = np.concatenate([line[1:] for line in lines])
    owner = np.repeat(np.arange(len(lines)), [len(line) - 1 for line in lines])
    events = [np.empty((0, 3))]
    groups = _groups(faces)
    for chunk in _chunks(starts, ends):
        for group in groups:
            events.append(_events(chunk, starts[chunk], ends[chunk], group))
    kept: list[list[Array]] = [[] for _ in lines]
    for segment, low, high in _gaps(np.concatenate(events), len(starts)):
        step = ends[segment] - starts[segment]
        first, last = starts[segment] + low * step, starts[segment] + high * step
        runs = kept[owner[segment]]
        if runs and low == 0.0 and np.array_equal(runs[-1][-1], first):
            runs[-1] = np.concatenate((runs[-1], last[None]))
        else:
            runs.append(np.array((first, last)))
    return [_closed(runs) for runs in kept]


def _closed(runs: list[Array]) -> list[Array]:
    """The last run of a ring joined to its first, where they meet at its seam."""
    if len(runs) > 1 and np.array_equal(runs[-1][-1], runs[0][0]):
        return [np.concatenate((runs[-1], runs[0][1:])), *runs[1:-1]]
    return runs


def _chunks(starts: Array, ends: Array) -> Iterator[Ints]:
    """Segments that lie near each other, some hundreds at a time."""
    middle = (starts + ends)[:, :2] / 2.0
    low, high = middle.min(axis=0), middle.max(axis=0)
    cell = np.floor((middle - low) / max(float((high - low).max()), 1e-9) * 24.0)
    order = np.lexsort((middle[:, 0], cell[:, 1], cell[:, 0]))
    for at in range(0, len(order), _CHUNK):
        yield order[at : at + _CHUNK]


def _groups(faces: Sequence[Face]) -> list[_Polygons]:
    by_count: dict[tuple[int, bool], list[Face]] = {}
    for face in faces:
        by_count.setdefault((len(face.corners), bool(face.holes)), []).append(face)
    groups = []
    for _, members in sorted(by_count.items()):
        corners = np.stack([face.corners for face in members])
        flat = _counter_clockwise(corners[:, :, :2])
        planes = _planes(corners)
        holes = tuple(
            tuple(_counter_clockwise(hole[None, :, :2])[0] for hole in face.holes) for face in members
        )
        nearest = corners[:, :, 2].max(axis=1)
        margins = np.where(np.abs(planes[:, :2]).max(axis=1) > _STEEP, _INNER_MM, -_RIM_MM)
        groups.append(_Polygons(flat, planes, flat.min(axis=1), flat.max(axis=1), nearest, margins, holes))
    return groups


def _counter_clockwise(polygons: Array) -> Array:
    x, y = polygons[..., 0], polygons[..., 1]
    area = (x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)
    return np.where((area < 0.0)[:, None, None], polygons[:, ::-1], polygons)


def _planes(corners: Array) -> Array:
    """(m, 3): a, b, c of each polygon's plane, by its area vector (Newell)."""
    after = np.roll(corners, -1, axis=1)
    normal = np.cross(corners, after).sum(axis=1)
    middle = corners.mean(axis=1)
    slope = -normal[:, :2] / normal[:, 2:]
    return np.column_stack((slope, middle[:, 2] - np.einsum("ij,ij->i", slope, middle[:, :2])))


def _events(numbers: Ints, starts: Array, ends: Array, group: _Polygons) -> Array:
    """Rows (segment, share of its length, +1 or -1): where hiding begins and ends."""
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    near = (
        (group.low < high[:, :2].max(axis=0) + _RIM_MM).all(axis=1)
        & (group.high > low[:, :2].min(axis=0) - _RIM_MM).all(axis=1)
        & (group.nearest > low[:, 2].min())
    )
    which = np.flatnonzero(near)
    meets = (
        (group.low[which, None] < high[None, :, :2] + _RIM_MM).all(axis=2)
        & (group.high[which, None] > low[None, :, :2] - _RIM_MM).all(axis=2)
        & (group.nearest[which, None] > low[None, :, 2] + BEHIND_MM)
    )
    face, segment = np.nonzero(meets)
    face = which[face]
    if not len(face):
        return np.empty((0, 3))
    first, last = _inside(starts[segment], ends[segment], group.corners[face], group.margins[face])
    plane = group.planes[face]
    at_start, at_end = (
        plane[:, 0] * points[:, 0] + plane[:, 1] * points[:, 1] + plane[:, 2] - points[:, 2] - BEHIND_MM
        for points in (starts[segment], ends[segment])
    )
    first, last = _cut(first, last, at_start, at_end)
    good = last - first > _LEAST_SHARE
    face, segment, first, last = face[good], segment[good], first[good], last[good]
    rows = [_rows(numbers[segment], first, last, 1.0)]
    if group.holes and group.holes[0]:
        rows.append(_hole_events(numbers, starts, ends, group, (face, segment, first, last)))
    return np.concatenate(rows)


def _hole_events(
    numbers: Ints, starts: Array, ends: Array, group: _Polygons, hidden: tuple[Ints, Ints, Array, Array]
) -> Array:
    face, segment, first, last = hidden
    rows = [np.empty((0, 3))]
    for number in np.unique(face):
        mine = face == number
        here, low, high = segment[mine], first[mine], last[mine]
        p, q = starts[here], ends[here]
        left, right = np.minimum(p, q)[:, :2], np.maximum(p, q)[:, :2]
        for hole in group.holes[number]:
            meets = np.flatnonzero(
                (hole.min(axis=0) < right).all(axis=1) & (hole.max(axis=0) > left).all(axis=1)
            )
            if len(meets):
                ring = np.broadcast_to(hole, (len(meets), *hole.shape))
                a, b = _inside(p[meets], q[meets], ring, np.full(len(meets), _RIM_MM))
                a, b = np.maximum(a, low[meets]), np.minimum(b, high[meets])
                good = b - a > _LEAST_SHARE
                rows.append(_rows(numbers[here[meets[good]]], a[good], b[good], -1.0))
    return np.concatenate(rows)


def _rows(segment: Ints, first: Array, last: Array, step: float) -> Array:
    both = np.concatenate((segment, segment)).astype(float)
    signs = np.concatenate((np.full(len(first), step), np.full(len(last), -step)))
    return np.column_stack((both, np.concatenate((first, last)), signs))


def _inside(starts: Array, ends: Array, polygons: Array, margin: Array) -> tuple[Array, Array]:
    """The share of each segment that lies inside its polygon by at least ``margin`` (n,) [mm]."""
    along = np.roll(polygons, -1, axis=1) - polygons
    size = np.hypot(along[..., 0], along[..., 1])
    size = np.where(size > 0.0, size, 1.0)
    first, last = np.zeros(len(starts)), np.ones(len(starts))
    for side in range(polygons.shape[1]):
        ax, ay = along[:, side, 0] / size[:, side], along[:, side, 1] / size[:, side]
        cx, cy = polygons[:, side, 0], polygons[:, side, 1]
        at_start = ax * (starts[:, 1] - cy) - ay * (starts[:, 0] - cx) - margin
        at_end = ax * (ends[:, 1] - cy) - ay * (ends[:, 0] - cx) - margin
        first, last = _cut(first, last, at_start, at_end)
    return first, last


def _cut(first: Array, last: Array, at_start: Array, at_end: Array) -> tuple[Array, Array]:
    """[first, last] less the shares where a value, linear from start to end, is below 0."""
    slope = at_end - at_start
    level = slope == 0.0
    root = -at_start / np.where(level, 1.0, slope)
    first = np.where(slope > 0.0, np.maximum(first, root), first)
    last = np.where(slope < 0.0, np.minimum(last, root), last)
    return first, np.where(level & (at_start < 0.0), -1.0, last)


def _gaps(events: Array, count: int) -> Iterator[tuple[int, float, float]]:
    """(segment, from, to) of every stretch that nothing hides, in order."""
    order = np.lexsort((-events[:, 2], events[:, 1], events[:, 0]))
    rows = events[order]
    edges = np.searchsorted(rows[:, 0], np.arange(count + 1))
    for segment in range(count):
        low, high = edges[segment], edges[segment + 1]
        if low == high:
            yield segment, 0.0, 1.0
            continue
        at, cover = 0.0, 0.0
        for _, share, step in rows[low:high].tolist():
            if cover <= 0.5 and share - at > _LEAST_SHARE:
                yield segment, at, share
            at, cover = max(at, share), cover + step
        if cover <= 0.5 and 1.0 - at > _LEAST_SHARE:
            yield segment, at, 1.0
