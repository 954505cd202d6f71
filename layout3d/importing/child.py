"""The child process: reads one file of another program and writes its triangles as plain arrays.

``python -m layout3d.importing.child REQUEST``: a JSON object on standard input. Whatever the file
does to the libraries that read it, only this process suffers.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

from shapes.pose import Array
from shapes.primitives import open_edges

#: Corners this near are one vertex [mm].
_GRAIN_MM = 1e-6


def main() -> None:
    """Answer one request: arrays in the file ``out``, or a JSON line with what is wrong."""
    asked = json.load(sys.stdin)
    try:
        np.savez(asked["out"], **_read(asked))
        answer: dict[str, Any] = {"problem": None}
    except ValueError as error:
        answer = {"problem": str(error)}
    except ImportError as error:
        answer = {"problem": f"cannot be read without {error.name}: `pip install '.[export]'`, see README"}
    sys.stdout.write("\n" + json.dumps(answer) + "\n")


def _read(asked: dict[str, Any]) -> dict[str, Any]:
    path, hull = Path(asked["path"]), asked["solid"] == "hull"
    if asked["kind"] == "step":
        from layout3d.importing.stepfile import solids_of, triangles_of

        deflection = asked["deflection"]
        solids = [(*triangles_of(solid, deflection)[:2], deflection) for solid in solids_of(path)]
    else:
        corners = _triangle_file(path, asked["kind"]) * asked["scale"]
        solids = [(corners, np.zeros(len(corners), dtype=bool), 0.0)]
    if hull:
        import manifold3d

        points = np.concatenate([corners.reshape(-1, 3) for corners, _, _ in solids])
        spread = max(spread for _, _, spread in solids)
        made = manifold3d.Manifold.hull_points(points).to_mesh64()
        corners = np.array(made.vert_properties, dtype=float)[:, :3][np.array(made.tri_verts)]
        if not len(corners):
            raise ValueError("is flat: its convex hull encloses no volume")
        solids = [(corners, np.full(len(corners), spread > 0.0), spread)]
    arrays: dict[str, Any] = {"count": np.array(len(solids))}
    for number, (corners, curved, spread) in enumerate(solids):
        vertices, triangles, kept = _welded(corners)
        _check_closed(vertices, triangles)
        curved = curved[kept]
        if len(triangles) > asked["most"]:
            vertices, triangles, error = _decimated(vertices, triangles, asked["most"])
            spread, curved = spread + error, np.ones(len(triangles), dtype=bool)
        names = ("vertices", "triangles", "curved", "deviation")
        for name, value in zip(names, (vertices, triangles, curved, np.array(spread)), strict=True):
            arrays[f"{name}_{number}"] = value
    return arrays


def _triangle_file(path: Path, kind: str) -> Array:
    import trimesh

    try:
        loaded = trimesh.load(path, file_type=kind, force="mesh", process=False)
    except Exception as error:  # the readers of these formats raise whatever their input makes them
        raise ValueError(f"cannot be read as {kind.upper()}: {error or type(error).__name__}") from None
    if not isinstance(loaded, trimesh.Trimesh) or not len(loaded.faces):
        raise ValueError(f"is a {kind.upper()} file without a triangle in it")
    corners = np.asarray(loaded.vertices, dtype=float)[loaded.faces]
    if not np.isfinite(corners).all():
        raise ValueError(
            f"has {int((~np.isfinite(corners)).any(axis=(1, 2)).sum())} triangles that are not finite"
        )
    return corners


def _welded(corners: Array) -> tuple[Array, Any, Any]:
    """Vertices, triangles, and which triangles stayed: corners that are one point are made one."""
    points = corners.reshape(-1, 3)
    grid = np.round(points / _GRAIN_MM).astype(np.int64)
    _, first, number = np.unique(grid, axis=0, return_index=True, return_inverse=True)
    triangles = number.reshape(-1, 3)
    kept = (triangles != np.roll(triangles, 1, axis=1)).all(axis=1)
    return points[first], triangles[kept].astype(np.int32), kept


def _check_closed(vertices: Array, triangles: Any) -> None:
    edges = open_edges(triangles)
    if len(edges):
        x, y, z = vertices[edges[0]].mean(axis=0)
        raise ValueError(
            f"is not closed: {len(edges)} of its edges are open, one near [{x:.1f}, {y:.1f}, {z:.1f}] mm; "
            "close it in the program it came from, or take its convex hull with `solid: hull`"
        )


def _decimated(vertices: Array, triangles: Any, most: int) -> tuple[Array, Any, float]:
    import manifold3d

    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, triangles.astype(np.uint64)))
    if body.status() != manifold3d.Error.NoError:
        raise ValueError(
            f"has {len(triangles)} triangles, more than {most}, and cannot be thinned out: {body.status()}; "
            "thin it out in the program it came from, or take its convex hull with `solid: hull`"
        )
    width = float((vertices.max(axis=0) - vertices.min(axis=0)).max())
    tolerance = 1e-5 * width
    while tolerance < 0.01 * width:
        thin = body.simplify(tolerance)
        if thin.num_tri() <= most:
            made = thin.to_mesh64()
            points = np.array(made.vert_properties, dtype=float)[:, :3]
            numbers = np.array(made.tri_verts, dtype=np.int32)
            return points, numbers, _furthest(vertices, triangles, points, numbers)
        tolerance *= 2.0
    raise ValueError(
        f"has {len(triangles)} triangles and cannot be thinned out to {most} without losing its form"
    )


def _furthest(vertices: Array, triangles: Any, points: Array, numbers: Any) -> float:
    """A bound of how far either surface lies from the other [mm].

    A triangle's points are no further from a surface than its middle is, plus its own radius; too
    coarse for large triangles, which are cut into four until that tells little.
    """
    from layout3d.kernels.meshpoints import surface_distance
    from shapes.primitives import Mesh

    before, after = Mesh(vertices, triangles), Mesh(points, numbers)
    worst = 0.0
    for corners, other in ((before.corners, after), (after.corners, before)):
        for _ in range(12):
            middle = corners.mean(axis=1)
            radius = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1)
            at = surface_distance(middle, other)
            worst = max(worst, float(at.max(initial=0.0)))
            open_ = at + radius > 1.5 * worst + 1e-3
            worst_closed = float((at + radius)[~open_].max(initial=0.0))
            worst = max(worst, worst_closed)
            corners = corners[open_]
            if not len(corners):
                break
            a, b, c = corners.transpose(1, 0, 2)
            ab, bc, ca = 0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a)
            quarters = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
            corners = np.concatenate([np.stack(quarter, axis=1) for quarter in quarters])
        else:
            worst = max(worst, float((at + radius).max(initial=0.0)))
    return worst


if __name__ == "__main__":
    main()
