"""Nearest points of primitives in closed form, written apart from the checker's kernels.

All functions take points (n, 3) in the primitive's own frame [mm]. A tube is what the checker
sees: full, its radius half the outside plus the deviation.
"""

from __future__ import annotations

import numpy as np

from shapes.pose import Array
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Opening,
    Plate,
    Primitive,
    Prism,
    RoundOpening,
    Straight,
    TubeRun,
)


def nearest(primitive: Primitive, points: Array) -> Array:
    """The point of the solid nearest to each point (n, 3); a point inside is its own."""
    match primitive:
        case Box(size=size):
            half = np.array(size) / 2.0
            return np.clip(points, -half, half)
        case Cylinder():
            flat = _into_disc(points[:, :2], primitive.diameter / 2.0)
            return np.column_stack((flat, _clip_height(points, primitive.length)))
        case Prism():
            flat = _into_polygon(np.array(primitive.corners), points[:, :2])
            return np.column_stack((flat, _clip_height(points, primitive.height)))
        case Plate():
            return np.column_stack(
                (_into_sheet(primitive, points[:, :2]), _clip_height(points, primitive.thickness))
            )
        case TubeRun():
            radius = primitive.outside / 2.0 + primitive.deviation
            found = np.stack([_into_piece(piece, radius, points) for piece in primitive.pieces])
            best = np.argmin(np.linalg.norm(found - points, axis=2), axis=0)
            return found[best, np.arange(len(points))]


def depth(primitive: Primitive, points: Array) -> Array:
    """A proven lower bound (n,) of each point's distance to the skin, negative outside [mm]."""
    match primitive:
        case Box(size=size):
            return (np.array(size) / 2.0 - np.abs(points)).min(axis=1)
        case Cylinder():
            radial = primitive.diameter / 2.0 - np.hypot(points[:, 0], points[:, 1])
            return np.minimum(radial, primitive.length / 2.0 - np.abs(points[:, 2]))
        case Prism():
            corners = np.array(primitive.corners)
            normals = edge_normals(corners)
            sides = ((corners * normals).sum(axis=1) - points[:, :2] @ normals.T).min(axis=1)
            return np.minimum(sides, primitive.height / 2.0 - np.abs(points[:, 2]))
        case Plate():
            sheet = np.array((*primitive.size, primitive.thickness)) / 2.0
            within = (sheet - np.abs(points)).min(axis=1)
            for opening in primitive.openings:
                within = np.minimum(within, -opening_depth(opening, points[:, :2]))
            return within
        case TubeRun():
            radius = primitive.outside / 2.0 + primitive.deviation
            return np.stack([_piece_depth(piece, radius, points) for piece in primitive.pieces]).max(axis=0)


def edge_normals(corners: Array) -> Array:
    """Outward unit normals (n, 2) of a counter-clockwise polygon's sides."""
    sides = np.roll(corners, -1, axis=0) - corners
    return np.column_stack((sides[:, 1], -sides[:, 0])) / np.linalg.norm(sides, axis=1)[:, None]


def opening_depth(opening: Opening, flat: Array) -> Array:
    """How far points (n, 2) lie inside an opening's rim, negative in the sheet (a lower bound at corners)."""
    away = flat - np.array(opening.at)
    if isinstance(opening, RoundOpening):
        return opening.diameter / 2.0 - np.linalg.norm(away, axis=1)
    return (np.array(opening.size) / 2.0 - np.abs(away)).min(axis=1)


def _clip_height(points: Array, height: float) -> Array:
    return np.clip(points[:, 2], -height / 2.0, height / 2.0)


def _into_disc(flat: Array, radius: float) -> Array:
    reach = np.linalg.norm(flat, axis=1)
    return flat * np.minimum(1.0, radius / np.maximum(reach, 1e-300))[:, None]


def _into_polygon(corners: Array, flat: Array) -> Array:
    normals = edge_normals(corners)
    outside = (flat @ normals.T > (corners * normals).sum(axis=1)).any(axis=1)
    rim = _onto_segments(corners, np.roll(corners, -1, axis=0), flat)
    return np.where(outside[:, None], _closest_of(rim, flat), flat)


def _onto_segments(starts: Array, ends: Array, flat: Array) -> Array:
    """The nearest point of each segment to each point, (segments, n, 2)."""
    along = ends - starts
    share = np.einsum("snk,sk->sn", flat[None] - starts[:, None], along) / (along**2).sum(axis=1)[:, None]
    return starts[:, None] + np.clip(share, 0.0, 1.0)[:, :, None] * along[:, None]


def _closest_of(candidates: Array, flat: Array) -> Array:
    """Of candidates (c, n, 2), NaN where there is none, the one nearest to each point."""
    distance = np.linalg.norm(candidates - flat, axis=2)
    best = np.argmin(np.where(np.isnan(distance), np.inf, distance), axis=0)
    return candidates[best, np.arange(len(flat))]


def _into_sheet(plate: Plate, flat: Array) -> Array:
    """Nearest point of a rectangle less its openings: the nearest that is in the sheet, of
    the rectangle, the openings' rims, and the corners where a rim runs out over the edge."""
    half = np.array(plate.size) / 2.0
    candidates = [np.clip(flat, -half, half)]
    for opening in plate.openings:
        candidates += [*_rim_points(opening, flat), *_run_outs(opening, half, len(flat))]
    stacked = np.stack(candidates)
    lost = (np.abs(stacked) > half + 1e-12).any(axis=2)
    for opening in plate.openings:
        lost |= opening_depth(opening, stacked.reshape(-1, 2)).reshape(lost.shape) > 1e-12
    stacked[lost] = np.nan
    return _closest_of(stacked, flat)


def _rim_points(opening: Opening, flat: Array) -> list[Array]:
    centre = np.array(opening.at)
    if isinstance(opening, RoundOpening):
        away = flat - centre
        reach = np.linalg.norm(away, axis=1)
        away = np.where(reach[:, None] > 0.0, away / np.maximum(reach, 1e-300)[:, None], np.array([1.0, 0.0]))
        return [centre + opening.diameter / 2.0 * away]
    x, y = np.array(opening.size) / 2.0
    corners = centre + np.array([[x, y], [-x, y], [-x, -y], [x, -y]])
    return list(_onto_segments(corners, np.roll(corners, -1, axis=0), flat))


def _run_outs(opening: Opening, half: Array, count: int) -> list[Array]:
    """Where an opening's rim crosses the edges of the sheet, each repeated for every point."""
    centre, found = np.array(opening.at), []
    for axis in (0, 1):
        other = 1 - axis
        for edge in (-half[axis], half[axis]):
            if isinstance(opening, RoundOpening):
                square = (opening.diameter / 2.0) ** 2 - (edge - centre[axis]) ** 2
                reach = np.sqrt(square) if square > 0.0 else None
            else:
                size = np.array(opening.size) / 2.0
                reach = size[other] if abs(edge - centre[axis]) < size[axis] else None
            for sign in (-1.0, 1.0) if reach is not None else ():
                corner = np.empty(2)
                corner[axis], corner[other] = edge, centre[other] + sign * reach
                found.append(np.tile(corner, (count, 1)))
    return found


def _into_piece(piece: Straight | Arc, radius: float, points: Array) -> Array:
    if isinstance(piece, Straight):
        start, along = np.array(piece.start), (np.array(piece.end) - piece.start) / piece.length
        share = (points - start) @ along
        off = points - start - share[:, None] * along
        return start + np.clip(share, 0.0, piece.length)[:, None] * along + _into_disc(off, radius)
    angle = _azimuth(piece, points)
    inside = _into_disc_of_arc(piece, radius, np.clip(angle, 0.0, piece.angle), points)
    ends = [_into_disc_of_arc(piece, radius, np.full(len(points), end), points) for end in (0.0, piece.angle)]
    candidates = np.stack([inside, *ends])
    best = np.argmin(np.linalg.norm(candidates - points, axis=2), axis=0)
    return candidates[best, np.arange(len(points))]


def _azimuth(arc: Arc, points: Array) -> Array:
    """Angle about the arc's axis from its start, centred so that both ends are reached the short way."""
    away = points - np.array(arc.centre)
    angle = np.arctan2(away @ np.array(arc.along), away @ np.array(arc.outward))
    middle = arc.angle / 2.0
    return middle + np.mod(angle - middle + np.pi, 2.0 * np.pi) - np.pi


def _into_disc_of_arc(arc: Arc, radius: float, angle: Array, points: Array) -> Array:
    out, along = np.array(arc.outward), np.array(arc.along)
    radial = np.cos(angle)[:, None] * out + np.sin(angle)[:, None] * along
    centre = np.array(arc.centre) + arc.radius * radial
    axis = np.cross(out, along)
    off = points - centre
    flat = np.column_stack(((off * radial).sum(axis=1), off @ axis))
    flat = _into_disc(flat, radius)
    return centre + flat[:, :1] * radial + flat[:, 1:] * axis


def _piece_depth(piece: Straight | Arc, radius: float, points: Array) -> Array:
    if isinstance(piece, Straight):
        start, along = np.array(piece.start), (np.array(piece.end) - piece.start) / piece.length
        share = (points - start) @ along
        off = np.linalg.norm(points - start - share[:, None] * along, axis=1)
        return np.minimum(radius - off, np.minimum(share, piece.length - share))
    away = points - np.array(piece.centre)
    height = away @ np.cross(piece.outward, piece.along)
    reach = np.sqrt(np.maximum((away**2).sum(axis=1) - height**2, 0.0))
    angle = _azimuth(piece, points)
    inside = np.minimum(angle, piece.angle - angle)
    ends = np.where(inside > 0.0, reach * np.sin(np.minimum(inside, np.pi / 2.0)), -np.inf)
    return np.minimum(radius - np.hypot(reach - piece.radius, height), ends)
