"""STL files, judged by an independent reader that welds equal vertices, as slicers do."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.errors import RequestError
from layout3d.exporters import export
from layout3d.exporters.stl import encoded
from layout3d.layout import Layout
from layout3d.realise import brep
from layout3d.realise.mesh import primitive_mesh, union
from shapes.part import Part, Solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Cylinder
from tests.exporters import layouts


def exported(layout: Layout, folder: Path) -> dict[str, trimesh.Trimesh]:
    return {path.name: trimesh.load(path) for path in export(layout, folder, ("stl",)).written}


def test_a_file_for_each_part_and_tube_and_one_for_all(tmp_path: Path) -> None:
    files = exported(layouts.two_posts(), tmp_path)
    assert set(files) == {"left.stl", "right.stl", "back.stl", "over.stl", "whole.stl"}
    for mesh in files.values():
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume > 0.0


def test_volumes_and_places_are_those_of_the_exact_solids(tmp_path: Path) -> None:
    layout = layouts.two_posts()
    files = exported(layout, tmp_path)
    for placed in layout.parts.values():
        # The solids of these parts touch and do not overlap, so their volumes add up.
        shapes = [shape for _, _, shape in brep.part_solids(placed.part, placed.part2scene)]
        mesh = files[f"{placed.name}.stl"]
        assert mesh.volume == pytest.approx(sum(shape.Volume() for shape in shapes), rel=2e-3)
        box = shapes[0].BoundingBox()
        for shape in shapes[1:]:
            box = box.add(shape.BoundingBox())
        want = [[box.xmin, box.ymin, box.zmin], [box.xmax, box.ymax, box.zmax]]
        assert mesh.bounds == pytest.approx(np.array(want), abs=0.06)
    exact = brep.solid(layouts.QUARTER, IDENTITY).Volume()
    assert files["over.stl"].volume == pytest.approx(exact, rel=1e-2)
    parts = sum(mesh.volume for name, mesh in files.items() if name != "whole.stl")
    assert files["whole.stl"].volume == pytest.approx(parts, rel=1e-5)


def test_the_solids_of_a_part_become_one_body(tmp_path: Path) -> None:
    assert exported(layouts.two_posts(), tmp_path)["left.stl"].body_count == 1


def test_facet_normals_point_out(tmp_path: Path) -> None:
    (path, _) = export(layouts.layout(layouts.placed("back", layouts.sheet())), tmp_path, ("stl",)).written
    data = path.read_bytes()
    count = int.from_bytes(data[80:84], "little")
    assert len(data) == 84 + 50 * count
    assert not data.startswith(b"solid")
    records = np.frombuffer(data, np.dtype([("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")]), count, 84)
    corners = records["v"].astype(float)
    crosses = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    crosses /= np.linalg.norm(crosses, axis=1)[:, None]
    assert records["n"] == pytest.approx(crosses, abs=1e-6)
    assert (records["a"] == 0).all()


TOUCHING = {
    "in an edge": ((20.0, 20.0, 0.0),),
    "in a corner": ((20.0, 20.0, 20.0),),
    "in edges all round": ((20.0, 20.0, 0.0), (20.0, 0.0, 20.0), (0.0, 20.0, 20.0)),
    "in a face": ((20.0, 0.0, 0.0),),
    "but for rounding": ((20.0, 1e-7, 20.0 + 1e-7),),
    "at twice the same place": ((0.0, 0.0, 0.0),),
}


@pytest.mark.parametrize("places", TOUCHING.values(), ids=TOUCHING)
@pytest.mark.parametrize("pose", [IDENTITY, layouts.RIGHT], ids=["square", "turned"])
def test_parts_that_touch_leave_the_whole_watertight(
    places: tuple[tuple[float, float, float], ...], pose: Pose, tmp_path: Path
) -> None:
    block = layouts.single(Box((20.0, 20.0, 20.0)))
    poses = [pose, *(Pose(pose.rotation, pose.apply(np.array(place))) for place in places)]
    parts = [layouts.placed(f"block{number}", block, own) for number, own in enumerate(poses)]
    whole = exported(layouts.layout(*parts), tmp_path)["whole.stl"]
    assert whole.is_watertight
    apart = 1 if (0.0, 0.0, 0.0) in places else len(parts)
    assert whole.volume == pytest.approx(apart * 8000.0, rel=1e-3)


def test_solids_of_one_part_that_touch_in_an_edge_leave_it_watertight(tmp_path: Path) -> None:
    part = Part(
        (
            Solid("one", Box((10.0, 10.0, 10.0))),
            Solid("two", Box((10.0, 10.0, 10.0)), Pose.at((10.0, 10.0, 0.0))),
            Solid("bar", Cylinder(10.0, 10.0), Pose.at((10.0, 0.0, 10.0))),
        )
    )
    files = exported(layouts.layout(layouts.placed("stair", part, layouts.LEFT)), tmp_path)
    assert all(mesh.is_watertight for mesh in files.values())


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(*3 * [st.integers(-2, 2)], st.sampled_from((0.0, 90.0, 45.0, 30.0)), st.booleans()),
        min_size=2,
        max_size=8,
    ),
    st.tuples(*3 * [st.floats(-180.0, 180.0)]),
)
def test_any_pile_of_touching_solids_is_watertight(
    pile: list[tuple[int, int, int, float, bool]], turn: tuple[float, float, float]
) -> None:
    whole2scene = Pose.at((100.0 / 3.0, -50.0, 400.0), turn)
    meshes = []
    for x, y, z, about, is_round in pile:
        primitive = Cylinder(10.0, 10.0) if is_round else Box((10.0, 10.0, 10.0))
        meshes.append(
            primitive_mesh(primitive).moved(Pose.at((5.0 * x, 5.0 * y, 5.0 * z), (0.0, 0.0, about)))
        )
    body = union([mesh.moved(whole2scene) for mesh in meshes])
    read = trimesh.load(trimesh.util.wrap_as_stream(encoded(body, "pile")), file_type="stl")
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.volume == pytest.approx(body.volume, abs=5.0)


@pytest.mark.parametrize("name", ["whole", "Whole"])
def test_a_part_may_not_take_the_name_of_the_whole(name: str, tmp_path: Path) -> None:
    with pytest.raises(RequestError, match=f"'{name}' would be written to whole.stl"):
        export(layouts.layout(layouts.placed(name, layouts.post())), tmp_path / "out", ("stl",))
    assert not (tmp_path / "out").exists()


def test_a_build_too_far_from_the_origin_is_refused_in_words() -> None:
    mesh = primitive_mesh(Box((10.0, 10.0, 10.0))).moved(Pose.at((30_000.0, 30_000.0, 0.0)))
    with pytest.raises(RequestError, match="nearer the origin"):
        encoded(mesh, "far")
