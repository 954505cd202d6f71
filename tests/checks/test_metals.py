"""Which metals may share a coolant: differences of anodic index by the usual table (MIL-STD-889 practice)."""

from __future__ import annotations

import pytest

from layout3d.build import build
from layout3d.checks.metals import metal_findings
from layout3d.findings import Finding
from layout3d.scene.reader import parse_scene

SCENE = """\
layout3d: 1
tubings: {{t: {{kind: rigid, outside: 14, inside: 10, bend_radius: 36}}}}
parts:
  a: {{shape: custom, metals: [{a}], ports: {{out: {{at: [0, 0, 20], facing: roof}}}}}}
  b:
    shape: custom
    at: [200, 0, 0]
    ports: {{in: {{at: [0, 0, 20], facing: roof}}, out: {{at: [30, 0, 20], facing: roof}}}}
  c: {{shape: custom, metals: [{c}], at: [400, 0, 0], ports: {{in: {{at: [0, 0, 20], facing: roof}}}}}}
tubes:
  one: {{tubing: t, from: a.out, to: b.in, path: [[0, 0, 100], [200, 0, 100]]}}
{two}
"""
SECOND = "  two: {tubing: t, from: b.out, to: c.in, path: [[230, 0, 100], [400, 0, 100]]}"


def found(a: str, c: str, two: str = SECOND) -> list[Finding]:
    return list(metal_findings(build(parse_scene(SCENE.format(a=a, c=c, two=two), "s.yaml"))))


@pytest.mark.parametrize(
    ("a", "c", "apart"),
    [
        ("copper", "nickel", None),  # 0.05 V
        ("copper", "brass", None),  # 0.05 V
        ("copper", "stainless_steel", None),  # 0.15 V
        ("nickel", "stainless_steel", None),  # 0.20 V
        ("aluminium", "aluminium", None),
        ("aluminium", "copper", "0.55 V"),
        ("aluminium", "nickel", "0.60 V"),
        ("brass", "aluminium", "0.50 V"),
        ("aluminium", "stainless_steel", "0.40 V"),
        ("aluminium", "copper, nickel", "0.60 V"),
    ],
)
def test_the_usual_table(a: str, c: str, apart: str | None) -> None:
    findings = found(a, c)
    if apart is None:
        assert findings == []
        return
    (one,) = findings
    assert (one.rule, one.severity) == ("metals", "warning")
    assert set(one.parts) == {"a", "c"}
    assert apart in one.message
    assert "more than 0.25 V" in one.message


def test_two_loops_do_not_share_a_coolant() -> None:
    assert found("aluminium", "copper", two="") == []


def test_a_part_by_itself_may_hold_both() -> None:
    (one,) = found("aluminium, brass", "aluminium")
    assert one.parts == ("a",)


def test_what_is_not_stated_is_not_asked() -> None:
    assert found("", "aluminium") == []


def test_the_fitting_of_a_library_counts() -> None:
    text = SCENE.format(a="aluminium", c="", two=SECOND).replace(
        "path: [[0, 0, 100]", "fittings: [{use: rigid_14}, none], path: [[0, 0, 120]"
    )
    text = text.replace("facing: roof}", "facing: roof, thread: G1/4, depth: 6}")
    (one,) = metal_findings(build(parse_scene(text, "s.yaml")))
    assert "a fitting of one" in one.message
    assert set(one.parts) == {"a", "one"}
