"""Each part's and tube's shape as a small GLB of its own, made once, when a page asks for it."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Any

from layout3d.errors import RequestError
from layout3d.exporters.contents import Contents, contents_of, solids_key
from layout3d.exporters.glb import encoded
from layout3d.layout import Layout, PlacedPart
from shapes.pose import IDENTITY, as_vec3

#: Where everything in such a file stands for the part or tube that is shown by it.
_NAME = "it"


class Models:
    """The shapes of the latest two layouts by key, as pages may still ask for those of the last but one.

    Asked from several threads.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._latest: dict[str, Contents] = {}
        self._wanted: dict[str, Contents] = {}
        self._made: dict[str, bytes] = {}

    def take(self, layout: Layout) -> list[dict[str, Any]]:
        """What stands where: a row for each part and tube with a body, with the key of its shape.

        Shapes that are neither in it nor in the one before are forgotten.
        """
        try:
            contents = contents_of(layout)
        except RequestError:  # nothing has a body yet
            contents = None
        rows = [] if contents is None else list(_rows(contents))
        with self._lock:
            latest = {row["key"]: alone for row, alone in rows}
            self._latest, self._wanted = latest, self._latest | latest
            self._made = {key: made for key, made in self._made.items() if key in self._wanted}
        return [row for row, _ in rows]

    def glb(self, key: str) -> bytes | None:
        """The bytes of a shape; None for a key that neither of the latest two layouts has."""
        with self._lock:
            made, alone = self._made.get(key), self._wanted.get(key)
        if made is None and alone is not None:
            made = encoded(alone)
            with self._lock:
                self._made[key] = made
        return made


def _rows(contents: Contents) -> Iterator[tuple[dict[str, Any], Contents]]:
    bare = partial(replace, contents, title="", scene="", notes=())
    for placed in contents.parts:
        pose = placed.part2scene
        row = {
            "kind": "part",
            "name": placed.name,
            "key": _key(placed.shape.encode(), solids_key(placed.part)),
            "origin_mm": list(as_vec3(pose.origin)),
            "rotation": (pose.rotation + 0.0).tolist(),
        }
        yield row, bare(parts=(_unplaced(placed),), tubes=(), runs=())
    for tube, (name, run) in zip(contents.tubes, contents.runs, strict=True):
        # Runs are drawn where they lie.
        row = {"kind": "tube", "name": name, "key": _key(tube.kind.encode(), repr(run).encode())}
        alone = replace(tube, name=_NAME)
        yield (
            row | {"origin_mm": None, "rotation": None},
            bare(parts=(), tubes=(alone,), runs=((_NAME, run),)),
        )


def _unplaced(placed: PlacedPart) -> PlacedPart:
    return replace(placed, name=_NAME, part2scene=IDENTITY, tube=None)


def _key(*stated: bytes) -> str:
    return hashlib.sha256(b"|".join(stated)).hexdigest()
