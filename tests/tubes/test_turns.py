"""Arc-straight-arc curves against published lengths, the planar closed forms, and their own conditions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from layout3d.tubes.centreline import Piece, end_of, length_mm, start_of
from layout3d.tubes.detour import way_round
from layout3d.tubes.turns import MOST_BEND, SHORT_WAY, Ray, shortest_turns
from layout3d.tubes.vectors import angle, times, unit
from shapes.pose import Vec3
from shapes.primitives import Arc

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
ORIGIN = (0.0, 0.0, 0.0)


def ray(x: float, y: float, z: float, heading_deg: float, pitch_deg: float = 0.0) -> Ray:
    heading, pitch = math.radians(heading_deg), math.radians(pitch_deg)
    level = math.cos(pitch)
    return (x, y, z), (math.cos(heading) * level, math.sin(heading) * level, math.sin(pitch))


def sound(pieces: tuple[Piece, ...], start: Ray, end: Ray, radius: float) -> None:
    """It leaves and arrives as it should, follows on tangentially, and is nowhere tighter than the radius."""
    first, last = start_of(pieces[0]), end_of(pieces[-1])
    assert math.dist(first[0], start[0]) <= 1e-9
    assert math.dist(last[0], end[0]) <= 1e-9
    assert angle(first[1], start[1]) <= 1e-7
    assert angle(last[1], end[1]) <= 1e-7
    for before, after in pairwise(pieces):
        (place, leaving), (next_place, arriving) = end_of(before), start_of(after)
        assert math.dist(place, next_place) <= 2e-7
        assert angle(leaving, arriving) <= 1e-6
    assert all(piece.radius == radius for piece in pieces if isinstance(piece, Arc))


@pytest.mark.parametrize(
    ("start", "end", "radius", "length"),
    [
        # Worked out independently for two ends in space (no published table has them).
        ((ORIGIN, X), ((100.0, 80.0, 60.0), Z), 20.0, 147.960697591),
        ((ORIGIN, Z), ((120.0, -40.0, 90.0), Y), 30.0, 192.909088669),
        # L corner and 3-4-5 offset in the plane, closed forms of Dubins (1957).
        ((ORIGIN, X), ((4.0, 4.0, 0.0), Y), 1.0, 5.813437014),
        ((ORIGIN, X), ((4.0, 4.0, 0.0), X), 1.0, 5.854590436),
        ((ORIGIN, X), ((50.0, 0.0, 0.0), X), 20.0, 50.0),
        ((ORIGIN, X), ((20.0, 20.0, 0.0), Y), 20.0, 10.0 * math.pi),
        # U-turns: exactly a half-turn, with legs of one length, with a longer leg, and wider.
        ((ORIGIN, Z), ((120.0, 0.0, 0.0), times(Z, -1.0)), 60.0, 60.0 * math.pi),
        ((ORIGIN, Z), ((120.0, 0.0, -100.0), times(Z, -1.0)), 60.0, 60.0 * math.pi + 100.0),
        ((ORIGIN, Z), ((120.0, 0.0, 100.0), times(Z, -1.0)), 60.0, 60.0 * math.pi + 100.0),
        ((ORIGIN, Z), ((200.0, 0.0, 0.0), times(Z, -1.0)), 60.0, 60.0 * math.pi + 80.0),
        # Back past the start and on the same way: two half-turns.
        ((ORIGIN, Z), ((130.0, 0.0, -100.0), Z), 60.0, 120.0 * math.pi + 100.0),
    ],
)
def test_known_lengths(start: Ray, end: Ray, radius: float, length: float) -> None:
    pieces = shortest_turns(start, end, radius)
    assert pieces is not None
    assert length_mm(pieces) == pytest.approx(length, abs=2e-9 * max(1.0, length))
    sound(pieces, start, end, radius)


@pytest.mark.parametrize(
    ("start", "end", "published"),
    # Radius 40, pitch kept to -15..20 degrees: instances3D.jl of Dubins3D.jl (Vana et al., ICRA 2020).
    # Without the limit on pitch a curve can only be shorter.
    [
        (ray(200, 500, 200, 180, -5), ray(500, 350, 100, 0, -5), 449.56),
        (ray(100, -400, 100, 30, 0), ray(500, -700, 0, 150, 0), 636.12),
        (ray(-200, 200, 250, 240, 15), ray(500, 800, 0, 45, 15), 1063.41),
        (ray(-300, 1200, 350, 160, 0), ray(1000, 200, 0, 30, 0), 1789.21),
        (ray(-500, -300, 600, 150, 10), ray(1200, 900, 100, 300, 10), 2216.40),
    ],
)
def test_published_lengths_with_limited_pitch_are_upper_bounds(
    start: Ray, end: Ray, published: float
) -> None:
    pieces = shortest_turns(start, end, 40.0)
    assert pieces is not None
    assert 0.95 * published < length_mm(pieces) <= published
    sound(pieces, start, end, 40.0)


def test_the_published_planar_case_is_an_upper_bound() -> None:
    # (0, 0, 0) to (5, 0, 3 rad), radius 1: 8.2725, test_path.jl of Dubins.jl.
    pieces = shortest_turns((ORIGIN, X), ((5.0, 0.0, 0.0), (math.cos(3.0), math.sin(3.0), 0.0)), 1.0)
    assert pieces is not None
    assert length_mm(pieces) <= 8.2725 + 1e-4


def planar_words(distance: float, alpha: float, beta: float) -> Iterator[tuple[float, float, float]]:
    """Dubins (1957), in the form of Shkel and Lumelsky: arcs and straight of LSL, RSR, LSR, RSL, radius 1."""
    sa, ca, sb, cb = math.sin(alpha), math.cos(alpha), math.sin(beta), math.cos(beta)
    round_ = 2.0 * math.pi
    square = 2 + distance**2 - 2 * math.cos(alpha - beta)
    for sign in (1.0, -1.0):
        rest = square + sign * 2 * distance * (sa - sb)
        if rest >= 0.0:
            turn = math.atan2(sign * (cb - ca), distance + sign * (sa - sb))
            yield (sign * (turn - alpha)) % round_, math.sqrt(rest), (sign * (beta - turn)) % round_
        rest = distance**2 - 2 + 2 * math.cos(alpha - beta) + sign * 2 * distance * (sa + sb)
        if rest >= 0.0:
            straight = math.sqrt(rest)
            turn = math.atan2(-sign * (ca + cb), distance + sign * (sa + sb)) - math.atan2(
                -sign * 2.0, straight
            )
            yield (sign * (turn - alpha)) % round_, straight, (sign * (turn - beta)) % round_


def test_the_planar_words_give_the_published_length() -> None:
    # The same published 8.2725: RSL with arcs 0.422168, 3.422168 and straight 4.428184.
    best = min(planar_words(5.0, 0.0, 3.0), key=sum)
    assert best == pytest.approx((0.422168, 4.428184, 3.422168), abs=1e-6)


headings = st.floats(-math.pi, math.pi)


@settings(max_examples=150, deadline=None)
@given(st.floats(0.2, 12.0), headings, headings)
def test_never_longer_than_the_planar_words(distance: float, alpha: float, beta: float) -> None:
    start = (ORIGIN, (math.cos(alpha), math.sin(alpha), 0.0))
    end = ((60.0 * distance, 0.0, 0.0), (math.cos(beta), math.sin(beta), 0.0))
    words = [
        word for word in planar_words(distance, alpha, beta) if max(word[0], word[2]) < math.radians(170.0)
    ]
    pieces = shortest_turns(start, end, 60.0)
    if words:
        assert pieces is not None
        assert length_mm(pieces) <= 60.0 * min(sum(word) for word in words) + 1e-6


directions = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda v: math.hypot(*v) > 0.1).map(unit)
grid = st.sampled_from((-120.0, -60.0, 0.0, 30.0, 60.0, 120.0, 240.0))
axes = st.sampled_from((X, Y, Z, times(X, -1.0), times(Y, -1.0), times(Z, -1.0)))
places = st.tuples(*[st.floats(-300.0, 300.0)] * 3)


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(st.tuples(places, directions, directions), st.tuples(st.tuples(grid, grid, grid), axes, axes))
)
def test_curves_are_sound_in_every_pose(case: tuple[Vec3, Vec3, Vec3]) -> None:
    place, leave, arrive = case
    start, end = (ORIGIN, leave), (place, arrive)
    for ways in (SHORT_WAY, None):
        pieces = shortest_turns(start, end, 60.0, ways) if ways else shortest_turns(start, end, 60.0)
        if pieces:
            sound(pieces, start, end, 60.0)
            assert length_mm(pieces) >= math.dist(ORIGIN, place) - 1e-6
            assert all(piece.angle <= MOST_BEND + 1e-9 for piece in pieces if isinstance(piece, Arc))


@settings(max_examples=100, deadline=None)
@example(place=(-160.0, 0.0, -1.0), leave=(1.0, 0.0, 0.0), arrive=unit((1.0, 0.03125, 0.0)))
@given(place=places.filter(lambda place: math.hypot(*place) > 160.0), leave=directions, arrive=directions)
def test_ends_four_radii_apart_always_have_a_curve(place: Vec3, leave: Vec3, arrive: Vec3) -> None:
    # Dubins: from four radii on, arc, straight and arc exist for every pair of directions. Near
    # two half-turns, where Newton's method has no hold, the way round finds one instead.
    start, end = (ORIGIN, leave), (place, arrive)
    curve = shortest_turns(start, end, 40.0) or way_round(start, end, 40.0)
    assert curve is not None
    sound(curve, start, end, 40.0)


@settings(max_examples=50, deadline=None)
@given(places, directions, directions)
def test_the_way_back_is_as_long(place: Vec3, leave: Vec3, arrive: Vec3) -> None:
    there = shortest_turns((ORIGIN, leave), (place, arrive), 40.0, SHORT_WAY)
    back = shortest_turns((place, times(arrive, -1.0)), (ORIGIN, times(leave, -1.0)), 40.0, SHORT_WAY)
    if there and back:
        assert length_mm(there) == pytest.approx(length_mm(back), abs=1e-6)
