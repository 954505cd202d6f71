"""Rigid tubes found together, against laying them one after the other in every order."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from layout3d.build import build
from layout3d.scene.reader import parse_scene

HEAD = """\
layout3d: 1
tubings:
  rigid14: {kind: rigid, outside: 14, inside: 10, bend_radius: 30, end_straight: 20, between_bends: 14}
parts:
"""
APART_MM = 14.0 + 3.0


def posts(places):
    """A post 20 mm wide with a port on its top at each place."""
    return "".join(
        f"  {name}: {{shape: custom, at: [{x:.3f}, {y:.3f}, 0], solids: [{{box: [20, 20, 20], "
        f"at: [0, 0, 10]}}], ports: {{p: {{at: [0, 0, 20], facing: roof}}}}}}\n"
        for name, (x, y) in places.items()
    )


def tube(name, first, last, path="auto"):
    return f"  {name}: {{tubing: rigid14, from: {first}.p, to: {last}.p, path: {path}}}\n"


def laid(places, tubes):
    return {
        t.name: t
        for t in build(parse_scene(HEAD + posts(places) + "tubes:\n" + "".join(tubes), "t.yaml")).tubes
    }


def total(tubes):
    return sum(t.search.cost_mm for t in tubes.values())


def one_by_one(places, pairs, order):
    """The total of laying them in this order, each clear of those before; None where one finds no way."""
    given, cost = {}, 0.0
    for name in order:
        found = laid(places, [*given.values(), tube(name, *pairs[name])])[name]
        if found.run is None:
            return None
        cost += found.search.cost_mm
        corners = "[" + ", ".join("[{!r}, {!r}, {!r}]".format(*map(float, c)) for c in found.corners) + "]"
        given[name] = tube(name, *pairs[name], corners)
    return cost


def points(found):
    for piece in found.run.pieces:
        share = np.linspace(0.0, 1.0, max(2, int(piece.length)))[:, None]
        if hasattr(piece, "start"):
            yield np.array(piece.start) + share * (np.array(piece.end) - np.array(piece.start))
        else:
            yield np.array(piece.point_at(share[:, 0] * piece.angle))


def keep_apart(tubes):
    lines = [np.vstack(list(points(t))) for t in tubes.values()]
    for a, b in itertools.combinations(lines, 2):
        assert np.sqrt(((a[:, None] - b) ** 2).sum(-1).min()) > APART_MM - 0.06


CROSS = {"a": (0, 0), "b": (200, 0), "c": (100, -100), "d": (100, 100), "e": (40, -100), "f": (40, 100)}
PAIRS = {"over": ("a", "b"), "across": ("c", "d"), "beside": ("e", "f")}


def cross_tubes(order):
    return [tube(name, *PAIRS[name]) for name in order]


def test_crossing_tubes_cost_no_more_than_in_the_best_order_and_keep_apart():
    orders = itertools.permutations(PAIRS)
    best = min(cost for order in orders if (cost := one_by_one(CROSS, PAIRS, order)) is not None)
    tubes = laid(CROSS, cross_tubes(PAIRS))
    keep_apart(tubes)
    assert total(tubes) <= best + 0.01
    assert sum(t.search.bound_mm for t in tubes.values()) <= total(tubes)


def test_one_tube_gives_way_where_that_is_cheaper_than_two():
    # Laid first, `over` runs below both others, which would each have to go higher.
    tubes = laid(CROSS, cross_tubes(PAIRS))
    alone = {name: laid(CROSS, [tube(name, *PAIRS[name])])[name] for name in PAIRS}
    gave_way = [name for name in PAIRS if tubes[name].search.cost_mm > alone[name].search.cost_mm + 0.01]
    assert gave_way == ["over"]
    assert "laid jointly with" in tubes["over"].search.searched
    assert not tubes["over"].search.proved
    assert tubes["over"].search.bound_mm == alone["over"].search.bound_mm
    assert tubes["across"].search == alone["across"].search


@pytest.mark.parametrize("order", list(itertools.permutations(PAIRS)))
def test_the_order_in_the_file_does_not_matter(order):
    tubes, first = laid(CROSS, cross_tubes(order)), laid(CROSS, cross_tubes(PAIRS))
    assert {n: t.corners for n, t in tubes.items()} == {n: t.corners for n, t in first.items()}


@pytest.mark.parametrize("seed", range(8))
def test_random_posts_cost_no_more_than_any_order(seed):
    rng = np.random.default_rng(seed)
    spots = rng.permutation([(x, y) for x in range(0, 200, 45) for y in range(0, 200, 45)])[:6].tolist()
    places = dict(zip("abcdef", spots, strict=True))
    pairs = {"one": ("a", "b"), "three": ("c", "d"), "two": ("e", "f")}
    costs = [one_by_one(places, pairs, order) for order in itertools.permutations(pairs)]
    tubes = laid(places, [tube(name, *pairs[name]) for name in pairs])
    if any(cost is not None for cost in costs):
        keep_apart(tubes)
        assert total(tubes) <= min(cost for cost in costs if cost is not None) + 0.01


def test_two_tubes_on_one_port_cannot_be_laid_together_and_say_so():
    tubes = laid(CROSS, [tube("first", "a", "b"), tube("second", "a", "d")])
    assert sorted(t.run is None for t in tubes.values()) == [False, True]
    lost = next(t for t in tubes.values() if t.run is None)
    other = next(t.name for t in tubes.values() if t.run is not None)
    (finding,) = [f for f in lost.findings if f.rule == "no-path"]
    assert other in finding.parts
    assert f"not beside {other}" in finding.message
    assert finding.remedy
