"""Small scenes in which something is too near, and what is told of them done as a builder would."""

from __future__ import annotations

import re

from layout3d.build import build
from layout3d.checks.check import Checked, check
from layout3d.findings import Finding
from layout3d.layout import Layout
from layout3d.remedies.advise import QUICK_TRIES, advised
from layout3d.scene.reader import parse_scene
from layout3d.scene.splice import splice

#: A fan on the slots of a case's rear, which slides 8 mm either way along z; its top is 419 mm up. A box
#: above it, wedged under another, so that the fan has to give way.
FAN = """\
layout3d: 1
title: A fan under a shelf
rules: {{part_gap: {gap}}}
parts:
  case: {{shape: case_tower}}
  fan: {{shape: fan, fixed_to: {{mount: case.rear, slide: 0}}}}
  shelf: {{shape: custom, at: [14, 72, {z}], solids: [{{box: [20, 100, 20]}}]}}
  stop: {{shape: custom, at: [14, 72, {stop}], solids: [{{box: [20, 100, 20]}}]}}
"""
BOXES = """\
layout3d: 1
title: Boxes
rules: {{part_gap: {gap}}}
parts:
"""


def fan_scene(missing: float, gap: float = 1.0) -> str:
    """The fan's top is short of the shelf by ``missing``; the shelf stands as near to its stop as it may."""
    low = 419.0 + gap - missing
    return FAN.format(gap=gap, z=round(low + 10.0, 4), stop=round(low + 10.0 + 20.0 + gap, 4))


def boxes(entries: dict[str, tuple[tuple[float, ...], tuple[float, ...]]], gap: float = 1.0) -> str:
    lines = [
        f"  {name}: {{shape: custom, at: {list(at)}, solids: [{{box: {list(size)}}}]}}"
        for name, (size, at) in entries.items()
    ]
    return BOXES.format(gap=gap) + "\n".join(lines) + "\n"


def built(text: str) -> Layout:
    return build(parse_scene(text, "test.yaml"))


def errors(checked: Checked) -> list[Finding]:
    return [each for each in checked.findings if each.severity == "error"]


def remedied(text: str, most: int | None = QUICK_TRIES) -> list[Finding]:
    layout = built(text)
    return errors(advised(layout, check(layout), most))


def written(text: str, remedy: str) -> str:
    """The file as a builder edits it by what a remedy says."""
    found = re.match(r"(slide|move) (\S+) \S+ mm .*?\(`(\w+): ([^`]+)`\)", remedy)
    assert found is not None, remedy
    what, name, key, value = found.groups()
    path = ("parts", name, "fixed_to", key) if what == "slide" else ("parts", name, key)
    places = parse_scene(text, "test.yaml").places
    if path in places.spans:
        return splice(text, places, {path: value})
    assert f"  {name}: {{" in text
    return text.replace(f"  {name}: {{", f"  {name}: {{{key}: {value}, ", 1)


def length(remedy: str) -> float:
    found = re.match(r"(?:slide|move) \S+ (\S+) mm", remedy)
    assert found is not None, remedy
    return float(found.group(1))


def told(finding: Finding) -> str:
    assert finding.remedy is not None
    return finding.remedy
