"""Small scenes written as text, read and checked as a user's file would be."""

from __future__ import annotations

from layout3d.build import build
from layout3d.checks.check import Checked, check
from layout3d.findings import Finding
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene

TUBINGS = """\
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 36, end_straight: 20, between_bends: 14}
  soft13: {kind: soft, inside: 10, outside: 13, bend_radius: 40}
"""


def layout_of(parts: str = "", tubes: str = "", more: str = "") -> Layout:
    """The layout of a scene with these flow-style entries."""
    text = f"layout3d: 1\ntitle: Test\n{TUBINGS}{more}\nparts:\n{_indented(parts)}\n"
    if tubes:
        text += f"tubes:\n{_indented(tubes)}\n"
    return build(parse_scene(text, "test.yaml"))


def checked(parts: str = "", tubes: str = "", more: str = "") -> Checked:
    return check(layout_of(parts, tubes, more))


def findings(parts: str = "", tubes: str = "", more: str = "") -> list[Finding]:
    """Everything but the reminders of open ports and of no fittings, which most small scenes have."""
    reminders = ("port-open", "no-fitting")
    return [finding for finding in checked(parts, tubes, more).findings if finding.rule not in reminders]


def box(size: str, at: str, more: str = "") -> str:
    """A custom part of one box, its centre at ``at``."""
    return f"{{shape: custom, at: {at}, solids: [{{box: {size}}}]{', ' if more else ''}{more}}}"


def _indented(lines: str) -> str:
    return "\n".join(f"  {line}" for line in lines.strip().splitlines())
