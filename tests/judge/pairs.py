"""Seeded pairs of primitives: random ones, and ones built so that their distance is known.

Sizes and distances are those of PC builds: 1 mm sheets up to 480 mm, gaps mostly 0 to 30 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from shapes.pose import IDENTITY, TURNED_OVER, Array, Pose, about_z, compose, unit
from shapes.primitives import Cylinder, Plate, Primitive, Prism, RoundOpening, TubeRun

from .features import Feature, ball, centreline, draw_feature, draw_numbers, support
from .points import depth
from .sections import across, along, bars_apart, clear_of, is_bar, section, upright
from .whole_numbers import KINDS, first_pose, hundredths, pose_numbers, primitive_of, second_pose

SEED = 20240611
RECIPES = ("random", "flush", "near", "corner", "coaxial", "parallel", "contained", "through", "end")
#: Steps off exact contact that must never be taken for contact or for its opposite [mm].
TINY_STEPS = (0.0, 1e-4, 2e-6, -1e-4, -2e-6)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two primitives, placed. ``truth`` is the distance they were built to have [mm]: a gap, or minus
    a depth that a known translation undoes; NaN where the recipe does not know it. ``overlapping``:
    built to overlap by an unknown depth."""

    kinds: tuple[str, str]
    recipe: str
    numbers: tuple[list[int], list[int]]
    place: list[int]
    second: Array
    truth: float
    overlapping: bool = False

    @property
    def bodies(self) -> tuple[tuple[Primitive, Pose], tuple[Primitive, Pose]]:
        """Both primitives with their poses in the scene."""
        first, second = (primitive_of(kind, n) for kind, n in zip(self.kinds, self.numbers, strict=True))
        return (first, first_pose(self.place)), (second, second_pose(self.second))


def recipes_of(kinds: tuple[str, str]) -> list[str]:
    """The structured recipes that make sense for a pair kind."""
    found = ["flush", "near", "corner", "coaxial", "parallel", "contained"]
    if "plate" in kinds:
        found.append("through")
    if "tube" in kinds:
        found.append("end")
    return found


def draw_pairs(kinds: tuple[str, str], each: int = 2000, spare: int = 20) -> list[Pair]:
    """``each`` random and ``each`` structured pairs of a kind, shuffled, always the same ones.

    ``spare`` more of both sorts follow, in place of pairs the judge cannot decide.
    """
    rng = np.random.default_rng([SEED, KINDS.index(kinds[0]), KINDS.index(kinds[1])])
    structured = recipes_of(kinds)
    names = ["random"] * each + [structured[k % len(structured)] for k in range(each)]
    pairs = [draw_pair(rng, kinds, names[k]) for k in rng.permutation(2 * each)]
    spares = ["random"] * spare + [structured[k % len(structured)] for k in range(spare)]
    return pairs + [draw_pair(rng, kinds, recipe) for recipe in spares]


def draw_pair(rng: np.random.Generator, kinds: tuple[str, str], recipe: str) -> Pair:
    """One pair by a recipe; draws again until the recipe fits what was drawn."""
    draw = {
        "random": _random,
        "flush": _flush,
        "near": _near,
        "corner": _corner,
        "coaxial": _coaxial,
        "parallel": _parallel,
        "contained": _contained,
        "through": _through,
        "end": _end,
    }[recipe]
    while True:
        # Recipes see the kinds in a random order: neither side is always the one that is put in place.
        swapped = bool(rng.random() < 0.5)
        made = draw(rng, *(kinds[::-1] if swapped else kinds))
        if made is None:
            continue
        numbers, second2first, truth, overlapping = made
        square = rng.random() < 0.3
        turn = 90.0 * rng.integers(0, 4, 3) if square else rng.uniform(-180.0, 180.0, 3)
        place = hundredths([*rng.uniform(-300.0, 300.0, 3), *turn])
        if swapped:
            numbers, second2first = numbers[::-1], second2first.inverse
        second = pose_numbers(compose(second2first, first_pose(place)))
        return Pair(kinds, recipe, numbers, place, second, truth, overlapping)


#: Numbers of both, pose of the second in the first's frame, truth, overlapping.
_Made = tuple[tuple[list[int], list[int]], Pose, float, bool] | None


def _both(rng: np.random.Generator, a: str, b: str) -> tuple[list[int], list[int], Primitive, Primitive]:
    first, second = draw_numbers(rng, a), draw_numbers(rng, b)
    return first, second, primitive_of(a, first), primitive_of(b, second)


def _turned(rng: np.random.Generator) -> Array:
    if rng.random() < 0.25:
        return Pose.at((0.0, 0.0, 0.0), tuple(90.0 * rng.integers(0, 4, 3))).rotation
    return Rotation.random(random_state=rng).as_matrix()


def _random(rng: np.random.Generator, a: str, b: str) -> _Made:
    """Any turn; the hulls stand -50 to 15 mm apart along a way that often leaves a face of the first."""
    first, second, one, two = _both(rng, a, b)
    face = rng.choice([-1.0, 1.0]) * np.eye(3)[rng.integers(3)]
    turn, way = _turned(rng), unit(face + float(rng.choice([0.0, 0.3, 5.0])) * rng.normal(size=3))
    reach = support(one, way) + support(two, turn.T @ -way)
    aside = float(rng.choice([0.05, 0.2])) * max(ball(one)[1], ball(two)[1]) * rng.normal(size=3)
    origin = (reach + rng.uniform(-50.0, 15.0)) * way + aside - (aside @ way) * way
    return (first, second), Pose(turn, origin), math.nan, False


def _mated(rng: np.random.Generator, on: Feature, put: Feature, gap: float) -> Pose:
    """The second's pose with its feature against the first's, ``gap`` off along the normal."""
    spin = about_z(float(rng.choice([0.0, 90.0, rng.uniform(-180.0, 180.0)])))
    there, here = (Pose.facing(feature.point, feature.normal) for feature in (on, put))
    return compose(here.inverse, TURNED_OVER, spin, there.shifted(gap * on.normal))


def _against(rng: np.random.Generator, a: str, b: str, flat: str, gap: float) -> _Made:
    """Feature against feature; ``flat``: which of them must be faces ("both", "one", "none")."""
    first, second, one, two = _both(rng, a, b)
    on = draw_feature(rng, one, lambda f: f.flat == (flat != "none"))
    put = draw_feature(rng, two, lambda f: flat == "one" or f.flat == (flat == "both"))
    if on is None or put is None:
        return None
    if gap < 0.0 and not _reaches_in(one, on, -gap):
        return None
    return (first, second), _mated(rng, on, put, gap), gap, False


def _reaches_in(primitive: Primitive, on: Feature, by: float) -> bool:
    """Whether a point pushed straight in by ``by`` is inside: then an overlap is sure."""
    return bool(on.flat and depth(primitive, (on.point - by * on.normal)[None])[0] > 0.4 * by)


def _gap(rng: np.random.Generator) -> float:
    return float(
        rng.choice([*TINY_STEPS[1:], rng.uniform(0.0, 1.0), rng.uniform(0.0, 30.0), -rng.uniform(0.0, 0.5)])
    )


def _flush(rng: np.random.Generator, a: str, b: str) -> _Made:
    return _against(rng, a, b, str(rng.choice(["both", "both", "one"])), 0.0)


def _near(rng: np.random.Generator, a: str, b: str) -> _Made:
    return _against(rng, a, b, str(rng.choice(["both", "one"])), _gap(rng))


def _corner(rng: np.random.Generator, a: str, b: str) -> _Made:
    """Edges, corners and round skins against each other: never made to overlap."""
    return _against(rng, a, b, "none", float(rng.choice([0.0, abs(_gap(rng))])))


def _end(rng: np.random.Generator, a: str, b: str) -> _Made:
    """A tube's flat end or its rim in front of a face."""
    first, second, one, two = _both(rng, a, b)
    if not isinstance(two, TubeRun):
        return None
    places, travels = centreline(two)
    ends = [(places[0], -travels[0]), (places[-1], travels[-1])]

    def at_an_end(feature: Feature) -> bool:
        return any(abs((feature.point - place) @ away) < 1e-6 for place, away in ends)

    on = draw_feature(rng, one, lambda f: f.flat)
    put = draw_feature(rng, two, at_an_end)
    gap = float(rng.choice([0.0, _gap(rng)]))
    if on is None or put is None or (gap < 0.0 and not _reaches_in(one, on, -gap)):
        return None
    return (first, second), _mated(rng, on, put, gap), gap, False


def _contained(rng: np.random.Generator, a: str, b: str) -> _Made:
    """The second wholly inside the first."""
    first = draw_numbers(rng, a)
    if a == "plate":
        first[2] = int(rng.integers(300, 2000))
    one = primitive_of(a, first)
    spots = _spots(rng, one)
    room = depth(one, spots)
    best = int(np.argmax(room * rng.uniform(0.5, 1.0, len(room))))
    if room[best] < 0.75:
        return None
    second = draw_numbers(rng, b, most=float(room[best]))
    two = primitive_of(b, second)
    middle, radius = ball(two)
    if radius > 0.95 * room[best]:
        return None
    turn = _turned(rng)
    return (first, second), Pose(turn, spots[best] - turn @ middle), math.nan, True


def _spots(rng: np.random.Generator, primitive: Primitive) -> Array:
    """Points in and about a primitive, the places deepest inside among them."""
    if isinstance(primitive, TubeRun):
        places, _ = centreline(primitive)
        return places + rng.normal(size=places.shape) * 0.1 * primitive.outside
    half = np.array([support(primitive, axis) for axis in np.eye(3)])
    return rng.uniform(-1.0, 1.0, (400, 3)) * half


def _coaxial(rng: np.random.Generator, a: str, b: str) -> _Made:
    """On one axis: end before end with a known gap, or slid into each other by an unknown one."""
    first, second, one, two = _both(rng, a, b)
    if isinstance(one, Plate) and one.openings and rng.random() < 0.7:
        return _before_opening(rng, (first, second), one, two)
    gap = float(rng.choice([0.0, _gap(rng)]))
    if rng.random() < 0.25:
        spin = about_z(float(rng.uniform(-180.0, 180.0)))
        slid = Pose.at((0.0, 0.0, float(rng.uniform(-60.0, 60.0))))
        return (first, second), compose(along(two).inverse, spin, slid, along(one)), math.nan, False
    on = draw_feature(rng, one, lambda f: f.flat and (f.axial or isinstance(one, Prism)))
    put = draw_feature(rng, two, lambda f: f.flat and (f.axial or isinstance(two, Prism)))
    if on is None or put is None or (gap < 0.0 and not _reaches_in(one, on, -gap)):
        return None
    return (first, second), _mated(rng, on, put, gap), gap, False


def _before_opening(
    rng: np.random.Generator, numbers: tuple[list[int], list[int]], sheet: Plate, two: Primitive
) -> _Made:
    """A round end in front of a round hole, on its axis: the gap to the rim is known."""
    round_holes = [opening for opening in sheet.openings if isinstance(opening, RoundOpening)]
    if not round_holes or not isinstance(two, Cylinder | TubeRun):
        return None
    radius = two.diameter / 2.0 if isinstance(two, Cylinder) else two.outside / 2.0 + two.deviation
    put = draw_feature(rng, two, lambda f: f.flat and f.axial)
    hole = round_holes[int(rng.integers(len(round_holes)))]
    half = np.array(sheet.size) / 2.0 - np.abs(hole.at) - hole.diameter / 2.0
    if put is None or half.min() < 0.1:
        return None
    gap = float(rng.choice([0.0, abs(_gap(rng))]))
    on = Feature(np.array([*hole.at, sheet.thickness / 2.0]), np.array([0.0, 0.0, 1.0]), True)
    # A bent tube comes back over the sheet: not known then.
    truth = math.hypot(gap, max(0.0, hole.diameter / 2.0 - radius)) if is_bar(two) else math.nan
    return numbers, _mated(rng, on, put, gap), truth, False


def _parallel(rng: np.random.Generator, a: str, b: str) -> _Made:
    """Axes parallel, edges at quarter turns, faces often level: known by the gap of the sections."""
    first, second, one, two = _both(rng, a, b)
    spin = about_z(float(rng.choice([0.0, 90.0, 180.0, 270.0, rng.uniform(-180.0, 180.0)])))
    turned = compose(
        upright(two).inverse, spin, TURNED_OVER if rng.random() < 0.5 else IDENTITY, upright(one)
    )
    origin = turned.origin.copy()
    axes = upright(one).rotation.T
    for axis in axes:
        high = support(one, axis) + support(two, turned.rotation.T @ -axis) - turned.origin @ axis
        low = -support(one, -axis) - support(two, turned.rotation.T @ axis) - turned.origin @ axis
        inside = rng.uniform(low, high)
        step = float(rng.choice([0.0, _gap(rng)]))
        origin += axis * rng.choice([inside, inside, inside, high + step, low - step, 0.0])
    put = Pose(turned.rotation, origin)
    truth = math.nan
    solid_sheets = not any(isinstance(p, Plate) and p.openings for p in (one, two))
    if solid_sheets and is_bar(one) and is_bar(two):
        truth = bars_apart(one, two, compose(upright(two), put, upright(one).inverse))
    return (first, second), put, truth, False


def _through(rng: np.random.Generator, a: str, b: str) -> _Made:
    """A bar square through an opening of a sheet, on its axis or beside it; known where it clears the
    rim, overlapping where it does not."""
    first, second, sheet, bar = _both(rng, a, b)
    if not isinstance(sheet, Plate) or not sheet.openings or (isinstance(bar, Plate) and bar.openings):
        return None
    opening = sheet.openings[int(rng.integers(len(sheet.openings)))]
    outline, radius, low, high = section(bar)
    if high - low < sheet.thickness + 0.5 or clear_of(opening, outline, radius, np.zeros(2)) < -4.7:
        return None
    aside = np.zeros(2) if rng.random() < 0.4 else rng.normal(size=2) * 0.15 * min(across(opening))
    clear = clear_of(opening, outline, radius, aside)
    ends = min(high - low - sheet.thickness, 20.0)
    height = -sheet.thickness / 2.0 - rng.uniform(0.2, 0.8) * ends - low
    put = compose(upright(bar).inverse, Pose.at((*(np.array(opening.at) + aside), height)))
    within = (np.abs(opening.at) + np.array(across(opening)) / 2.0 < np.array(sheet.size) / 2.0 - 0.1).all()
    known = bool(within) and clear >= 0.0 and is_bar(bar)
    return (first, second), put, clear if known else math.nan, False
