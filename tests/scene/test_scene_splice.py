"""Writing values back changes their spans and nothing else."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.scene.document import read_document
from layout3d.scene.reader import parse_scene
from layout3d.scene.splice import splice
from layout3d.scene.textfile import read_text

SCENES = Path(__file__).parents[2] / "scenes"
TWO_POSTS = (SCENES / "two_posts.yaml").read_text(encoding="utf-8")
PATH = ("tubes", "over", "path")


def places(text):
    return read_document(text, "scene.yaml")[0].places


def value_at(text, key):
    value = read_document(text, "scene.yaml")[0].values
    for step in key:
        value = value[step]
    return value


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_solved_path_goes_where_auto_stood(ending: str, mark: str) -> None:
    text = mark + TWO_POSTS.replace("\n", ending)
    new = "[[0, 0, 150], [200, 0, 150]]"
    spliced = splice(text, places(text), {PATH: new})
    assert spliced == text.replace("path: auto", f"path: {new}")
    assert parse_scene(spliced, "scene.yaml").tubes["over"].path.corners == ((0, 0, 150), (200, 0, 150))


def test_line_endings_survive_the_way_through_a_file(tmp_path: Path) -> None:
    file = tmp_path / "crlf.yaml"
    data = b"\xef\xbb\xbf" + TWO_POSTS.replace("\n", "\r\n").encode()
    file.write_bytes(data)
    text = read_text(file)
    assert text.encode() == data
    assert splice(text, places(text), {PATH: "straight"}).encode() == data.replace(b"auto", b"straight", 1)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (
            "path:\n      - [0, 0, 1]   # up\n      - [0, 0, 2]\n\n    # after\n",
            "path:\n        auto\n\n    # after\n",
        ),
        ("path:\n    - [0, 0, 1]\n    - [0, 0, 2]  # over\n", "path:\n      auto  # over\n"),
        ("path: {legs: [[roof, 5], to]} # legs\n", "path: auto # legs\n"),
        ("path:\n      legs: [[roof, 5], to] # legs\n", "path:\n      auto # legs\n"),
        ("path: 'auto'\n", "path: auto\n"),
        ("path: >\n      auto\n\n\n    # after\n", "path: auto\n\n\n    # after\n"),
    ],
)
def test_every_spelling_of_the_old_value(old: str, new: str) -> None:
    text = f"tubes:\n  over:\n    {old}    tubing: rigid14\n"
    assert splice(text, places(text), {PATH: "auto"}) == f"tubes:\n  over:\n    {new}    tubing: rigid14\n"


def test_a_list_as_far_left_as_its_key() -> None:
    text = "a:\n- 1\n- 2\nb: 3\n"
    assert splice(text, places(text), {("a",): "[7, 8]"}) == "a:\n  [7, 8]\nb: 3\n"


@pytest.mark.parametrize("new", ["", " ", "a\nb", "a\rb", "[1", "5, x: 6", "*a", "a: b: c", "~", "1\n"])
def test_new_yaml_that_would_do_harm_is_refused(new: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        splice(TWO_POSTS, places(TWO_POSTS), {("parts", "right", "at"): new, PATH: "auto"})


def test_overlapping_values_and_unknown_keys_are_refused() -> None:
    where = places(TWO_POSTS)
    with pytest.raises(ValueError, match=r"parts\.right\.at\[1\] lies inside parts\.right\.at"):
        splice(TWO_POSTS, where, {("parts", "right", "at"): "[0, 0, 0]", ("parts", "right", "at", 1): "3"})
    with pytest.raises(KeyError):
        splice(TWO_POSTS, where, {("parts", "middle", "at"): "[0, 0, 0]"})


LEAVES = st.one_of(
    st.integers(-999, 999).map(str),
    st.sampled_from(
        ["auto", "'it''s'", '"a # b"', "[1, [2, 3]]", "{a: 1, b: [x]}", "roof", "1/2 in", "[]", "{}"]
    ),
)
COMMENTS = st.sampled_from(["", "  # note: [1, 2", " # ü € 🜁", "\t# tab"])
ENDINGS = st.sampled_from(["\n", "\r\n"])
KEYS = st.lists(st.sampled_from("abcdefg"), min_size=1, max_size=4, unique=True)


@st.composite
def scene_texts(draw: st.DrawFn) -> str:
    """Block and flow YAML of a scene's kind, with comments, blank lines, either ending, a mark or none."""
    lines: list[str] = []

    def mapping(indent: int, depth: int) -> None:
        for key in draw(KEYS):
            kind = draw(st.sampled_from(["leaf", "map", "list", "flush"])) if depth else "leaf"
            comment = draw(COMMENTS)
            if kind == "leaf":
                lines.append(f"{' ' * indent}{key}: {draw(LEAVES)}{comment}")
            else:
                lines.append(f"{' ' * indent}{key}:{comment}")
                if kind == "map":
                    mapping(indent + 2, depth - 1)
                else:
                    inner = indent + (2 if kind == "list" else 0)
                    for leaf in draw(st.lists(LEAVES, min_size=1, max_size=3)):
                        lines.append(f"{' ' * inner}- {leaf}{draw(COMMENTS)}")
            if draw(st.booleans()):
                lines.append(draw(st.sampled_from(["", "# ---", f"{' ' * indent}# more"])))

    mapping(0, 2)
    ending = draw(ENDINGS)
    return draw(st.sampled_from(["", "\ufeff"])) + ending.join(lines) + draw(st.sampled_from(["", ending]))


@settings(max_examples=150, deadline=None)
@given(scene_texts(), st.data())
def test_only_the_span_of_the_value_changes(text: str, data: st.DataObject) -> None:
    where = places(text)
    key = data.draw(st.sampled_from(sorted((key for key in where.spans if key), key=repr)))
    new = data.draw(LEAVES)
    start, end = where.spans[key]
    spliced = splice(text, where, {key: new})
    assert spliced.startswith(text[:start])
    assert spliced.endswith(text[end:])
    assert spliced[start : len(spliced) - len(text) + end].strip() == new
    assert value_at(spliced, key) == value_at(f"x: {new}", ("x",))
    assert read_document(text, "")[0].places.lines.keys() - {key} >= {
        each for each in where.lines if each[: len(key)] != key
    }
    for other in where.spans:
        apart = other[: len(key)] != key and key[: len(other)] != other
        if apart:
            assert value_at(spliced, other) == value_at(text, other)
