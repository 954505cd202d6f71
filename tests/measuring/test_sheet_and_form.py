"""The sheet to print, the form to fill in, and the scene that comes of it."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError, SceneErrors
from layout3d.measuring.begin import begin
from layout3d.measuring.form import form_text, read_form, scene_text, write_sheet
from layout3d.measuring.measures import SHEETS
from layout3d.measuring.sheet import sheet_html
from layout3d.scene.reader import parse_scene, read_scene
from shapes import shape_named


def filled(word: str, folder: Path, **values: str) -> Path:
    """A form with these figures written after their keys."""
    text = form_text(SHEETS[word], "sheet.html", "form.yaml")
    for key, value in values.items():
        text, count = re.subn(rf"^{key}:$", f"{key}: {value}", text, flags=re.MULTILINE)
        assert count == 1, key
    path = folder / "form.yaml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("word", SHEETS)
def test_a_sheet_is_one_page_by_itself_with_a_drawing_and_a_line_for_each_measure(word):
    html = sheet_html(SHEETS[word], "form.yaml")
    assert not re.search(r"https?:|src=|@import|url\(", html)
    drawings = re.findall(r"<svg viewBox=.*?</text></svg>(?=<div)", html, flags=re.DOTALL)
    assert len(drawings) == len(SHEETS[word].measures)
    for number, (measure, svg) in enumerate(zip(SHEETS[word].measures, drawings, strict=True), 1):
        assert f"<code>{measure.key}</code>" in html
        tree = ElementTree.fromstring(svg)
        marks = [one for one in tree.iter() if one.get("class") == "arrow"]
        assert len(marks) == 2
        labels = [one.text for one in tree.iter() if one.get("class") == "disc" and one.text]
        assert labels == [str(number)]


@pytest.mark.parametrize("word", SHEETS)
def test_every_dimension_lies_on_its_paper(word):
    html = sheet_html(SHEETS[word], "form.yaml")
    for points in re.findall(r'<polygon class="arrow" points="([^"]*)"', html):
        for x, y in (pair.split(",") for pair in points.split()):
            assert -3.0 <= float(x) <= 87.0
            assert -3.0 <= float(y) <= 61.0


@pytest.mark.parametrize("word", SHEETS)
def test_a_blank_form_makes_the_usual_case_and_says_what_it_took(word, tmp_path):
    measured = read_form(filled(word, tmp_path))
    assert measured.shape == shape_named(SHEETS[word].shape)()
    assert not measured.given
    asked = {*SHEETS[word].ticked, *(one.key for one in SHEETS[word].measures)}
    assert set(measured.blank) == asked
    text = scene_text(measured, "form.yaml")
    checked = check(build(parse_scene(text, "mine.yaml")))
    assert not [one.message for one in checked.findings if one.severity == "error"]
    for key in asked:
        assert re.search(rf"#   {key}: \S", text), key


def test_figures_become_the_cases_parameters_as_they_were_written(tmp_path):
    path = filled(
        "tower", tmp_path, width="9 in", panel="0.8", rear_fan="140", rear_fan_offset="118", slots="7"
    )
    measured = read_form(path)
    scene = parse_scene(scene_text(measured, path.name), "mine.yaml")
    case = scene.parts["case"].shape
    assert case.width == pytest.approx(228.6)  # 9 x 25.4
    assert (case.panel, case.rear_fan, case.rear_fan_offset) == (0.8, "140", 118.0)
    assert "width: 9 in" in scene_text(measured, path.name)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(data=st.data(), word=st.sampled_from(sorted(SHEETS)))
def test_any_figures_are_taken_or_refused_by_line(data, word, tmp_path):
    fields = shape_named(SHEETS[word].shape).model_fields
    keys = data.draw(
        st.lists(st.sampled_from([one.key for one in SHEETS[word].measures]), max_size=4, unique=True)
    )
    values = {key: data.draw(st.floats(-20, 700).map(lambda x: round(x, 1)), key) for key in keys}
    assert set(keys) <= set(fields)
    path = filled(word, tmp_path, **{key: str(value) for key, value in values.items()})
    lines = path.read_text(encoding="utf-8").splitlines()
    try:
        measured = read_form(path)
    except SceneErrors as refused:
        for problem in refused.problems:
            assert problem.file == "form.yaml"
            assert problem.line is not None
            assert lines[problem.line - 1].split(":")[0] in {*keys, "shape"}
            assert re.search(r"\d", problem.message)
        return
    assert all(getattr(measured.shape, key) == pytest.approx(value) for key, value in values.items())
    parse_scene(scene_text(measured, "form.yaml"), "mine.yaml")


@pytest.mark.parametrize(
    ("values", "key", "message"),
    [
        ({"shroud_height": "65"}, "shroud_height", "needs 91 mm; with the usual 100 here"),
        ({"width": "2150"}, "width", "500"),
        ({"psu": "PS3"}, "psu", "PS2"),
        ({"cable_room": "wide"}, "cable_room", "length"),
        ({"roof_slots": "500"}, "roof_slots", "the roof row's screw slots reach"),
    ],
)
def test_what_does_not_go_together_is_told_at_its_line(values, key, message, tmp_path):
    path = filled("tower", tmp_path, **values)
    with pytest.raises(SceneErrors) as refused:
        read_form(path)
    problem = refused.value.problems[0]
    assert path.read_text(encoding="utf-8").splitlines()[problem.line - 1].startswith(f"{key}:")
    assert message in problem.message


def test_unknown_keys_and_families_are_refused(tmp_path):
    path = filled("tower", tmp_path)
    good = path.read_text(encoding="utf-8")
    for text, message in (
        (good + "widht: 215\n", "widht"),
        (good.replace("shape: case_tower", "shape: case_towr"), "did you mean case_tower"),
        (good.replace("shape: case_tower\n", ""), "`shape:` is missing"),
        (good.replace("width:\n", "width: 215\nwidth: 216\n"), "twice"),
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(SceneErrors, match=re.escape(message)):
            read_form(path)


def test_sheets_are_never_written_over(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert {path.name for path in write_sheet("dual", None)} == {"dual_measures.yaml", "dual_measures.html"}
    before = Path("dual_measures.yaml").read_bytes()
    with pytest.raises(RequestError, match="there already"):
        write_sheet("dual", None)
    Path("mine.html").write_text("kept", encoding="utf-8")
    with pytest.raises(RequestError, match=r"mine\.html is there already"):
        write_sheet("dual", Path("mine.yaml"))
    assert not Path("mine.yaml").exists()
    assert Path("mine.html").read_text(encoding="utf-8") == "kept"
    assert Path("dual_measures.yaml").read_bytes() == before
    for word, to, message in (
        ("towr", None, "did you mean tower"),
        ("tower", Path("sheet.pdf"), ".yaml file"),
        ("tower", Path("no/where.yaml"), "there is no folder"),
    ):
        with pytest.raises(RequestError, match=re.escape(message)):
            write_sheet(word, to)


def test_the_command_writes_sheet_then_scene_and_takes_no_other_mixture(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    sheet, told = begin(None, measure="sandwich")
    assert [path.suffix for path in sheet] == [".html", ".yaml"]
    assert not told
    scene, told = begin(Path("mine.yaml"), sheet[1])
    assert scene[0] == Path("mine.yaml")
    assert "width 186" in told
    assert check(build(read_scene(Path("mine.yaml")))).is_clear
    for wrong in ((None,), (Path("a.yaml"), None, "tower"), (Path("a.yaml"), None, None, Path("b.yaml"))):
        with pytest.raises(RequestError, match="--measure CASE"):
            begin(*wrong)
