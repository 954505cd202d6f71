"""The child process: reads one file of another program and writes its triangles as plain arrays.

``python -m layout3d.importing.child REQUEST``: a JSON object on standard input. Whatever the file
does to the libraries that read it, only this process suffers.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from layout3d.importing.weld import welded
from layout3d.kernels.meshpoints import surface_distance
from shapes.pose import Array
from shapes.primitives import Mesh

#: Triangles at which a thinned-out mesh is compared with the one it stands for.
_CHECKED = 20_000
#: Corners (m, 3, 3), bulges (m, 6, 3) or None, and a deviation; see ``shapes.primitives.Mesh``.
Facets: TypeAlias = tuple[Array, Array | None, float]


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
    path = Path(asked["path"])
    if asked["kind"] == "step":
        from layout3d.importing.stepfile import bodies_of, facets_of, solids_of

        bodies = bodies_of(path) if asked["solid"] == "hull" else solids_of(path)
        solids: list[Facets] = [facets_of(body, asked["deflection"]) for body in bodies]
    else:
        solids = [(_triangle_file(path, asked["kind"]) * asked["scale"], None, 0.0)]
    if asked["solid"] == "hull":
        solids = [_hull(solids)]
    arrays: dict[str, Any] = {"count": np.array(len(solids))}
    for number, (corners, bulges, deviation) in enumerate(solids):
        vertices, triangles, kept, moved = welded(corners)
        deviation += moved
        if bulges is not None:
            bulges = bulges[kept].astype(np.float32)
        if len(triangles) > asked["most"]:
            longest = 0.0 if bulges is None else float(np.linalg.norm(bulges, axis=2).max(initial=0.0))
            vertices, triangles, error = _decimated(vertices, triangles, asked["most"])
            deviation, bulges = deviation + longest + error, None
        arrays[f"vertices_{number}"] = vertices
        arrays[f"triangles_{number}"] = triangles
        arrays[f"deviation_{number}"] = np.array(deviation)
        if bulges is not None and bulges.any():
            arrays[f"bulges_{number}"] = bulges
    return arrays


def _hull(solids: list[Facets]) -> Facets:
    """The convex hull of all that the solids may reach to."""
    import manifold3d

    points = []
    for corners, bulges, _ in solids:
        points.append(corners.reshape(-1, 3))
        if bulges is not None:
            middles = 0.5 * (corners + np.roll(corners, -1, axis=1))
            points.append((np.tile(middles, (1, 2, 1)) + bulges).reshape(-1, 3))
    made = manifold3d.Manifold.hull_points(np.concatenate(points)).to_mesh64()
    corners = np.array(made.vert_properties, dtype=float)[:, :3][np.array(made.tri_verts)]
    if not len(corners):
        raise ValueError("is flat: its convex hull encloses no volume")
    return corners, None, max(deviation for _, _, deviation in solids)


def _triangle_file(path: Path, kind: str) -> Array:
    if kind == "3mf":
        from layout3d.importing.threemf import corners_of

        corners = corners_of(path)
    else:
        corners = _loaded(path, kind)
    if not np.isfinite(corners).all():
        raise ValueError(
            f"has {int((~np.isfinite(corners)).any(axis=(1, 2)).sum())} triangles that are not finite"
        )
    return corners


def _loaded(path: Path, kind: str) -> Array:
    try:
        import trimesh
    except ImportError:
        raise ValueError(
            f"is {kind.upper()}, which takes the library trimesh to read: `pip install trimesh`"
        ) from None
    try:
        loaded = trimesh.load(path, file_type=kind, force="mesh", process=False)
    except ImportError:  # what does not begin as a whole binary file is tried as text of any coding
        raise ValueError(f"cannot be read as {kind.upper()}: it is cut off, or no such file") from None
    except Exception as error:  # the readers of these formats raise whatever their input makes them
        raise ValueError(f"cannot be read as {kind.upper()}: {error or type(error).__name__}") from None
    if not isinstance(loaded, trimesh.Trimesh) or not len(loaded.faces):
        raise ValueError(f"is a {kind.upper()} file without a triangle in it")
    return np.asarray(loaded.vertices, dtype=float)[loaded.faces]


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
            return points, numbers, _moved(vertices[triangles], Mesh(points, numbers), tolerance)
        tolerance *= 2.0
    raise ValueError(
        f"has {len(triangles)} triangles and cannot be thinned out to {most} without losing its form"
    )


def _moved(corners: Array, thin: Mesh, tolerance: float) -> float:
    """How far the surface may have moved [mm].

    manifold3d states that no surface moves by more than the tolerance; that is not taken on trust
    but measured at many corners and middles of the triangles given, and half as much added.
    """
    some = corners[:: max(1, len(corners) // _CHECKED)]
    points = np.concatenate([some[:, 0], some.mean(axis=1)])
    return 1.5 * max(tolerance, float(surface_distance(points, thin).max()))


if __name__ == "__main__":
    main()
