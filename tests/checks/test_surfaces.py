"""Ports of described parts: on a face, in the air, or under the surface."""

from __future__ import annotations

import pytest

from tests.checks.scenes import findings

BLOCK = "{box: [40, 40, 20], at: [0, 0, 10]}"


def off(solids: str, at: str, facing: str = "roof") -> list[tuple[str, float]]:
    """Rule and figure of what is found about one port."""
    port = f"ports: {{out: {{at: {at}, facing: {facing}}}}}"
    found = findings(
        f"post: {{shape: custom, at: [7, -3, 11], rotate: [0, 0, 30], solids: [{solids}], {port}}}"
    )
    return [(finding.rule, round(finding.measured_mm or 0.0, 6)) for finding in found]


@pytest.mark.parametrize(
    ("at", "depth"),
    [
        ("[0, 0, 20]", None),
        ("[0, 0, 20.5]", None),
        ("[0, 0, 20.51]", 0.51),
        ("[0, 0, 25]", 5.0),
        # Beyond a corner the nearest place of a box is that corner: 3, 4 and 12 make 13.
        ("[23, 24, 32]", 13.0),
        ("[0, 0, 19.5]", None),
        ("[0, 0, 18]", 2.0),
        ("[-12, 0, 10]", 8.0),
    ],
)
def test_how_far_a_port_is_off_the_face(at, depth):
    assert off(BLOCK, at) == ([] if depth is None else [("port-off-surface", depth)])


def test_a_face_covered_by_another_solid_is_no_face():
    cover = "{box: [40, 40, 6], at: [0, 0, 23]}"
    assert off(f"{BLOCK}, {cover}", "[0, 0, 26]") == []
    assert off(f"{BLOCK}, {{box: [60, 60, 26], at: [0, 0, 13]}}", "[0, 0, 20]") == [("port-off-surface", 6.0)]


def test_a_bare_anchor_has_no_face_to_miss():
    assert off("", "[0, 0, 500]") == []


def test_a_port_may_stand_in_the_middle_of_a_ring():
    ring = "{plate: {size: [60, 60], thickness: 4, openings: [{round: {diameter: 30}}]}, at: [0, 0, 2]}"
    assert off(ring, "[0, 0, 4]") == []
    assert off(ring, "[0, 0, 9]") == [("port-off-surface", 5.0)]
    assert off(ring, "[22, 0, 2]") == [("port-off-surface", 2.0)]


def test_the_finding_says_where_and_how_to_mend_it():
    [found] = findings(
        f"post: {{shape: custom, solids: [{BLOCK}], ports: {{out: {{at: [0, 0, 17], facing: roof}}}}}}"
    )
    assert (found.severity, found.parts, found.at_mm) == ("error", ("post",), (0.0, 0.0, 17.0))
    assert found.direction == (0.0, 0.0, 1.0)
    assert "post.out lies 3 mm inside the part's solids" in found.message
    assert found.where is not None
    assert found.where.endswith(tuple("0123456789"))
