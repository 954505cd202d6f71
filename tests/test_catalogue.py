"""The catalogue scene shows every family once and has nothing to complain of."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.scene.reader import read_scene
from shapes import SHAPES

CATALOGUE = Path(__file__).parent.parent / "scenes" / "catalogue.yaml"
#: Needs a file of the builder's own.
OF_FILES = {"import"}


def test_each_family_stands_in_the_catalogue_once() -> None:
    layout = build(read_scene(CATALOGUE))
    assert Counter(placed.shape for placed in layout.parts.values()) == Counter(set(SHAPES) - OF_FILES)


def test_the_catalogue_is_clear() -> None:
    assert list(check(build(read_scene(CATALOGUE))).findings) == []
