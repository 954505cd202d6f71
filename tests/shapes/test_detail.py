"""Picture detail stays inside convex checked solids, is closed, small and always the same."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.realise.mesh import primitive_mesh
from layout3d.realise.pictures import drawn_solids
from shapes import SHAPES, shape_named
from shapes.detail import DETAIL, PLAIN, detail
from shapes.detail.bodies import Detail, Facets
from shapes.part import Part, Solid
from shapes.pose import Array
from shapes.primitives import Box, Cylinder, Plate, Prism
from tests.shapes.test_every_shape import VARIANTS, built, parameters, part_or_refusal

#: More than any part of a large build may take: ten fans, three radiators and forty fittings of
#: this size stay below 300,000 triangles together.
MOST_TRIANGLES = 12_000
INSIDE_MM = 1e-6
DRAWN = [name for name in SHAPES if name not in PLAIN]
LABELS = [*DRAWN, *(label for label, (family, _) in VARIANTS.items() if family not in PLAIN)]


def is_convex(solid: Solid) -> bool:
    """Whether a solid is convex as the checker takes it: screw holes are filled, openings are not."""
    match solid.primitive:
        case Plate(openings=openings):
            return not openings
        case Box() | Cylinder() | Prism():
            return True
    return False


def all_inside(points: Array, solid: Solid) -> bool:
    """Whether points of a solid's own frame lie in it, which is convex."""
    x, y, z = np.abs(points).T
    match solid.primitive:
        case Box(size=size):
            return bool((np.abs(points) <= np.array(size) / 2.0 + INSIDE_MM).all())
        case Cylinder(diameter=diameter, length=length):
            radii = np.hypot(x, y)
            return bool((radii <= diameter / 2.0 + INSIDE_MM).all() and (z <= length / 2.0 + INSIDE_MM).all())
        case Plate(size=(wide, high), thickness=thickness):
            reach = np.array((wide, high, thickness)) / 2.0 + INSIDE_MM
            return bool((np.abs(points) <= reach).all())
        case Prism(corners=corners, height=height):
            ring = np.array((*corners, corners[0]))
            sides = [
                (b[0] - a[0]) * (points[:, 1] - a[1]) - (b[1] - a[1]) * (points[:, 0] - a[0])
                for a, b in pairwise(ring)
            ]
            return bool((np.array(sides) >= -INSIDE_MM).all() and (z <= height / 2.0 + INSIDE_MM).all())
    return False


def edges_of(body: Facets) -> Counter[tuple[int, int]]:
    return Counter(
        (int(a), int(b))
        for triangle in body.triangles
        for a, b in zip(triangle, np.roll(triangle, -1), strict=True)
    )


def check(family: str, part: Part) -> tuple[Detail, ...]:
    bodies = detail(family, part)
    solids = {solid.name: solid for solid in part.solids}
    for body in bodies:
        where = (family, body.host, body.name)
        host = solids[body.host]
        assert is_convex(host), where
        if isinstance(body.body, Facets):
            vertices, triangles = body.body.vertices, body.body.triangles
            assert np.isfinite(vertices).all(), where
            assert triangles.min() >= 0, where
            assert triangles.max() < len(vertices), where
        else:
            mesh = primitive_mesh(body.body)
            vertices = body.body2host.apply(mesh.vertices)
        assert all_inside(vertices, host), where
    return bodies


@pytest.mark.parametrize("label", LABELS)
def test_facets_are_closed_and_drawn_the_right_way_round(label: str) -> None:
    family = VARIANTS.get(label, (label, {}))[0]
    for body in check(family, built(label)):
        if not isinstance(body.body, Facets) or body.body.sheet:
            continue
        edges = edges_of(body.body)
        where = (label, body.host, body.name)
        assert all(count == 1 and edges[b, a] == 1 for (a, b), count in edges.items()), where
        a, b, c = body.body.vertices[body.body.triangles].transpose(1, 0, 2)
        assert np.einsum("ij,ij->", a, np.cross(b, c)) > 0.0, where


@pytest.mark.parametrize("label", LABELS)
def test_triangles_of_a_part_stay_few(label: str) -> None:
    family = VARIANTS.get(label, (label, {}))[0]
    drawn = drawn_solids(family, built(label), 0.1)
    assert [solid.name for solid in drawn] == [solid.name for solid in built(label).solids]
    assert sum(len(layer.mesh.triangles) for solid in drawn for layer in solid.layers) < MOST_TRIANGLES


@pytest.mark.parametrize("family", DRAWN)
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(data=st.data())
def test_any_parameters_keep_detail_inside(family: str, data: Any) -> None:
    part = part_or_refusal(shape_named(family)(**data.draw(parameters(family))))
    if not isinstance(part, str):
        check(family, part)


@pytest.mark.parametrize("family", DRAWN)
def test_detail_is_the_same_each_time(family: str) -> None:
    one, other = (detail(family, shape_named(family)().build()) for _ in range(2))
    assert [(body.name, body.host, body.look) for body in one] == [
        (body.name, body.host, body.look) for body in other
    ]
    for a, b in zip(one, other, strict=True):
        if isinstance(a.body, Facets):
            assert isinstance(b.body, Facets)
            assert a.body.vertices.tobytes() == b.body.vertices.tobytes()
        else:
            assert a.body == b.body


def test_the_table_names_families_and_solids_that_exist() -> None:
    for family, rules in DETAIL.items():
        assert family in SHAPES
        labels = [family, *(label for label, (name, _) in VARIANTS.items() if name == family)]
        drawn = {body.host for label in labels for body in detail(family, built(label))}
        assert drawn, (family, rules)


def test_parts_measured_by_their_builder_are_drawn_as_they_are() -> None:
    assert detail("custom", built("custom post")) == ()


def test_a_host_with_an_opening_would_be_seen() -> None:
    frame = built("fan").solids[0]
    assert not is_convex(frame)
    assert isinstance(frame.primitive, Plate)
    assert is_convex(replace(frame, primitive=replace(frame.primitive, openings=())))


def test_a_body_outside_its_host_would_be_seen() -> None:
    solid = built("pump").solids[0]
    bodies = [body for body in detail("pump", built("pump")) if body.host == solid.name]
    assert isinstance(bodies[0].body, Facets)
    assert all_inside(bodies[0].body.vertices, solid)
    assert not all_inside(bodies[0].body.vertices * (1.0 + 1e-6), solid)
