"""Line pictures as files: what stands in them, for whom, and that nothing of a name can become markup."""

from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from layout3d.build import build
from layout3d.drawing.order import painting_order
from layout3d.drawing.picture import layout_picture, part_picture
from layout3d.drawing.sketch import sketch
from layout3d.drawing.svg import identifier
from layout3d.drawing.views import VIEWS
from layout3d.drawing.write import write_pictures, write_shape_pictures
from layout3d.errors import RequestError
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene, read_scene
from shapes import SHAPES, shape_named
from shapes.pose import Pose, compose
from shapes.primitives import Box, Mesh

ROOT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"
SCENE = """\
layout3d: 1
title: "Posts </title><script>alert(1)</script>"
parts:
  left: {shape: custom, label: '"><img onerror=x>', solids: [{box: [40, 40, 20], at: [0, 0, 10]}]}
  right: {shape: custom, at: [100, 0, 0], solids: [{box: [40, 40, 20], at: [0, 0, 10], look: glass}]}
"""


@pytest.fixture(scope="module")
def posts() -> Layout:
    return build(parse_scene(SCENE, "posts.yaml"))


@pytest.fixture(scope="module")
def tower() -> Layout:
    return build(read_scene(ROOT / "scenes" / "two_posts.yaml"))


@pytest.mark.parametrize("view", VIEWS.values(), ids=lambda view: view.name)
def test_every_view_is_xml_with_nothing_of_a_name_in_it(posts: Layout, view: object) -> None:
    text = layout_picture(posts, view)  # type: ignore[arg-type]
    root = ET.fromstring(text)
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
        "svg", "title", "style", "defs", "linearGradient", "stop", "g", "path",
    }  # fmt: skip
    titles = {one.text for one in root.iter(f"{SVG}title")}
    assert 'left: "><img onerror=x>' in titles
    assert any("</title><script>" in str(title) for title in titles)
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))


def test_the_picture_is_true_to_size(posts: Layout) -> None:
    root = ET.fromstring(layout_picture(posts, VIEWS["window"]))
    left, low, width, height = (float(value) for value in root.attrib["viewBox"].split())
    assert (left, low) == (0.0, 0.0)
    assert (root.attrib["width"], root.attrib["height"]) == (f"{width:g}mm", f"{height:g}mm")
    # 140 mm from post to post, and 3 % of it free on each side.
    assert width == pytest.approx(140.0 * 1.06)
    assert height == pytest.approx(20.0 + 140.0 * 0.06)
    points = np.array(
        re.findall(r"[ML](\S+) ([^LMZ\"]+)", ET.tostring(root, encoding="unicode")), dtype=float
    )
    assert np.ptp(points[:, 0]) == pytest.approx(140.0, abs=0.02)


def test_the_same_layout_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    texts = []
    for folder in ("a", "b"):
        command = [sys.executable, "-m", "layout3d", "picture", str(ROOT / "scenes" / "two_posts.yaml")]
        done = subprocess.run(
            [*command, "--as", "svg", "--to", str(tmp_path / folder)],
            capture_output=True,
            text=True,
            check=True,
        )
        assert len(done.stdout.splitlines()) == 4
        texts.append({path.name: path.read_bytes() for path in sorted((tmp_path / folder).glob("*.svg"))})
    assert texts[0] == texts[1]
    assert set(texts[0]) == {f"two_posts_{view}.svg" for view in ("window", "front", "roof", "corner")}


def test_pictures_need_no_kernel_and_no_graphics_library() -> None:
    code = (
        "import sys\nfrom layout3d.drawing.picture import part_picture\n"
        "from layout3d.drawing.views import VIEWS\nfrom shapes import shape_named\n"
        "part_picture('fan', shape_named('fan')().build(), VIEWS['corner'])\n"
        "heavy = ('cadquery', 'OCP', 'trimesh', 'manifold3d', 'scipy', 'vtkmodules')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"


def test_what_stands_behind_glass_is_drawn_and_behind_metal_is_not() -> None:
    def strokes(look: str) -> int:
        text = SCENE.replace("at: [100, 0, 0]", "at: [0, -60, 0]").replace("glass", look)
        text = text.replace("[40, 40, 20], at: [0, 0, 10], look", "[80, 10, 80], at: [0, 0, 10], look")
        root = ET.fromstring(layout_picture(build(parse_scene(text, "s.yaml")), VIEWS["window"]))
        return sum(one.get("id") == "part-left" for one in root.iter(f"{SVG}g"))

    assert strokes("glass") == 1
    assert strokes("metal") == 0


def test_parts_tubes_and_single_solids_may_be_left_out(tmp_path: Path, tower: Layout) -> None:
    def drawn(*without: str) -> str:
        write_pictures(tower, tmp_path, ["window"], without=without)
        return (tmp_path / "two_posts_window.svg").read_text(encoding="utf-8")

    assert identifier("over") in drawn()
    assert identifier("over") not in drawn("over")
    assert identifier("left") not in drawn("left")
    assert drawn("left.cylinder_2") != drawn()


def test_open_leaves_out_the_panel_before_the_build(tmp_path: Path) -> None:
    layout = build(parse_scene("layout3d: 1\nparts: {c: {shape: case_tower, window: steel}}\n", "c.yaml"))
    write_pictures(layout, tmp_path, ["window"], open_case=True)
    text = (tmp_path / "c_window.svg").read_text(encoding="utf-8")
    # The tray's openings and stand-offs, the shroud: more than a dozen lines the panel hid.
    assert runs_of("part-c", text) > 12 + runs_of("part-c", layout_picture(layout, VIEWS["window"]))


def runs_of(owner: str, text: str) -> int:
    group = next(one for one in ET.fromstring(text).iter(f"{SVG}g") if one.get("id") == owner)
    return sum(path.attrib["d"].count("M") for path in group.iter(f"{SVG}path"))


@pytest.mark.parametrize(
    ("views", "without", "said"),
    [
        (["windw"], (), "did you mean window"),
        ([], (), "no view asked for"),
        (["window"], ("lefft",), "did you mean left"),
        (["window"], ("left.post",), "it has box_1"),
    ],
)
def test_wrong_words_are_refused_with_the_choices(
    tmp_path: Path, tower: Layout, views: list[str], without: tuple[str, ...], said: str
) -> None:
    with pytest.raises(RequestError, match=said):
        write_pictures(tower, tmp_path, views, without=without)
    assert list(tmp_path.iterdir()) == []


def test_a_shape_by_itself(tmp_path: Path) -> None:
    outcome = write_shape_pictures("fan", tmp_path, ["corner", "roof"])
    assert outcome.written == ("fan_corner.svg", "fan_roof.svg")
    with pytest.raises(RequestError, match="did you mean fan"):
        write_shape_pictures("fann", tmp_path)


@pytest.mark.parametrize("name", [name for name in SHAPES if name not in ("custom", "import")])
def test_every_family_can_be_drawn_from_a_side_and_from_below(name: str) -> None:
    part = shape_named(name)().build()
    for view in ("tray", "floor"):
        root = ET.fromstring(part_picture(name, part, VIEWS[view], pixels=400))
        assert root.attrib["width"] == "400"
        assert len(list(root.iter(f"{SVG}path"))) >= 2


def test_nearer_bodies_are_painted_later() -> None:
    view = VIEWS["window"].scene2view
    places = [(0.0, -30.0, 0.0), (5.0, 40.0, 5.0), (10.0, 0.0, -5.0), (0.0, -80.0, 3.0)]
    bodies = [sketch(Box((50, 10, 50)), compose(Pose.at(at), view), 0.01).bodies[0] for at in places]
    assert painting_order(bodies) == [1, 2, 0, 3]


def test_a_mesh_is_drawn_as_the_box_it_is() -> None:
    corners = np.array([(x, y, z) for x in (0, 10) for y in (0, 20) for z in (0, 30)], dtype=float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))])
    mesh = Mesh(corners, triangles.astype(np.int32))
    pose = compose(Pose.at((3, 4, 5), (10, 20, 30)), VIEWS["corner"].scene2view)
    middle = compose(Pose.at((5.0, 10.0, 15.0)), pose)

    def lengths(lines: list[np.ndarray]) -> float:
        return sum(float(np.linalg.norm(np.diff(line, axis=0))) for line in lines)

    drawn, box = sketch(mesh, pose, 0.01), sketch(Box((10, 20, 30)), middle, 0.01)
    assert lengths([line.points for line in drawn.lines]) == pytest.approx(
        lengths([line.points for line in box.lines])
    )
    assert len(drawn.bodies) == 1
