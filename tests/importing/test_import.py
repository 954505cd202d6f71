"""Files written by other libraries: imported, checked, exported again; broken ones refused in words."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError, SceneErrors
from layout3d.exporters import export
from layout3d.layout import Layout
from layout3d.realise.brep import part_solids
from layout3d.scene.reader import read_scene
from shapes.pose import IDENTITY
from shapes.primitives import Mesh


def layout_of(folder: Path, entry: str) -> Layout:
    scene = folder / "scene.yaml"
    text = f"layout3d: 1\ntitle: Imported\nparts:\n  one: {{shape: import, {entry}}}\n"
    scene.write_text(text, encoding="utf-8")
    return build(read_scene(scene))


def refusal(folder: Path, entry: str) -> str:
    with pytest.raises(SceneErrors) as caught:
        layout_of(folder, entry)
    assert caught.value.problems[0].line == 4
    return str(caught.value)


def test_a_file_read_in_the_wrong_unit_is_noticed(tmp_path: Path) -> None:
    trimesh.creation.box(extents=(600.0, 20.0, 20.0)).export(tmp_path / "long.stl")
    trimesh.creation.box(extents=(0.04, 0.02, 0.02)).export(tmp_path / "metres.stl")
    assert layout_of(tmp_path, "file: long.stl, units: mm").parts["one"].part.solids
    told = refusal(tmp_path, "file: long.stl, units: in")
    assert "is 1.524e+04 mm long, read in in" in told
    assert "is the unit right?" in told
    assert "0.04 mm long" in refusal(tmp_path, "file: metres.stl, units: mm")


def test_a_step_solid_comes_out_as_it_went_in(tmp_path: Path) -> None:
    block = cq.Workplane().box(60, 40, 20).edges("|Z").fillet(5).faces(">Z").workplane().hole(12, 10)
    block.val().exportStep(str(tmp_path / "block.step"))
    layout = layout_of(tmp_path, "file: block.step")
    assert check(layout).is_clear
    [solid] = layout.parts["one"].part.solids
    assert solid.primitive.volume == pytest.approx(block.val().Volume(), rel=2e-3)
    [(_, _, shape)] = part_solids(layout.parts["one"].part, IDENTITY)
    assert shape.Volume() == pytest.approx(block.val().Volume(), rel=1e-9)
    assert list((tmp_path / ".layout3d-cache").glob("*.npz"))


def test_loose_surfaces_of_a_step_file_are_not_left_out_in_silence(tmp_path: Path) -> None:
    closed = cq.Workplane().box(10, 10, 10).val()
    loose = cq.Workplane().box(10, 10, 10).translate((50, 0, 0))
    for name, surface in (("shell.step", loose.val().Shells()[0]), ("face.step", loose.faces(">X").val())):
        both = cq.Compound.makeCompound([closed, surface])
        cq.exporters.export(cq.Workplane(obj=both), str(tmp_path / name))
        assert "loose surfaces (1) beside its closed solids (1)" in refusal(tmp_path, f"file: {name}")
        [hull] = layout_of(tmp_path, f"file: {name}, solid: hull").parts["one"].part.solids
        assert hull.primitive.vertices[:, 0].max() == pytest.approx(55.0)


def test_a_step_file_with_numbers_that_are_none_is_refused(tmp_path: Path) -> None:
    cq.exporters.export(cq.Workplane().box(10, 10, 10), str(tmp_path / "sound.step"))
    text = (tmp_path / "sound.step").read_text().replace("''", "'a, nan, b'", 1)
    (tmp_path / "sound.step").write_text(text)
    layout_of(tmp_path, "file: sound.step")
    (tmp_path / "nan.step").write_text(text.replace("(-5.", "(nan", 1))
    assert "not finite" in refusal(tmp_path, "file: nan.step")


def test_an_stl_file_needs_its_unit_and_keeps_its_volume(tmp_path: Path) -> None:
    made = trimesh.creation.annulus(5, 10, 20)
    made.export(tmp_path / "ring.stl")
    assert "add `units: mm`" in refusal(tmp_path, "file: ring.stl")
    [solid] = layout_of(tmp_path, "file: ring.stl, units: cm").parts["one"].part.solids
    assert solid.primitive.volume == pytest.approx(1000.0 * made.volume, rel=1e-6)


def test_an_open_mesh_is_refused_or_taken_as_its_hull(tmp_path: Path) -> None:
    made = trimesh.creation.box((10, 10, 10))
    made.faces = made.faces[1:]
    made.export(tmp_path / "open.stl")
    assert "3 of its edges are open" in refusal(tmp_path, "file: open.stl, units: mm")
    [solid] = layout_of(tmp_path, "file: open.stl, units: mm, solid: hull").parts["one"].part.solids
    assert solid.primitive.volume == pytest.approx(1000.0)


def test_a_changed_file_is_noticed(tmp_path: Path) -> None:
    trimesh.creation.box((10, 10, 10)).export(tmp_path / "a.stl")
    told = refusal(tmp_path, f"file: a.stl, units: mm, sha256: {'a' * 64}")
    assert "has changed: its sha256 is" in told


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.stl", b"", "is empty"),
        ("cut.stl", b"solid x\nfacet normal 0 0 1\n", "without a triangle"),
        ("noise.stl", bytes(range(256)) * 20, "noise.stl"),
        ("short.stl", b"\0" * 80 + b"\x0c\0\0\0" + b"\xff\x80" * 50, "it is cut off"),
        ("broken.step", b"ISO-10303-21;\nHEADER;\n#1=;;;", "no STEP file"),
        ("noise.obj", b"f 1 2 3\nv nan 0 0\n", "noise.obj"),
        ("noise.3mf", b"PK\x03\x04 no archive", "noise.3mf"),
    ],
)
def test_broken_files_are_refused_in_words(tmp_path: Path, name: str, content: bytes, words: str) -> None:
    (tmp_path / name).write_bytes(content)
    units = ", units: mm" if name.endswith(("stl", "obj")) else ""
    assert words in refusal(tmp_path, f"file: {name}{units}")


def test_a_name_no_file_can_have_is_refused_where_it_stands(tmp_path: Path) -> None:
    assert "parts.one.file" in refusal(tmp_path, r'file: "a\0.stl", units: mm')


CUBE_3MF = """<?xml version="1.0" encoding="UTF-8"?>
<model unit="{unit}" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
<resources><object id="1" type="model"><mesh><vertices>{vertices}</vertices>
<triangles>{triangles}</triangles></mesh></object>
<object id="2" type="model"><components><component objectid="1"{extra}/></components></object></resources>
<build><item objectid="2" transform="0 1 0 -1 0 0 0 0 1 5 0 0"/></build></model>"""


def threemf(path: Path, unit: str, extra: str = "") -> None:
    """A box of 2 x 4 x 6 units as the 3MF core specification writes it: turned about z and moved 5 to x."""
    box = trimesh.creation.box((2, 4, 6))
    vertices = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in box.vertices)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in box.faces)
    with zipfile.ZipFile(path, "w") as archive:
        model = CUBE_3MF.format(unit=unit, vertices=vertices, triangles=triangles, extra=extra)
        archive.writestr("3D/3dmodel.model", model)


@pytest.mark.parametrize(("unit", "mm"), [("millimeter", 1.0), ("inch", 25.4), ("centimeter", 10.0)])
def test_3mf_brings_its_unit_and_its_places(tmp_path: Path, unit: str, mm: float) -> None:
    threemf(tmp_path / "box.3mf", unit)
    [solid] = layout_of(tmp_path, "file: box.3mf").parts["one"].part.solids
    assert isinstance(solid.primitive, Mesh)
    assert solid.primitive.volume == pytest.approx(48.0 * mm**3)
    corners = solid.solid2part.apply(solid.primitive.vertices)
    assert corners.min(axis=0) == pytest.approx(np.array([3.0, -1.0, -3.0]) * mm)
    assert corners.max(axis=0) == pytest.approx(np.array([7.0, 1.0, 3.0]) * mm)


def off_the_surface(folder: Path, more: str, at: str, thread: str = ", thread: G1/4") -> list[str]:
    entry = f"file: a.step{more}, ports: {{out: {{at: {at}, facing: roof{thread}}}}}"
    findings = check(layout_of(folder, entry)).findings
    return [f.message.partition(", ")[0] for f in findings if f.rule == "port-off-surface"]


def test_a_port_beside_an_imported_part_is_told(tmp_path: Path) -> None:
    """A block with a drilled port in its top: the middle of the hole is as far off as its rim, 11.8 / 2."""
    block = cq.Workplane().box(40, 40, 20).faces(">Z").workplane().hole(11.8, 12)
    cq.exporters.export(block, str(tmp_path / "a.step"))
    assert off_the_surface(tmp_path, "", "[0, 0, 10]") == []
    assert off_the_surface(tmp_path, "", "[12, 0, 10]") == []
    assert off_the_surface(tmp_path, "", "[0, 0, 30]")[0].endswith("off all of the part's solids")
    assert off_the_surface(tmp_path, "", "[0, 0, 30]", "") == []
    assert off_the_surface(tmp_path, "", "[13, 0, 8]")[0].endswith("inside the part's solids")
    assert off_the_surface(tmp_path, ", solid: hull", "[13, 0, 8]") == []


def test_a_3mf_of_several_models_is_refused(tmp_path: Path) -> None:
    other = ' xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06" p:path="/3D/b.model"'
    threemf(tmp_path / "box.3mf", "millimeter", other)
    assert "save it as one model" in refusal(tmp_path, "file: box.3mf")


def test_a_spoilt_cache_is_read_afresh(tmp_path: Path) -> None:
    trimesh.creation.box((10, 10, 10)).export(tmp_path / "a.stl")
    layout_of(tmp_path, "file: a.stl, units: mm")
    [kept] = (tmp_path / ".layout3d-cache").glob("*.npz")
    kept.write_bytes(b"spoilt")
    [solid] = layout_of(tmp_path, "file: a.stl, units: mm").parts["one"].part.solids
    assert np.allclose(np.abs(solid.primitive.vertices), 5.0)


def test_a_warm_cache_spares_the_libraries(tmp_path: Path) -> None:
    cq.Workplane().box(10, 10, 10).val().exportStep(str(tmp_path / "a.step"))
    layout_of(tmp_path, "file: a.step")
    told = (
        "import sys; from layout3d.build import build; from layout3d.scene.reader import read_scene; "
        "from layout3d.checks.check import check; "
        f"check(build(read_scene({str(tmp_path / 'scene.yaml')!r}))); "
        "print(*{'cadquery', 'OCP', 'trimesh', 'manifold3d', 'scipy'} & set(sys.modules))"
    )
    found = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert found.stdout.split() == []


def test_a_mesh_too_fine_is_thinned_out_and_the_loss_is_stated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("layout3d.importing.load.MOST_TRIANGLES", 2500)
    made = trimesh.creation.icosphere(4, 20)
    made.export(tmp_path / "ball.stl")
    [solid] = layout_of(tmp_path, "file: ball.stl, units: mm").parts["one"].part.solids
    mesh = solid.primitive
    assert len(mesh.triangles) <= 2500 < len(made.faces)
    thin = trimesh.Trimesh(mesh.vertices, mesh.triangles)
    _, off, _ = trimesh.proximity.closest_point(thin, made.triangles_center)
    assert 0.0 < off.max() <= mesh.deviation


def test_a_triangle_file_goes_into_step_as_flat_faces(tmp_path: Path) -> None:
    made = trimesh.creation.annulus(5, 10, 20)
    made.export(tmp_path / "ring.obj")
    layout = layout_of(tmp_path, "file: ring.obj, units: mm")
    [(_, _, shape)] = part_solids(layout.parts["one"].part, IDENTITY)
    assert shape.isValid()
    assert shape.Volume() == pytest.approx(made.volume, rel=1e-6)


def test_all_formats_are_written_and_read_again(tmp_path: Path) -> None:
    block = cq.Workplane().box(60, 40, 20).edges().fillet(4).val()
    block.exportStep(str(tmp_path / "block.step"))
    export(layout_of(tmp_path, "file: block.step, at: [100, 0, 0]"), tmp_path / "out", ("step", "stl", "glb"))
    again = cq.importers.importStep(str(tmp_path / "out" / "scene.step")).val()
    assert again.Volume() == pytest.approx(block.Volume(), rel=1e-9)
    assert trimesh.load(tmp_path / "out" / "one.stl").is_watertight


def test_a_file_that_changed_since_it_was_read_is_not_exported(tmp_path: Path) -> None:
    cq.Workplane().box(10, 10, 10).val().exportStep(str(tmp_path / "a.step"))
    layout = layout_of(tmp_path, "file: a.step")
    cq.Workplane().box(10, 10, 11).val().exportStep(str(tmp_path / "a.step"))
    with pytest.raises(RequestError, match="changed"):
        part_solids(layout.parts["one"].part, IDENTITY)
