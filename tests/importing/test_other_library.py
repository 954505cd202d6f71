"""Fasteners written by another library: imported, judged by OCCT, checked and exported again.

The files and how they were made: tests/data/imported/README.md.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.exporters import export
from layout3d.kernels.bodies import body
from layout3d.kernels.measure import measure
from layout3d.layout import Layout
from layout3d.realise.brep import part_solids, solid
from layout3d.scene.reader import read_scene
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Cylinder, Mesh, Primitive

FILES = Path(__file__).parents[1] / "data" / "imported"
#: Sizes over all [mm], from memory. ISO 4762, M4: knurled head at most 7.22 wide, 4 high. ISO 10642: the
#: length counts from the head's face. ISO 4032, M6: 10 across flats, corners 10 / cos 30 deg apart, at
#: most 5.2 high. ISO 7089, M6: 12 outside, at most 1.8 thick.
SIZES = {
    "cap_screw_m4x20": (7.22, 7.22, 24.0),
    "countersunk_screw_m3x30": (None, None, 30.0),
    "nut_m6": (10.0 / np.cos(np.pi / 6.0), 10.0, 5.2),
    "washer_m6": (12.0, 12.0, 1.8),
}
#: Those that are there as STL too.
FACETED = ("cap_screw_m4x20", "washer_m6")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all: each file is meshed once, into the cache beside the scene."""
    return tmp_path_factory.mktemp("imported")


def imported(folder: Path, name: str, more: str = "", beside: str = "") -> Layout:
    shutil.copy(FILES / name, folder / name)
    units = ", units: mm" if name.endswith(".stl") else ""
    scene = folder / "scene.yaml"
    one = f"  one: {{shape: import, file: {name}{units}{more}}}\n"
    scene.write_text(f"layout3d: 1\ntitle: Fastener\nparts:\n{one}{beside}", encoding="utf-8")
    return build(read_scene(scene))


def mesh_of(layout: Layout) -> Mesh:
    [only] = layout.parts["one"].part.solids
    assert isinstance(only.primitive, Mesh)
    return only.primitive


def extent(shape: cq.Shape) -> np.ndarray:
    box = shape.BoundingBox()
    return np.array((box.xlen, box.ylen, box.zlen))


@pytest.mark.parametrize("name", SIZES)
def test_fasteners_have_the_sizes_of_their_standards(folder: Path, name: str) -> None:
    layout = imported(folder, f"{name}.step")
    mesh = mesh_of(layout)
    reach = np.ptp(mesh.vertices, axis=0)
    for found, wanted in zip(reach, SIZES[name], strict=True):
        if wanted is not None:
            assert found == pytest.approx(wanted, abs=2.0 * mesh.spread + 1e-6)
    assert check(layout).is_clear


@pytest.mark.parametrize("name", SIZES)
def test_occt_judges_gaps_to_them(folder: Path, name: str) -> None:
    mesh = mesh_of(imported(folder, f"{name}.step"))
    shape = cq.importers.importStep(str(FILES / f"{name}.step")).solids().val()
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    draw = np.random.default_rng(11)
    apart = met = 0
    for turn in range(10):
        other: Primitive = Box((4, 6, 2.5)) if turn % 2 else Cylinder(3, 8)
        pose = Pose.at(draw.uniform(low - 4, high + 4), tuple(draw.uniform(0, 360, 3).tolist()))
        judged = solid(other, pose)
        found = measure(body(mesh, IDENTITY), body(other, pose))
        truth = shape.distance(judged)
        if truth > 1e-6:
            apart += 1
            assert truth - mesh.spread - 1e-5 <= found.gap_mm <= truth + 1e-6
        elif shape.intersect(judged).Volume() > 1e-3:
            met += 1
            assert found.gap_mm < -1e-6
    assert apart > 1
    assert met > 1


@pytest.mark.parametrize("name", SIZES)
def test_a_step_file_passes_through_exactly(folder: Path, tmp_path: Path, name: str) -> None:
    layout = imported(folder, f"{name}.step", ", at: [100, 20, 5]")
    export(layout, tmp_path / "out", ("step", "stl"))
    made = cq.importers.importStep(str(FILES / f"{name}.step")).solids().val()
    again = cq.importers.importStep(str(tmp_path / "out" / "scene.step")).solids().val()
    assert again.Volume() == pytest.approx(made.Volume(), rel=1e-9)
    np.testing.assert_allclose(extent(again), extent(made), atol=1e-6)
    moved = np.array(again.Center().toTuple()) - made.Center().toTuple()
    np.testing.assert_allclose(moved, (100.0, 20.0, 5.0), atol=1e-6)
    assert len(again.Faces()) == len(made.Faces())
    assert trimesh.load(tmp_path / "out" / "one.stl").is_watertight


@pytest.mark.parametrize("name", FACETED)
def test_triangles_are_the_part_less_their_chords(folder: Path, tmp_path: Path, name: str) -> None:
    layout = imported(folder, f"{name}.stl")
    made = cq.importers.importStep(str(FILES / f"{name}.step")).solids().val()
    mesh = mesh_of(layout)
    # Nowhere are facets further from the surface than it was written for.
    assert abs(mesh.volume - made.Volume()) < 0.02 * made.Area()
    [(_, _, shape)] = part_solids(layout.parts["one"].part, IDENTITY)
    assert shape.isValid()
    assert shape.Volume() == pytest.approx(mesh.volume, rel=1e-6)
    export(layout, tmp_path / "out", ("stl",))
    again = trimesh.load(tmp_path / "out" / "one.stl")
    assert again.volume == pytest.approx(mesh.volume, rel=1e-5)
    np.testing.assert_allclose(np.ptp(again.vertices, axis=0), np.ptp(mesh.vertices, axis=0), atol=1e-4)


@pytest.mark.parametrize(("lift", "clear"), [(1.0, True), (0.9, False), (-2.0, False)])
def test_a_fastener_under_a_sheet_is_checked_as_any_part(folder: Path, lift: float, clear: bool) -> None:
    # The washer's upper face is plane and 1.8 mm up: gaps are whole to the last digit.
    at = 1.8 + lift + 0.5
    sheet = f"  sheet: {{shape: custom, solids: [{{box: [40, 40, 1], at: [0, 0, {at:g}]}}]}}\n"
    told = check(imported(folder, "washer_m6.step", beside=sheet))
    assert told.is_clear == clear
    if not clear:
        [finding] = [one for one in told.findings if one.severity == "error"]
        assert finding.rule == ("gap" if lift > 0 else "overlap")
        if lift > 0:
            assert finding.measured_mm == pytest.approx(lift, abs=1e-6)
