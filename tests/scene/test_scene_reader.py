"""A good scene becomes exact values; a bad one names everything that is wrong with it."""

import math
from pathlib import Path

import pytest

import shapes
from layout3d.errors import SceneErrors
from layout3d.scene.entries import FITTING_KEYS, PART_KEYS
from layout3d.scene.model import FixedTo, Off
from layout3d.scene.paths import BendsPath, BendStep, CutPath, Leg, LegsPath, StraightPath
from layout3d.scene.reader import parse_scene, read_scene
from layout3d.scene.values import PortRef

SCENES = Path(__file__).parents[2] / "scenes"
TWO_POSTS = (SCENES / "two_posts.yaml").read_text(encoding="utf-8")


def problems(text: str) -> list[str]:
    with pytest.raises(SceneErrors) as caught:
        parse_scene(text, "s.yaml")
    return [str(problem) for problem in caught.value.problems]


def test_two_posts() -> None:
    scene = read_scene(SCENES / "two_posts.yaml")
    assert (scene.file, scene.title) == ("two_posts.yaml", "Two posts")
    assert (scene.rules.part_gap, scene.rules.tube_gap, scene.rules.fitting_gap) == (1.0, 3.0, 1.0)
    # 1 in = 25.4 mm exactly (international inch).
    assert scene.tubings["soft13"].inside == pytest.approx(12.7, abs=1e-12)
    assert scene.tubings["soft13"].outside == pytest.approx(19.05, abs=1e-12)
    left = scene.parts["left"]
    assert [solid.name for solid in left.part.solids] == ["box_1", "cylinder_2"]
    assert left.part.ports["out"].thread == "G1/4"
    assert left.part.ports["out"].port2part.origin.tolist() == [0, 0, 70]
    assert scene.parts["right"].at == (200, 0, 0)
    over = scene.tubes["over"]
    assert (over.start, over.end) == (PortRef("left", "out"), PortRef("right", "in"))
    assert over.fittings == ((), ())
    assert (over.angles, over.directions, over.bend_cost, over.most_bends) == ((45, 90), "case", 40, 4)
    assert scene.where("tubes", "over", "path") == "two_posts.yaml:38"


def test_a_scene_cannot_be_changed() -> None:
    scene = read_scene(SCENES / "two_posts.yaml")
    with pytest.raises(TypeError):
        scene.parts["left"] = scene.parts["right"]  # type: ignore[index]
    with pytest.raises(AttributeError):
        scene.title = "other"  # type: ignore[misc]


@pytest.mark.parametrize("path", sorted(SCENES.glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_scenes_can_be_read(path: Path) -> None:
    assert read_scene(path).parts


def with_tube(extra: str, tubing: str = "rigid14") -> str:
    head = TWO_POSTS.partition("tubes:\n")[0]
    return f"{head}tubes:\n  over: {{tubing: {tubing}, from: left.out, to: right.in, {extra}}}\n"


HALF = math.sqrt(0.5)


@pytest.mark.parametrize(
    ("form", "tubing", "path"),
    [
        ("path: straight", "rigid14", StraightPath()),
        (
            "path: {legs: [[roof, 56], [[0, -2, 2], 1/2 in], to]}",
            "rigid14",
            LegsPath((Leg((0, 0, 1), 56), Leg((0, -HALF, HALF), 12.7))),
        ),
        ("path: {legs: [to]}", "rigid14", LegsPath(())),
        (
            "path: {bends: [{straight: 100, bend: 90, radius: 30}, {straight: 0, bend: 180}], last: 150}",
            "rigid14",
            BendsPath((BendStep(straight=100, bend=90, radius=30), BendStep(straight=0, bend=180)), 150),
        ),
        ("path: {cut: 320}", "soft13", CutPath(320)),
        ("cut: 320 mm", "soft13", CutPath(320)),
    ],
)
def test_forms_of_a_path(form: str, tubing: str, path: object) -> None:
    found = parse_scene(with_tube(form, tubing), "s.yaml").tubes["over"].path
    if isinstance(path, LegsPath):
        assert [leg.length for leg in found.legs] == pytest.approx([leg.length for leg in path.legs])
        for got, wanted in zip(found.legs, path.legs, strict=True):
            assert got.direction == pytest.approx(wanted.direction, abs=1e-15)
    else:
        assert found == path


@pytest.mark.parametrize(
    ("extra", "angles", "directions"),
    [
        ("path: auto", (45, 90), "case"),
        ("angles: any", "any", "any"),
        ("angles: any, directions: case", "any", "case"),
        ("angles: [30, 180]", (30, 180), "case"),
        ("directions: any", (45, 90), "any"),
    ],
)
def test_directions_follow_the_angles(extra: str, angles: object, directions: str) -> None:
    tube = parse_scene(with_tube(extra), "s.yaml").tubes["over"]
    assert (tube.angles, tube.directions) == (angles, directions)


HOSTED = """layout3d: 1
parts:
  top: {shape: radiator, at: [0, 0, 300]}
  fan: {shape: fan, fixed_to: top.a1}
  other: {shape: fan, fixed_to: {mount: top.b1, by: outlet, row: 120, flip: true, lift: 2}}
  low:
    shape: fan
    off: [{face: top.floor, gap: 12}, {face: top.a, gap: -3, edge: middle}]
    touches: [fan]
    gap: 0
"""


def test_what_places_a_part() -> None:
    parts = parse_scene(HOSTED, "s.yaml").parts
    assert parts["top"].at == (0, 0, 300)
    assert parts["fan"].at is None
    assert parts["fan"].fixed_to == FixedTo(mount="top.a1")
    assert parts["other"].fixed_to == FixedTo(mount="top.b1", by="outlet", row="120", flip=True, lift=2)
    assert parts["low"].at == (0, 0, 0)
    assert parts["low"].off == (Off(face="top.floor", gap=12), Off(face="top.a", gap=-3, edge="middle"))
    assert (parts["low"].touches, parts["low"].gap, parts["fan"].gap) == (("fan",), 0, None)


def test_equal_shapes_are_built_once() -> None:
    text = with_tube("fittings: [{shape: rigid_fitting}, {shape: rigid_fitting, turn: 90}]")
    (first,), (second,) = parse_scene(text, "s.yaml").tubes["over"].fittings
    assert first.part is second.part
    assert (first.turn, second.turn) == (0, 90)
    parts = parse_scene(HOSTED, "s.yaml").parts
    assert parts["fan"].part is parts["low"].part


def test_every_fault_is_told_at_once_in_file_order() -> None:
    text = (
        TWO_POSTS.replace("tube_gap: 3.0", "tube_gap: thick")
        .replace("inside: 10", "inside: 15")
        .replace("at: [200, 0, 0]", "at: [200, 0]")
        .replace("from: left.out", "from: left.oot")
        .replace("most_bends: 4", "most_bends: 9")
    )
    told = problems(text)
    assert [line.split()[0] for line in told] == ["s.yaml:7:", "s.yaml:11:", "s.yaml:27:", "s.yaml:42:"]
    # The tube has a fault of its own (most_bends), so its names are looked up once that is mended.
    assert problems(text.replace("most_bends: 9", "most_bends: 3"))[3].startswith(
        "s.yaml:35: tubes.over.from"
    )


def test_a_faulty_part_brings_no_second_complaint_about_its_ports() -> None:
    told = problems(TWO_POSTS.replace("shape: custom                   ", "shape: costum                   "))
    assert len(told) == 1
    assert "did you mean custom?" in told[0]


def test_a_section_that_cannot_be_read_hides_what_hangs_on_it() -> None:
    assert len(problems("layout3d: 1\nparts: []\nplugs: [left.out]\n")) == 1


def test_a_shape_that_cannot_be_built_is_told_at_its_part() -> None:
    (told,) = problems("layout3d: 1\nparts:\n  low:\n    shape: pump\n    top_height: 12\n")
    assert told.startswith("s.yaml:3: parts.low: top_height 12 mm is too low")


def test_a_long_chain_of_mounts_is_refused_before_it_runs_too_deep() -> None:
    chain = "".join(f"  f{n}: {{shape: fan, fixed_to: f{n + 1}.inlet}}\n" for n in range(3000))
    told = problems(f"layout3d: 1\nparts:\n{chain}  f3000: {{shape: fan}}\n")
    assert "more than 60 parts hang one on another" in told[0]


def test_touching_may_name_tubes_and_fittings() -> None:
    text = with_tube("fittings: [{shape: rigid_fitting}, none]").replace(
        "    at: [200, 0, 0]", "    at: [200, 0, 0]\n    touches: [left, over, over.from_fitting]"
    )
    assert parse_scene(text, "s.yaml").parts["right"].touches == ("left", "over", "over.from_fitting")
    (told,) = problems(text.replace("over.from_fitting", "over.fitting"))
    assert "unknown part 'over.fitting'" in told


@pytest.mark.parametrize("name", list(shapes.SHAPES))
def test_no_shape_takes_a_key_of_the_entries(name: str) -> None:
    fields = shapes.shape_named(name).model_fields
    assert not fields.keys() & {*PART_KEYS, *FITTING_KEYS}


def test_a_new_row_in_the_table_of_shapes_can_be_placed(monkeypatch: pytest.MonkeyPatch) -> None:
    table = {**shapes.SHAPES, "block": shapes.SHAPES["custom"]}
    monkeypatch.setattr(shapes, "SHAPES", table)
    scene = parse_scene("layout3d: 1\nparts: {a: {shape: block, solids: [{box: [1, 2, 3]}]}}\n", "s.yaml")
    assert scene.parts["a"].shape_name == "block"


@pytest.mark.parametrize(
    ("bench", "named"),
    [
        ("{rigid15: {stock: 500}}", ("bench.rigid15", "rigid15", "rigid14")),
        ("{soft13: {setback: 3}}", ("bench.soft13.setback", "rigid", "stock")),
        ("{rigid14: {stock: 0}}", ("bench.rigid14.stock", "0")),
        ("{rigid14: {stok: 500}}", ("bench.rigid14", "stok", "stock")),
        ("{rigid14: {springback: 60}}", ("bench.rigid14.springback", "45")),
    ],
)
def test_bench_figures_that_cannot_be(bench: str, named: tuple[str, ...]) -> None:
    told = problems(f"{TWO_POSTS}\nbench: {bench}\n")
    assert len(told) == 1
    assert all(word in told[0] for word in named), told


def test_bench_figures() -> None:
    scene = parse_scene(f"{TWO_POSTS}\nbench: {{rigid14: {{stock: 1/2 in, setback: -3}}}}\n", "s.yaml")
    bench = scene.bench["rigid14"]
    assert (bench.stock, bench.setback, bench.kerf, bench.trim) == (12.7, -3.0, 1.0, 0.0)
