"""Shaded pictures of a layout from several sides."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Collection, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from layout3d.drawing.views import View
from layout3d.exporters.contents import Contents
from layout3d.findings import Finding
from layout3d.render.bodies import Body, bodies_of
from layout3d.render.camera import FOV_DEG, camera_for
from layout3d.render.pins import lines_of, pins_of
from layout3d.render.run import NoPictures, rendered

#: Width and height of every picture [pixels].
SIZE = (1600, 1200)


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture to take: from where, and into which file.

    without : parts, tubes and solids (``case.roof``) to leave out
    hinted : solids that stand before the build, drawn as if of glass
    """

    view: View
    path: Path
    without: frozenset[str] = frozenset()
    hinted: frozenset[str] = frozenset()


def render(
    contents: Contents, findings: Sequence[Finding], shots: Sequence[Shot], progress: Callable[[str], None]
) -> None:
    """Write a PNG for each shot, the findings marked in it; ``progress`` is told a line for each.

    Raises NoPictures where nothing can be rendered here.
    """
    bodies = bodies_of(contents)
    if not bodies:
        raise NoPictures("nothing of it has a body")
    points = np.concatenate([body.places for body in bodies])
    arrays: dict[str, Any] = {"low": points.min(axis=0), "high": points.max(axis=0)}
    for n, body in enumerate(bodies):
        arrays |= {
            f"places_{n}": body.places.astype(np.float32),
            f"normals_{n}": body.normals.astype(np.float32),
            f"triangles_{n}": body.triangles.astype(np.int32),
            f"edges_{n}": body.edges.astype(np.int32),
        }
    names = [shot.path.name for shot in shots]

    def begun(number: int) -> None:
        if number < len(names):
            progress(f"png: {names[number]} ({number + 1} of {len(names)})")

    with tempfile.TemporaryDirectory() as folder:
        packed = Path(folder, "bodies.npz")
        np.savez(packed, **arrays)
        request = {
            "size": SIZE,
            "arrays": str(packed),
            "bodies": [_look(body) for body in bodies],
            "views": [_asked(shot, bodies, findings) for shot in shots],
        }
        begun(0)
        rendered(request, lambda number: begun(number + 1))


def _asked(shot: Shot, bodies: Sequence[Body], findings: Sequence[Finding]) -> dict[str, Any]:
    out = _numbers(bodies, shot.without)
    shown = [body.places for n, body in enumerate(bodies) if n not in out]
    camera = camera_for(shot.view, np.concatenate(shown or [body.places for body in bodies]), SIZE)
    return {
        "path": str(shot.path),
        "fov_deg": FOV_DEG,
        "eye": camera.eye.tolist(),
        "target": camera.target.tolist(),
        "up": camera.up.tolist(),
        # From below the ground would hide all.
        "ground": shot.view.toward[2] > -0.1,
        "hinted": _numbers(bodies, shot.hinted),
        "without": out,
        "pins": [asdict(pin) for pin in pins_of(findings, camera, SIZE)],
        "lines": lines_of(findings),
    }


def _numbers(bodies: Sequence[Body], names: Collection[str]) -> list[int]:
    return [n for n, body in enumerate(bodies) if body.solid in names or body.owner in names]


def _look(body: Body) -> dict[str, Any]:
    surface = body.surface
    return {
        "srgb": surface.srgb,
        "alpha": surface.alpha,
        "roughness": surface.roughness,
        "both_sides": surface.both_sides,
    }
