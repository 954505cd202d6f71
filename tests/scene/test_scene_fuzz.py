"""Whatever is in the file, a scene or SceneErrors comes out, never another exception."""

from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.errors import SceneErrors
from layout3d.scene import document
from layout3d.scene.model import Scene
from layout3d.scene.reader import parse_scene, read_scene

SCENES = Path(__file__).parents[2] / "scenes"
GOOD = [
    (SCENES / "two_posts.yaml").read_text(encoding="utf-8"),
    """layout3d: 1
tubings: {soft: {kind: soft, outside: 19, inside: 13, bend_radius: 60}}
parts:
  top: {shape: radiator, at: [0, 0, 300], fans: 2}
  fan: {shape: fan, fixed_to: {mount: top.a1, by: inlet, row: '120', slide: 1 mm}}
  low: {shape: pump, off: [{face: top.floor, gap: 1/2 in, edge: far}], touches: [fan]}
tubes:
  one: {tubing: soft, from: low.out, to: top.in, fittings: [{shape: soft_fitting, turn: 9}, none], cut: 320}
  two: {tubing: soft, from: low.in, to: top.out, path: {cut: 3}, angles: any}
plugs: [low.in]
""",
]
SPANS = [(text, sorted(document.read_document(text, "")[0].places.spans.values())) for text in GOOD]
SNIPPETS = [
    *"&*!%@`|>?:-,[]{}#'\"~\t\n\r\\ ",
    "\r\n",
    ": ",
    " #",
    "- ",
    "---\n",
    "...\n",
    "<<: ",
    "null",
    ".nan",
    "-.inf",
    "1e999",
    "9" * 5000,
    "0x" + "f" * 300,
    "yes",
    "true",
    "1/0 in",
    "1 9/3 in",
    "-1/2 in",
    "9" * 400 + "/3 in",
    "12,7",
    "\u2028",
    "\x85",
    "\ufeff",
    "é",
    "\0",
    "\ud7ff",
    "[[[[",
    "{a: ",
    "'",
    "&a",
    "*a",
    "!!python/object:os.system",
    "left.out",
    "none",
    "to",
    "[1, 2, 3]",
    "{}",
    "[]",
]


def outcome(text: str) -> None:
    try:
        scene = parse_scene(text, "fuzz.yaml")
    except SceneErrors as error:
        problems = error.problems
    else:
        assert isinstance(scene, Scene)
        return
    assert problems
    assert all(problem.message and problem.line for problem in problems), problems


@pytest.fixture(params=[yaml.CSafeLoader, yaml.SafeLoader], ids=["libyaml", "python"])
def loader(request, monkeypatch):
    monkeypatch.setattr(document, "_LOADER", request.param)


FUZZ = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A good scene with a few cuts, copies and insertions."""
    text = draw(st.sampled_from(GOOD))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 30)))
        kind = draw(st.sampled_from(["insert", "delete", "replace", "copy"]))
        if kind == "copy":
            to = draw(st.integers(0, len(text)))
            text = text[:to] + text[start:end] + text[to:]
        else:
            new = "" if kind == "delete" else draw(st.sampled_from(SNIPPETS) | st.text(max_size=5))
            text = text[:start] + new + text[start if kind == "insert" else end :]
    return text


@pytest.mark.usefixtures("loader")
@FUZZ
@given(mutated())
def test_mutated_scenes(text: str) -> None:
    outcome(text)


@pytest.mark.usefixtures("loader")
@FUZZ
@given(st.lists(st.sampled_from(SNIPPETS) | st.text(max_size=4), max_size=25).map("".join))
def test_yaml_like_text(text: str) -> None:
    outcome(text)


VALUES = st.recursive(
    st.sampled_from(["0", "-1", "1e5", "true", "none", "to", "auto", "''", "'a.b'", "1/2 in", "roof", "any"]),
    lambda inner: (
        st.lists(inner, max_size=4).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(
            st.sampled_from(["at", "box", "shape", "legs", "bends", "cut", "mount", "straight", "x"]),
            inner,
            max_size=3,
        ).map(lambda items: "{" + ", ".join(f"{key}: {item}" for key, item in items.items()) + "}")
    ),
    max_leaves=8,
)


@st.composite
def revalued(draw: st.DrawFn) -> str:
    """A good scene with one scalar or list of it replaced by another value."""
    text, spans = draw(st.sampled_from(SPANS))
    start, end = draw(st.sampled_from(spans))
    return text[:start] + draw(VALUES) + text[end:]


@settings(FUZZ, max_examples=200)
@given(revalued())
def test_scenes_with_a_wrong_value(text: str) -> None:
    outcome(text)


@settings(FUZZ, max_examples=60)
@given(st.binary(max_size=200))
def test_any_bytes(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.mktemp("fuzz") / "scene.yaml"
    path.write_bytes(data)
    with pytest.raises(SceneErrors):
        read_scene(path)
