"""GLB files, judged by the Khronos validator and read by an independent reader."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.exporters import export
from layout3d.exporters.contents import contents_of
from layout3d.exporters.glb import encoded
from layout3d.layout import PlacedPart
from layout3d.realise import brep
from layout3d.realise.looks import SURFACES, TUBE_SURFACES
from layout3d.scene.reader import read_scene
from shapes import shape_named
from shapes.part import Part, Solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Cylinder, TubeRun
from tests.exporters import layouts

VALIDATOR = Path(__file__).parent.parent / "gltf"
SCENES = Path(__file__).parents[2] / "scenes"


@pytest.fixture(scope="session")
def validate(tmp_path_factory: pytest.TempPathFactory) -> Callable[[bytes], dict[str, Any]]:
    """The Khronos glTF validator, fetched by npm at the version of the lock file."""
    npm, node = shutil.which("npm"), shutil.which("node")
    if npm is None or node is None:
        pytest.skip("npm is not installed, and the Khronos glTF validator is an npm package")
    folder = tmp_path_factory.mktemp("gltf")
    for path in VALIDATOR.iterdir():
        shutil.copy(path, folder)
    subprocess.run([npm, "ci", "--no-audit", "--no-fund"], cwd=folder, check=True, capture_output=True)

    def run(data: bytes) -> dict[str, Any]:
        (folder / "file.glb").write_bytes(data)
        done = subprocess.run(
            [node, "validate.js", "file.glb"], cwd=folder, check=True, capture_output=True, text=True
        )
        report: dict[str, Any] = json.loads(done.stdout)
        return report

    return run


def document(data: bytes) -> dict[str, Any]:
    length = int.from_bytes(data[12:16], "little")
    parsed: dict[str, Any] = json.loads(data[20 : 20 + length])
    return parsed


def loaded(data: bytes) -> trimesh.Scene:
    return trimesh.load(trimesh.util.wrap_as_stream(data), file_type="glb")


def test_the_khronos_validator_has_nothing_to_say(validate: Callable[[bytes], dict[str, Any]]) -> None:
    report = validate(encoded(contents_of(layouts.two_posts())))
    assert report["issues"]["messages"] == []
    assert report["mimeType"] == "model/gltf-binary"
    assert report["info"]["materialCount"] == 6
    assert report["info"]["hasTextures"] is False


def test_a_whole_build_with_its_detail_is_valid_and_small(
    validate: Callable[[bytes], dict[str, Any]],
) -> None:
    """The Khronos validator's own count of triangles as they are drawn."""
    data = encoded(contents_of(build(read_scene(SCENES / "editing_tower.yaml"))))
    report = validate(data)
    assert report["issues"]["messages"] == []
    assert report["info"]["totalTriangleCount"] < 300_000
    assert len(data) < 5_000_000


def test_a_large_build_stays_small() -> None:
    """Ten fans, three radiators that differ, forty fittings, air cooled card and all: as drawn."""
    wanted: list[tuple[str, int, dict[str, Any]]] = [
        ("case_tower", 1, {"size": "full"}),
        ("motherboard", 1, {"modules": 4}),
        ("graphics_card", 2, {"cooling": "air"}),
        ("power_supply", 1, {}),
        ("fan", 10, {}),
        ("radiator", 1, {"fans": 3}),
        ("radiator", 1, {"fans": 3, "thickness": 60}),
        ("radiator", 1, {"fans": 4, "fan_size": 140, "thickness": 45}),
        ("rigid_fitting", 30, {}),
        ("angled_fitting", 10, {}),
        ("pump_reservoir", 1, {}),
    ]
    parts = [
        PlacedPart(f"{shape}_{at}_{number}", shape, shape_named(shape)(**given).build(), IDENTITY)
        for at, (shape, count, given) in enumerate(wanted)
        for number in range(count)
    ]
    data = encoded(contents_of(layouts.layout(*parts)))
    parsed = document(data)
    triangles = sum(
        parsed["accessors"][primitive["indices"]]["count"] // 3
        for node in parsed["nodes"]
        if "mesh" in node
        for primitive in parsed["meshes"][node["mesh"]]["primitives"]
    )
    assert 100_000 < triangles < 300_000
    assert len(data) < 5_000_000


def test_detail_is_in_pictures_and_the_coolant_shows() -> None:
    parsed = document(encoded(contents_of(build(read_scene(SCENES / "editing_tower.yaml")))))
    materials = [material["name"] for material in parsed["materials"]]
    drawn = {
        (node["extras"].get("part"), node["name"]): {
            materials[primitive["material"]] for primitive in parsed["meshes"][node["mesh"]]["primitives"]
        }
        for node in parsed["nodes"]
        if "mesh" in node
    }
    assert drawn["roof_fan_1", "rotor"] == {"black", "plastic"}
    assert drawn["roof_radiator", "fins"] == {"black", "metal-sheet"}
    assert drawn["reservoir", "tube"] == {"clear", "coolant"}
    assert drawn[None, "cpu_roof"] == {"tube-rigid", "coolant"}
    both = {material["name"] for material in parsed["materials"] if material.get("doubleSided")}
    assert both == {"metal-sheet"}
    fans = {
        node["mesh"]
        for node in parsed["nodes"]
        if node["name"] == "rotor" and node["extras"]["part"].startswith("roof_fan")
    }
    assert len(fans) == 1


def test_the_validator_would_speak_up(validate: Callable[[bytes], dict[str, Any]]) -> None:
    data = encoded(contents_of(layouts.two_posts()))
    assert (
        validate(data.replace(b'"componentType":5126', b'"componentType":5121', 1))["issues"]["numErrors"] > 0
    )


def test_hostile_names_stay_text(validate: Callable[[bytes], dict[str, Any]]) -> None:
    name = '</script><img src="x" onerror="1">\\ \u2028 水'
    layout = layouts.layout(layouts.placed("left", layouts.single(Box((1.0, 2.0, 3.0)), name)), title=name)
    data = encoded(contents_of(layout))
    assert validate(data)["issues"]["numErrors"] == 0
    assert document(data)["scenes"][0]["name"] == name
    assert [node["name"] for node in document(data)["nodes"]] == [name, "left"]


def test_it_stands_in_metres_with_y_up(tmp_path: Path) -> None:
    """glTF 2.0, 3.4: units are metres, +Y is up; x to the right, so +Z looks out of the window."""
    layout = layouts.two_posts()
    (path,) = export(layout, tmp_path, ("glb",)).written
    assert path.name == "posts.glb"
    shapes = [
        shape
        for placed in layout.parts.values()
        for _, _, shape in brep.part_solids(placed.part, placed.part2scene)
    ]
    box = shapes[0].BoundingBox()
    for shape in (*shapes[1:], brep.solid(layouts.QUARTER, Pose.at((0.0, 0.0, 0.0)))):
        box = box.add(shape.BoundingBox())
    low, high = loaded(path.read_bytes()).bounds
    assert low == pytest.approx(np.array([box.xmin, box.zmin, -box.ymax]) / 1000.0, abs=1.5e-4)
    assert high == pytest.approx(np.array([box.xmax, box.zmax, -box.ymin]) / 1000.0, abs=1.5e-4)


def test_each_solid_lies_where_the_exact_one_does() -> None:
    layout = layouts.two_posts()
    scene = loaded(encoded(contents_of(layout)))
    bodies = [
        scene.geometry[scene.graph[node][1]].copy().apply_transform(scene.graph[node][0])
        for node in scene.graph.nodes_geometry
    ]
    got = sorted(
        (body.merge_vertices(merge_norm=True) or body for body in bodies), key=lambda body: body.volume
    )
    exact = [
        shape
        for placed in layout.parts.values()
        for _, _, shape in brep.part_solids(placed.part, placed.part2scene)
    ]
    exact.append(brep.solid(layouts.QUARTER, Pose.at((0.0, 0.0, 0.0))))
    # The coolant in the tube, 0.1 mm off its wall.
    wet = TubeRun(layouts.QUARTER.pieces, layouts.QUARTER.inside - 0.2, 0.0)
    exact.append(brep.solid(wet, Pose.at((0.0, 0.0, 0.0))))
    exact.sort(key=lambda shape: shape.Volume())
    assert len(got) == len(exact)
    for body, shape in zip(got, exact, strict=True):
        assert body.is_watertight
        assert body.volume * 1e9 == pytest.approx(shape.Volume(), rel=2e-2)
    # Equal posts cannot be told apart by volume: their middles are compared as a set.
    middles = [shape.Center().toTuple() for shape in exact]
    want = sorted((x, z, -y) for x, y, z in middles)
    for middle, target in zip(sorted(tuple(body.center_mass * 1e3) for body in got), want, strict=True):
        assert middle == pytest.approx(target, abs=0.05)


def test_nodes_carry_part_and_solid_names() -> None:
    parsed = document(encoded(contents_of(layouts.two_posts())))
    nodes = parsed["nodes"]
    tree = {
        nodes[root]["name"]: [nodes[child]["name"] for child in nodes[root].get("children", [])]
        for root in parsed["scenes"][0]["nodes"]
    }
    assert tree == {
        "left": ["foot", "bar"],
        "right": ["foot", "bar"],
        "back": ["sheet", "wedge"],
        "over": [],
    }
    extras = [node["extras"] for node in nodes if "mesh" in node]
    assert {"part": "right", "solid": "bar", "look": "copper"} in extras
    assert {"tube": "over", "tubing": "rigid14"} in extras


def test_equal_parts_are_stored_once() -> None:
    parsed = document(encoded(contents_of(layouts.two_posts())))
    assert [mesh["name"] for mesh in parsed["meshes"]] == ["foot", "bar", "sheet", "wedge", "over"]
    use = {
        (node["extras"]["part"], node["name"]): node["mesh"]
        for node in parsed["nodes"]
        if "solid" in node["extras"]
    }
    assert use["left", "bar"] == use["right", "bar"]
    assert use["left", "foot"] == use["right", "foot"]


def test_equal_shapes_of_other_looks_are_not_mixed_up() -> None:
    part = Part(tuple(Solid(look, Box((1.0, 1.0, 1.0)), look=look) for look in ("copper", "metal")))
    parsed = document(encoded(contents_of(layouts.layout(layouts.placed("left", part)))))
    assert len(parsed["meshes"]) == 2
    assert [material["name"] for material in parsed["materials"]] == ["copper", "metal"]


def test_materials_are_in_linear_light_and_clear_ones_blend() -> None:
    """sRGB mid grey 188 of 255 is 0.5029 in linear light (IEC 61966-2-1, from memory)."""
    materials = {
        material["name"]: material
        for material in document(encoded(contents_of(layouts.two_posts())))["materials"]
    }
    assert set(materials) == {"black", "copper", "panel", "accent", "tube-rigid", "coolant"}
    factor = materials["tube-rigid"]["pbrMetallicRoughness"]["baseColorFactor"]
    assert factor[3] == TUBE_SURFACES["rigid"].alpha
    assert materials["tube-rigid"]["alphaMode"] == "BLEND"
    assert "alphaMode" not in materials["black"]
    copper = materials["copper"]["pbrMetallicRoughness"]["baseColorFactor"]
    again = [1.055 * value ** (1 / 2.4) - 0.055 for value in copper[:3]]
    assert again == pytest.approx(SURFACES["copper"].srgb, abs=1e-9)


turns = st.floats(-360.0, 360.0) | st.sampled_from((0.0, 90.0, 180.0, -90.0, 270.0))


@given(st.tuples(turns, turns, turns), st.tuples(*3 * [st.floats(-500.0, 500.0)]))
def test_any_pose_comes_back(rotate: tuple[float, float, float], at: tuple[float, float, float]) -> None:
    pose = Pose.at(at, rotate)
    layout = layouts.layout(layouts.placed("left", layouts.single(Box((1.0, 20.0, 300.0))), pose))
    scene = loaded(encoded(contents_of(layout)))
    (node,) = scene.graph.nodes_geometry
    matrix, mesh = scene.graph[node]
    ends = trimesh.transform_points(scene.geometry[mesh].vertices, matrix) * 1000.0
    corners = np.array([[x, y, z] for x in (-0.5, 0.5) for y in (-10.0, 10.0) for z in (-150.0, 150.0)])
    want = pose.apply(corners) @ np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    assert len(ends) == 24
    for corner in want:
        assert np.linalg.norm(ends - corner, axis=1).min() < 1e-3


def test_the_same_layout_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import sys, hashlib\n"
        "from tests.exporters import layouts\n"
        "from layout3d.exporters.contents import contents_of\n"
        "from layout3d.exporters.glb import encoded\n"
        "sys.stdout.write(hashlib.sha256(encoded(contents_of(layouts.two_posts()))).hexdigest())\n"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            cwd=VALIDATOR.parent.parent,
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1


def test_many_vertices_get_wide_indices(validate: Callable[[bytes], dict[str, Any]]) -> None:
    layout = layouts.layout(layouts.placed("left", layouts.single(Cylinder(500.0, 10.0))))
    data = encoded(contents_of(layout), tolerance_mm=4e-6)
    assert document(data)["accessors"][2]["componentType"] == 5125
    assert validate(data)["issues"]["numErrors"] == 0
