"""From bytes to plain values and their places, with both YAML parsers."""

import codecs
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from layout3d.errors import SceneErrors
from layout3d.scene import document
from layout3d.scene.document import read_document
from layout3d.scene.scalars import resolve
from layout3d.scene.textfile import LARGEST_FILE, read_text

SCENES = Path(__file__).parents[2] / "scenes"


@pytest.fixture(params=[yaml.CSafeLoader, yaml.SafeLoader], ids=["libyaml", "python"])
def loader(request, monkeypatch):
    monkeypatch.setattr(document, "_LOADER", request.param)


# YAML 1.2.2, section 10.3.2, table of the core schema and example 10.9.
@pytest.mark.parametrize(
    ("word", "value"),
    [
        ("null", None),
        ("Null", None),
        ("NULL", None),
        ("~", None),
        ("", None),
        ("true", True),
        ("True", True),
        ("TRUE", True),
        ("false", False),
        ("False", False),
        ("FALSE", False),
        ("0", 0),
        ("0o7", 7),
        ("0x3A", 58),
        ("-19", -19),
        ("+12", 12),
        ("010", 10),
        ("0.", 0.0),
        ("-0.0", 0.0),
        (".5", 0.5),
        ("+12e03", 12000.0),
        ("-2E+05", -200000.0),
        ("1e3", 1000.0),
        ("685.230_15", "685.230_15"),
        ("190:20:30", "190:20:30"),
        ("yes", "yes"),
        ("no", "no"),
        ("on", "on"),
        ("off", "off"),
        ("y", "y"),
        ("tRUE", "tRUE"),
        ("0o8", "0o8"),
        ("0b11", "0b11"),
        ("-0x3A", "-0x3A"),
        ("1/2 in", "1/2 in"),
        ("2001-01-23", "2001-01-23"),
        ("-", "-"),
        (".", "."),
        ("e3", "e3"),
    ],
)
def test_words_of_the_core_schema(word: str, value: object) -> None:
    found = resolve(word)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    "word", [".inf", "-.Inf", "+.INF", ".nan", ".NaN", ".NAN", "1e7", "-1000001", "9" * 6000, "0x" + "f" * 40]
)
def test_numbers_nothing_can_be_built_with(word: str) -> None:
    with pytest.raises(ValueError, match=r"no number to build with|too large: at most 1000"):
        resolve(word)


@pytest.mark.usefixtures("loader")
def test_quoted_words_stay_text() -> None:
    values = read_document("a: '12'\nb: \"null\"\nc: |\n  12\nd: [x, 'true']\n", "")[0].values
    assert values == {"a": "12", "b": "null", "c": "12\n", "d": ("x", "true")}


@pytest.mark.usefixtures("loader")
def test_keys_are_text_as_written() -> None:
    assert read_document("120: {true: 1, 1.50: 2}", "")[0].values == {"120": {"true": 1, "1.50": 2}}


@pytest.mark.usefixtures("loader")
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_places(ending: str, mark: str) -> None:
    text = mark + ending.join(
        [
            "# ü 🜁",
            "parts:",
            "  left:  # one",
            "    at: [0, 1/2 in,",
            "         {x: 3}]",
            "    note: |",
            "      long",
            "      text",
            "",
            "    touches:",
            "    - a",
            "    -   bb   # two",
            "",
            "# end",
            "plugs: []",
        ]
    )
    places = read_document(text, "")[0].places
    left = ("parts", "left")
    lines = {key: places.lines[key] for key in places.lines}
    assert lines[("parts",)] == 2
    assert lines[left] == 3
    assert lines[(*left, "at")] == 4
    assert lines[(*left, "at", 1)] == 4
    assert lines[(*left, "at", 2, "x")] == 5
    assert lines[(*left, "touches", 1)] == 12
    assert lines[("plugs",)] == 15

    def piece(*key: str | int) -> str:
        start, end = places.spans[key]
        return text[start:end].replace(ending, "\n")

    assert piece(*left, "at", 1) == "1/2 in"
    assert piece(*left, "at", 2) == "{x: 3}"
    assert piece(*left, "at") == "[0, 1/2 in,\n         {x: 3}]"
    assert piece(*left, "note") == "|\n      long\n      text"
    assert piece(*left, "touches") == "- a\n    -   bb"
    assert piece(*left).startswith("at: [")
    assert piece(*left).endswith("bb")
    assert piece("plugs") == "[]"
    assert places.line(*left, "missing", "deeper") == 3


@pytest.mark.usefixtures("loader")
def test_sections_may_stand_empty() -> None:
    values = read_document("layout3d: 1\nparts:\ntubes:   # none yet\n", "")[0].values
    assert values == {"layout3d": 1}


@pytest.mark.usefixtures("loader")
def test_every_refusal_of_a_file_is_found_in_one_reading() -> None:
    text = "a: &x 1\nb: *x\nc: !!str 3\nd: .nan\ne:\na: 2\n<<: {f: 1}\n"
    with pytest.raises(SceneErrors) as caught:
        read_document(text, "s.yaml")[1].raise_any()
    assert [problem.line for problem in caught.value.problems] == [1, 2, 3, 4, 5, 6, 7]


def test_a_flood_of_refusals_is_cut_short() -> None:
    with pytest.raises(SceneErrors) as caught:
        read_document("a: [" + "~, " * 5000 + "]", "s.yaml")[1].raise_any()
    assert len(caught.value.problems) == 201
    assert caught.value.problems[-1].message == "... and 4800 more problems"


def refusal(path: Path) -> str:
    with pytest.raises(SceneErrors) as caught:
        read_text(path)
    (problem,) = caught.value.problems
    return problem.message


def test_a_missing_file_names_the_near_one(tmp_path: Path) -> None:
    (tmp_path / "two_posts.yaml").touch()
    (tmp_path / "tower.yml").touch()
    (tmp_path / "notes.txt").touch()
    with pytest.raises(
        SceneErrors, match=r"there is no file .*two_post\.yaml; did you mean two_posts\.yaml"
    ) as caught:
        read_text(tmp_path / "two_post.yaml")
    assert caught.value.problems[0].choices == ("tower.yml", "two_posts.yaml")
    assert "there is no folder" in refusal(tmp_path / "nowhere" / "a.yaml")


def test_what_is_no_text_file(tmp_path: Path) -> None:
    file = tmp_path / "scene.yaml"
    assert "is a folder, not a scene file" in refusal(tmp_path)
    assert "no file name" in refusal(Path("a\0b.yaml"))
    file.write_bytes(codecs.BOM_UTF16_LE + "layout3d: 1\n".encode("utf-16-le"))
    assert "found UTF-16): save it as UTF-8" in refusal(file)
    file.write_bytes(b"#" * (LARGEST_FILE + 1))
    assert "larger than 1 MB" in refusal(file)
    file.write_bytes(b"#" * LARGEST_FILE)
    assert len(read_text(file)) == LARGEST_FILE


def test_an_empty_file_says_how_to_begin(tmp_path: Path) -> None:
    for text in ("", "\n\n", "\ufeff", "# nothing\n", "---\n", "--- # a\n...\n"):
        with pytest.raises(SceneErrors, match="the file is empty: a scene starts with `layout3d: 1`"):
            read_document(text, "scene.yaml")


def test_reading_a_scene_loads_nothing_heavy() -> None:
    heavy = ["cadquery", "OCP", "trimesh", "scipy", "manifold3d", "rich", "jsonschema", "rtree"]
    code = (
        "import sys; from layout3d.scene.reader import read_scene; "
        f"read_scene({str(SCENES / 'two_posts.yaml')!r}); "
        f"print([name for name in {heavy} if name in sys.modules], 'shapes.radiator' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[] False"
