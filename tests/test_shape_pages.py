"""docs/shapes says what the families say now. `layout3d shapes --pages docs/shapes` writes it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from layout3d.reports.families import KINDS, mounts, parameters, yaml_text
from layout3d.reports.pages import pages, write_pages
from layout3d.scene.scalars import resolve
from shapes import SHAPES, shape_named

FOLDER = Path(__file__).parents[1] / "docs" / "shapes"
STALE = "stale: run `layout3d shapes --pages docs/shapes` and commit what it writes"


@pytest.fixture(scope="module")
def wanted() -> dict[str, str]:
    return pages()


def test_the_pages_are_up_to_date(wanted: dict[str, str]) -> None:
    there = {path.name: path.read_text(encoding="utf-8") for path in FOLDER.iterdir()}
    assert sorted(there) == sorted(wanted), STALE
    assert [name for name in wanted if there[name] != wanted[name]] == [], STALE


def test_every_link_leads_to_a_page_or_picture(wanted: dict[str, str]) -> None:
    for name, text in wanted.items():
        for target in re.findall(r"\]\(([^)#]+)[^)]*\)", text) if name.endswith(".md") else ():
            assert target in wanted or (FOLDER / target).exists(), (name, target)


def test_tables_keep_their_columns(wanted: dict[str, str]) -> None:
    for name, text in wanted.items():
        for block in text.split("\n\n") if name.endswith(".md") else ():
            rows = [re.sub(r"\\\|", "", line) for line in block.splitlines() if line.startswith("|")]
            assert len({row.count("|") for row in rows}) <= 1, (name, block)


@pytest.mark.parametrize("name", SHAPES)
def test_every_default_is_written_as_a_scene_takes_it(name: str) -> None:
    shape = shape_named(name)
    defaults = shape()
    for one in parameters(shape):
        value = getattr(defaults, one.name)
        assert "(" not in one.default, one
        if isinstance(value, bool | int | float | str):
            text = one.default.removeprefix('"').removesuffix('"')
            assert (one.default if text != one.default else resolve(text)) in (value, f'"{value}"'), one


@pytest.mark.parametrize("name", SHAPES)
def test_every_mount_says_what_it_takes(name: str) -> None:
    assert {one.kind for one in mounts(shape_named(name)().build())} <= set(KINDS)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        (30.0, "30"),
        (1.57, "1.57"),
        ("75", '"75"'),
        ("#6-32", '"#6-32"'),
        ("G1/4", "G1/4"),
        ("none", "none"),
        ("yes", "yes"),
        ("", '""'),
        (("x16", "none"), "[x16, none]"),
        ({"a": (1, 2)}, "{a: [1, 2]}"),
    ],
)
def test_values_are_written_as_yaml(value: object, text: str) -> None:
    assert yaml_text(value) == text


def test_pages_of_families_that_are_gone_go(tmp_path: Path) -> None:
    (tmp_path / "gone.md").write_text("old")
    (tmp_path / "mine.txt").write_text("stays")
    written = write_pages(tmp_path)
    assert not (tmp_path / "gone.md").exists()
    assert (tmp_path / "mine.txt").exists()
    assert len(written) == len(list(tmp_path.iterdir())) - 1
