"""Parts from files: what a scene gets of them, and what is said of faults, in whose file they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from layout3d.errors import Problem, SceneErrors
from layout3d.library.shelf import BUILT_IN, built_in
from layout3d.scene.facts import Facts, Price
from layout3d.scene.model import Scene
from layout3d.scene.reader import read_scene

RADIATORS = """\
layout3d_parts: 1
source: data sheet of 2024
parts:
  my_radiator:
    shape: radiator
    fans: 3
    thickness: 30
    port_pitch: 1 1/2 in
    measured: {thickness: 28.4}
    label: Slim radiator
    price: 89.90 EUR
    mass: 1.2 kg
    metals: [copper, brass]
    note: second hand
  my_fan: {shape: fan, source: own calipers}
"""


def folder_of(tmp_path: Path, scene: str, **files: str) -> Path:
    (tmp_path / "parts").mkdir()
    for name, text in files.items():
        (tmp_path / "parts" / f"{name}.yaml").write_text(text, encoding="utf-8")
    path = tmp_path / "s.yaml"
    path.write_text(f"layout3d: 1\nlibrary: [parts]\n{scene}", encoding="utf-8")
    return path


def read(tmp_path: Path, scene: str, **files: str) -> Scene:
    return read_scene(folder_of(tmp_path, scene, **files))


def problems(tmp_path: Path, scene: str, **files: str) -> list[Problem]:
    with pytest.raises(SceneErrors) as caught:
        read(tmp_path, scene, **files)
    return list(caught.value.problems)


def test_shape_parameters_and_facts_come_from_the_file(tmp_path: Path) -> None:
    part = read(tmp_path, "parts: {top: {use: my_radiator}}\n", radiators=RADIATORS).parts["top"]
    assert (part.shape_name, part.use, part.label, part.note) == (
        "radiator",
        "my_radiator",
        "Slim radiator",
        "second hand",
    )
    given = part.shape.model_dump(exclude_unset=True)
    assert given == {"fans": 3, "thickness": 28.4, "port_pitch": pytest.approx(38.1)}
    assert part.facts == Facts(Price("89.90", "EUR"), 1200.0, ("copper", "brass"), "data sheet of 2024")


def test_a_part_may_name_its_own_source(tmp_path: Path) -> None:
    part = read(tmp_path, "parts: {f: {use: my_fan}}\n", radiators=RADIATORS).parts["f"]
    assert part.facts.source == "own calipers"


def test_own_keys_replace_the_librarys(tmp_path: Path) -> None:
    scene = "parts: {top: {use: my_radiator, thickness: 1 in, price: $ 60, label: Here, at: [1, 2, 3]}}\n"
    part = read(tmp_path, scene, radiators=RADIATORS).parts["top"]
    assert part.shape.model_dump()["thickness"] == pytest.approx(25.4)
    assert (part.facts.price, part.facts.mass_g, part.label, part.at) == (
        Price("60", "$"),
        1200.0,
        "Here",
        (1, 2, 3),
    )


def test_several_equal_parts_of_a_library(tmp_path: Path) -> None:
    text = """\
parts: {case: {shape: case_tower}, r: {use: slim_360}, f: {use: my_fan, count: 3}}
stacks: {roof: {on: case.roof, air: exhaust, order: [r, f]}}
"""
    scene = read(tmp_path, text, radiators=RADIATORS)
    fans = [(part.name, part.use) for part in scene.parts.values() if part.shape_name == "fan"]
    assert fans == [("f_1", "my_fan"), ("f_2", "my_fan"), ("f_3", "my_fan")]


def test_fittings_may_come_from_a_library(tmp_path: Path) -> None:
    scene = """\
tubings: {t: {kind: rigid, outside: 14, inside: 10, bend_radius: 36}}
parts: {a: {use: tube_150}, b: {use: tube_150, at: [300, 0, 0]}}
tubes:
  over:
    {tubing: t, from: a.top, to: b.top, fittings: [[{use: adapter_90}, {use: rigid_14, price: 7 EUR}], none]}
"""
    chain, bare = read(tmp_path, scene).tubes["over"].fittings
    assert [(link.use, link.shape_name) for link in chain] == [
        ("adapter_90", "rotary_adapter"),
        ("rigid_14", "rigid_fitting"),
    ]
    assert chain[1].facts.price == Price("7", "EUR")
    assert chain[1].facts.metals == ("brass", "nickel")
    assert bare == ()


def test_built_in_parts_need_no_library_key(tmp_path: Path) -> None:
    path = tmp_path / "s.yaml"
    path.write_text("layout3d: 1\nparts: {r: {use: thick_360}}\n", encoding="utf-8")
    assert read_scene(path).parts["r"].shape.model_dump()["thickness"] == 60.0


def test_ones_own_part_goes_before_a_built_in_one(tmp_path: Path) -> None:
    own = "layout3d_parts: 1\nparts: {slim_360: {shape: radiator, fans: 3, thickness: 27}}\n"
    part = read(tmp_path, "parts: {r: {use: slim_360}}\n", own=own).parts["r"]
    assert part.shape.model_dump()["thickness"] == 27.0


def test_files_below_the_folder_count_and_scenes_beside_them_do_not(tmp_path: Path) -> None:
    path = folder_of(tmp_path, "parts: {r: {use: deep}}\n", other="layout3d: 1\nparts: {x: {shape: fan}}\n")
    below = tmp_path / "parts" / "air"
    below.mkdir()
    (below / "f.yml").write_text("layout3d_parts: 1\nparts: {deep: {shape: fan}}\n", encoding="utf-8")
    assert read_scene(path).parts["r"].shape_name == "fan"


def test_every_built_in_part_is_sound_and_says_where_its_figures_come_from() -> None:
    shelf = built_in()
    assert not shelf.problems
    assert len(shelf.holders) > 40
    for name, file in shelf.holders.items():
        part = file.part(name)
        assert file.built(part, BUILT_IN).solids, name
        assert part.about["source"], name
        assert part.entry.label, name


@pytest.mark.parametrize(
    ("name", "key", "millimetres"),
    [  # fan sizes of the trade: 120 and 140 mm frames, flush; 1/2 in = 12.7 mm by definition
        ("slim_360", "fans", 3),
        ("slim_280", "fan_size", 140),
        ("fan_120x15", "thickness", 15.0),
        ("soft_13x19", "tube_inside", 12.7),
        ("soft_13x19", "tube_outside", 19.05),
        ("rigid_13", "tube_outside", 12.7),
    ],
)
def test_built_in_parts_are_what_their_names_say(
    tmp_path: Path, name: str, key: str, millimetres: float
) -> None:
    fitting = name.startswith(("soft", "rigid"))
    scene = read(tmp_path, f"parts: {{r: {{use: {name}}}}}\n") if not fitting else None
    if scene is not None:
        assert scene.parts["r"].shape.model_dump()[key] == millimetres
        return
    text = (
        "tubings: {t: {kind: rigid, outside: 14, inside: 10, bend_radius: 36}}\n"
        "parts: {a: {shape: pump}, b: {shape: pump, at: [300, 0, 0]}}\n"
        f"tubes: {{o: {{tubing: t, from: a.out, to: b.out, fittings: [{{use: {name}}}, none]}}}}\n"
    )
    (link,) = read(tmp_path, text).tubes["o"].fittings[0]
    assert link.shape.model_dump()[key] == pytest.approx(millimetres)


def test_faults_are_told_in_the_file_they_are_in_all_at_once(tmp_path: Path) -> None:
    file = """\
layout3d_parts: 1
parts:
  bad:
    shape: radiator
    fanss: 3
    price: 3
    mass: 2
    metals: [aluminum]
    measured: {thickness: 300}
"""
    found = problems(tmp_path, "parts:\n  r: {use: bad}\n  s: {use: bad}\n  t: {use: bda}\n", bad=file)
    assert [(p.file, p.line, p.key) for p in found] == [
        ("s.yaml", 6, "parts.t.use"),
        ("parts/bad.yaml", 5, "parts.bad.fanss"),
        ("parts/bad.yaml", 6, "parts.bad.price"),
        ("parts/bad.yaml", 7, "parts.bad.mass"),
        ("parts/bad.yaml", 8, "parts.bad.metals[0]"),
        ("parts/bad.yaml", 9, "parts.bad.measured.thickness"),
    ]
    said = {p.key: p for p in found}
    assert "did you mean bad?" in said["parts.t.use"].message
    assert "bad" in said["parts.t.use"].choices
    assert "did you mean fans" in said["parts.bad.fanss"].message
    assert "such as 89.90 EUR" in said["parts.bad.price"].message
    assert "such as 850 g or 1.2 kg" in said["parts.bad.mass"].message
    assert "did you mean aluminium?" in said["parts.bad.metals[0]"].message
    assert "100" in said["parts.bad.measured.thickness"].message


@pytest.mark.parametrize(
    ("scene", "files", "expected"),
    [
        ("parts: {r: {use: fan_80x25, shape: fan}}\n", {}, "delete `shape`, or `use`"),
        ("parts: {r: {use: 3}}\n", {}, "expected the name of a part, got 3"),
        ("parts: {r: {at: [0, 0, 0]}}\n", {}, "missing key 'shape'"),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: 2\nparts: {}\n"}, "format 1, the file states 2"),
        ("parts: {r: {use: x}}\n", {"a": "parts: {}\n"}, "one starts with `layout3d_parts: 1`"),
        (
            "parts: {r: {use: x}}\n",
            {"a": ""},
            "the file is empty: such a file starts with `layout3d_parts: 1`",
        ),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: 1\n"}, "missing key 'parts'"),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: 1\nparts: [x]\n"}, "parts"),
        (
            "parts: {r: {use: x}}\n",
            {"a": "layout3d_parts: 1\nparts: {a b: {shape: fan}}\n"},
            "cannot be a name",
        ),
        (
            "parts: {r: {use: x}}\n",
            {"a": "layout3d_parts: 1\nparts: {x: {shape: fann}}\n"},
            "did you mean fan?",
        ),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: 1\nparts: {x: fan}\n"}, "parts.x"),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: 1\nparts: {x: {}}\n"}, "missing key 'shape'"),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: 1\nparts: {x: {shape: [fan]}}\n"}, "shape"),
        ("parts: {r: {use: x}}\n", {"a": "layout3d_parts: [1\n"}, "is not closed"),
    ],
)
def test_faults_are_said_in_words(tmp_path: Path, scene: str, files: dict[str, str], expected: str) -> None:
    text = "\n".join(str(problem) for problem in problems(tmp_path, scene, **files))
    assert expected in text
    assert "Traceback" not in text


def test_a_name_that_stands_twice_is_told_with_both_places(tmp_path: Path) -> None:
    one, two = (f"layout3d_parts: 1\nparts: {{{name}: {{shape: fan}}}}\n" for name in ("quiet", "Quiet"))
    (found,) = problems(tmp_path, "parts: {r: {use: quiet}}\n", a=one, b=two)
    assert (found.file, found.line) == ("parts/b.yaml", 2)
    assert "parts/a.yaml:2" in found.message


def test_a_folder_that_is_not_there_is_told_once_and_hides_no_other(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "f.yaml").write_text("layout3d_parts: 1\nparts: {f: {shape: fan}}\n")
    path = tmp_path / "s.yaml"
    path.write_text("layout3d: 1\nlibrary:\n  - mine\n  - nope\nparts: {r: {use: f}}\n", encoding="utf-8")
    with pytest.raises(SceneErrors) as caught:
        read_scene(path)
    (found,) = caught.value.problems
    assert (found.line, found.key) == (4, "library[1]")
    assert "'nope' is not there" in found.message


def test_scenes_without_use_do_not_load_what_reads_libraries() -> None:
    import subprocess
    import sys

    code = (
        "import sys\nfrom layout3d.scene.reader import parse_scene\n"
        "parse_scene('layout3d: 1\\nparts: {f: {shape: fan}}\\n', 's.yaml')\n"
        "print([name for name in sys.modules if name.startswith('layout3d.library')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("text", "price"),
    [
        ("89.90 EUR", Price("89.90", "EUR")),
        ("€ 12", Price("12", "€")),
        ("5GBP", Price("5", "GBP")),
        ("89,90 EUR", "decimal comma"),
        ("1.234 EUR", "such as 89.90 EUR"),
        ("89.90", "such as 89.90 EUR"),
        ("-3 EUR", "such as 89.90 EUR"),
    ],
)
def test_prices(tmp_path: Path, text: str, price: Price | str) -> None:
    scene = f'parts: {{r: {{shape: fan, price: "{text}"}}}}\n'
    if isinstance(price, Price):
        assert read(tmp_path, scene).parts["r"].facts.price == price
    else:
        (found,) = problems(tmp_path, scene)
        assert price in found.message


def test_a_form_among_part_files_is_told_in_one_line(tmp_path: Path) -> None:
    told = problems(tmp_path, "parts: {}\n", form="shape: case_tower\nwidth:\ndepth:\n")
    assert [(found.file, found.message) for found in told] == [
        ("parts/form.yaml", "this is no part file: one starts with `layout3d_parts: 1`")
    ]


def test_an_unquoted_price_with_a_decimal_comma(tmp_path: Path) -> None:
    told = problems(tmp_path, "parts: {r: {shape: fan, price: 89,90 EUR}}\n")
    assert any("decimal comma before 90" in found.message for found in told)
