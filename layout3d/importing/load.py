"""The meshes of an imported file, from the cache or read afresh."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from shapes.primitives import Mesh, Source

#: Raised whenever the same file would give other arrays.
_VERSION = 3
MOST_TRIANGLES = 200_000
_MOST_BYTES = 500_000_000
_MOST_SECONDS = 300.0
#: No part of a build is smaller or larger over all [mm].
_LEAST_PART_MM, _LARGEST_PART_MM = 0.1, 10_000.0
#: Names the folder of the cache; without it `.layout3d-cache` beside the file's scene.
CACHE_VARIABLE = "LAYOUT3D_CACHE"
KINDS = {".step": "step", ".stp": "step", ".stl": "stl", ".obj": "obj", ".3mf": "3mf"}
UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


class ImportProblem(ValueError):
    """A file that cannot be imported; the message completes "FILE ..."."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is read from a file: its units, solid or hull, and how near facets follow curves [mm]."""

    units: str | None
    solid: Literal["mesh", "hull"]
    deflection: float


@dataclass(frozen=True, slots=True)
class Imported:
    """The solids of a file and the hash of its bytes."""

    sha256: str
    meshes: tuple[Mesh, ...]


def load(path: Path, folder: Path, asked: Asked, sha256: str | None = None) -> Imported:
    """The meshes of a file, kept in the cache of the scene in ``folder``. Raises ImportProblem."""
    kind = KINDS.get(path.suffix.lower())
    if kind is None:
        raise ImportProblem(f"ends in {path.suffix!r}; files that can be imported end in {', '.join(KINDS)}")
    if kind in ("stl", "obj") and asked.units is None:
        raise ImportProblem(
            f"is {kind.upper()}, which states no unit: add `units: mm` (or {', '.join(UNITS_MM)})"
        )
    if kind in ("step", "3mf") and asked.units is not None:
        raise ImportProblem(f"states its own units: leave out `units: {asked.units}`")
    found = _hash(path)
    if sha256 is not None and found != sha256.lower():
        raise ImportProblem(f"has changed: its sha256 is {found}, the scene expects {sha256.lower()}")
    key = repr((_VERSION, found, kind, asked.units, asked.solid, asked.deflection, MOST_TRIANGLES))
    cache = Path(os.environ.get(CACHE_VARIABLE) or folder / ".layout3d-cache")
    kept = cache / f"{hashlib.sha256(key.encode()).hexdigest()[:32]}.npz"
    source = Source(str(path.resolve()), found, exact=kind == "step" and asked.solid == "mesh")
    meshes = _from_cache(kept, source)
    if meshes is None:
        meshes = _read(path, kind, asked, kept, source)
    _check_size(meshes, asked)
    return Imported(found, meshes)


def _check_size(meshes: tuple[Mesh, ...], asked: Asked) -> None:
    """ImportProblem for what is no part of a PC by its size: a file read in the wrong unit."""
    corners = np.concatenate([mesh.vertices for mesh in meshes])
    largest = float((corners.max(axis=0) - corners.min(axis=0)).max())
    if not _LEAST_PART_MM <= largest <= _LARGEST_PART_MM:
        unit = f"read in {asked.units}" if asked.units else "in its own units"
        raise ImportProblem(
            f"is {largest:.4g} mm long, {unit}; parts of {_LEAST_PART_MM:g} to {_LARGEST_PART_MM:g} mm are "
            "taken: is the unit right?"
        )


def _hash(path: Path) -> str:
    if "\0" in str(path):
        raise ImportProblem("is no name a file can have")
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise ImportProblem("is no file")
        if size == 0:
            raise ImportProblem("is empty")
        if size > _MOST_BYTES:
            raise ImportProblem(f"has {size / 1e6:.0f} MB; at most {_MOST_BYTES / 1e6:.0f} MB are read")
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        raise ImportProblem("does not exist; paths count from the scene's folder") from None
    except OSError as error:
        raise ImportProblem(f"cannot be read: {error.strerror}") from None


def _from_cache(kept: Path, source: Source) -> tuple[Mesh, ...] | None:
    try:
        with np.load(kept, allow_pickle=False) as arrays:
            return tuple(
                Mesh(
                    arrays[f"vertices_{n}"],
                    arrays[f"triangles_{n}"],
                    float(arrays[f"deviation_{n}"]),
                    arrays.get(f"bulges_{n}"),
                    Source(source.path, source.sha256, n, source.exact),
                )
                for n in range(int(arrays["count"]))
            )
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None  # not there yet, or spoilt: read the file again


def _read(path: Path, kind: str, asked: Asked, kept: Path, source: Source) -> tuple[Mesh, ...]:
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(suffix=".npz", prefix="part-", dir=kept.parent)
        os.close(handle)
    except OSError:
        # A folder that cannot be written only costs the next run its time.
        handle, name = tempfile.mkstemp(suffix=".npz")
        os.close(handle)
    fresh = Path(name)
    try:
        request = {
            "path": str(path.resolve()),
            "kind": kind,
            "scale": UNITS_MM[asked.units or "mm"],
            "solid": asked.solid,
            "deflection": asked.deflection,
            "most": MOST_TRIANGLES,
            "out": name,
        }
        _in_child(request)
        meshes = _from_cache(fresh, source)
        if meshes is None:
            raise ImportProblem(_why_not(fresh))
        if fresh.parent == kept.parent:
            # Another run may hold it open (Windows): what it wrote is the same.
            with contextlib.suppress(OSError):
                os.replace(fresh, kept)
        return meshes
    finally:
        fresh.unlink(missing_ok=True)


def _why_not(fresh: Path) -> str:
    try:
        with np.load(fresh, allow_pickle=False) as arrays:
            Mesh(arrays["vertices_0"], arrays["triangles_0"])
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile) as error:
        return f"gives no sound solid: {error}"
    return "gives no sound solid"


def _in_child(request: dict[str, object]) -> None:
    # Late: a warm cache, the usual case, starts no process.
    import subprocess

    command = [sys.executable, "-m", "layout3d.importing.child"]
    try:
        done = subprocess.run(
            command,
            input=json.dumps(request).encode(),
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=_MOST_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise ImportProblem(f"took longer than {_MOST_SECONDS:g} s to read; make it simpler") from None
    except OSError as error:
        raise ImportProblem(f"cannot be read, no process could be started: {error.strerror}") from None
    try:
        problem = json.loads(done.stdout.rsplit(b"\n", 2)[-2])["problem"]
    except (ValueError, IndexError, KeyError, TypeError):
        raise ImportProblem(
            f"cannot be read: the process reading it ended with status {done.returncode}; the file is "
            "broken, or too large for this machine"
        ) from None
    if problem is not None:
        raise ImportProblem(str(problem))
