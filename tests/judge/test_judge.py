"""Our distances against OCCT's recorded ones, all of them; and a fresh 2 % asked of OCCT again.

OCCT (Open CASCADE Technology, BRepExtrema_DistShapeShape) is the outside judge; see ``occt`` for
how its answers are cross-checked, and ``record`` for how they are made anew.
"""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt

from layout3d.kernels.bodies import body
from layout3d.kernels.measure import Measured, measure_pairs
from layout3d.realise.brep import solid
from shapes.pose import IDENTITY, compose

from .features import ball, draw_numbers
from .occt import CONTACT_MM, Verdict, occt_distance, projected
from .pairs import TINY_STEPS
from .points import nearest
from .recorded import Recorded, load
from .whole_numbers import KINDS, PAIR_KINDS, primitive_of

GAP_ERROR_MM = 1e-5
EVERY_KIND = pytest.mark.parametrize("kinds", PAIR_KINDS, ids="-".join)
#: Raised by one, it asks OCCT about another share of the pairs.
SHARE = 1


def sign_of(gap_mm: float) -> int:
    return 0 if abs(gap_mm) <= CONTACT_MM else 1 if gap_mm > 0.0 else -1


def complaint(verdict: Verdict, ours: Measured, recipe: str) -> str | None:
    """What is wrong with a measured distance, None where nothing is."""
    said = f"{recipe}: judged {verdict.sign} {verdict.distance_mm!r} by {verdict.judged_by}, measured {ours}"
    if sign_of(ours.gap_mm) != verdict.sign:
        return f"wrong sign, {said}"
    known = verdict.distance_mm
    if verdict.sign >= 0:
        wrong = abs(ours.gap_mm - known) > GAP_ERROR_MM or ours.lower_mm > known + CONTACT_MM
        return f"wrong gap, {said}" if wrong else None
    if not math.isnan(known) and ours.exact:
        # The pair is known to come free by -known: the least translation is no longer. Parallel bars
        # are built with their least translation known.
        least = GAP_ERROR_MM if recipe == "parallel" else math.inf
        if not known - GAP_ERROR_MM <= ours.gap_mm <= known + least:
            return f"wrong depth, {said}"
    return None


def usable(recorded: Recorded) -> list[int]:
    return [row for row in range(len(recorded)) if not recorded.verdict(row).undecided]


def measured(recorded: Recorded, rows: list[int]) -> list[Measured]:
    pairs = []
    for row in rows:
        first, second = recorded.bodies(row)
        pairs.append((body(*first), body(*second)))
    return measure_pairs(pairs, np.full(len(pairs), np.inf), stop_when_decided=False)


@EVERY_KIND
def test_every_recorded_pair(kinds: tuple[str, str]) -> None:
    recorded = load(kinds)
    rows = usable(recorded)
    complaints = [
        f"row {row}: {found}"
        for row, ours in zip(rows, measured(recorded, rows), strict=True)
        if (found := complaint(recorded.verdict(row), ours, recorded.recipe(row)))
    ]
    assert not complaints, f"{len(complaints)} of {len(rows)}:\n" + "\n".join(complaints[:20])


@EVERY_KIND
def test_enough_pairs_of_every_sort(kinds: tuple[str, str]) -> None:
    recorded = load(kinds)
    rows = usable(recorded)
    recipes = Counter(recorded.recipe(row) for row in rows)
    assert recipes.pop("random") >= 2000
    assert recipes.total() >= 2000
    assert min(recipes.values()) >= 200
    signs = Counter(recorded.verdict(row).sign for row in rows)
    assert min(signs[1], signs[0], signs[-1]) >= 300
    steps = {round(recorded.verdict(row).distance_mm, 9) for row in rows}
    assert steps.issuperset(TINY_STEPS)


@EVERY_KIND
def test_occt_still_says_so(kinds: tuple[str, str]) -> None:
    """Never less than recorded; more only beside a bend, where OCCT is known to miss the nearest points."""
    recorded = load(kinds)
    rows = [row for row in usable(recorded) if recorded.verdict(row).fault == "none"]
    chosen = np.random.default_rng(SHARE).choice(rows, len(rows) // 50, replace=False)
    for row in chosen.tolist():
        verdict, (first, second) = recorded.verdict(row), recorded.bodies(row)
        expected = max(0.0, verdict.distance_mm) if verdict.sign >= 0 else 0.0
        said_mm, _ = occt_distance(first, second)
        if "tube" in kinds and said_mm > expected + CONTACT_MM:
            said_mm = projected(first[0], second[0], compose(second[1], first[1].inverse)).distance_mm
        assert said_mm == pytest.approx(expected, abs=CONTACT_MM), f"row {row}, {verdict}"


@pytest.mark.parametrize(
    ("wrong_by", "words"), [(2e-5, "wrong gap"), (-2e-5, "wrong gap"), (-1.0, "wrong sign")]
)
def test_a_wrong_distance_is_seen(wrong_by: float, words: str) -> None:
    recorded = load(("box", "box"))
    row = next(row for row in usable(recorded) if 0.1 < recorded.verdict(row).distance_mm < 0.9)
    (ours,) = measured(recorded, [row])
    off = Measured(ours.gap_mm + wrong_by, ours.lower_mm, None, None, ours.direction, True)
    assert complaint(recorded.verdict(row), ours, "near") is None
    assert words in (complaint(recorded.verdict(row), off, "near") or "")


@pytest.mark.parametrize("kind", KINDS)
def test_the_judges_nearest_points_against_occt(kind: str) -> None:
    rng = np.random.default_rng(SHARE)
    for _ in range(25):
        primitive = primitive_of(kind, draw_numbers(rng, kind))
        shape = solid(primitive, IDENTITY, filled=True).wrapped
        middle, radius = ball(primitive)
        points = middle + rng.normal(size=(4, 3)) * rng.choice([0.3, 1.0]) * radius
        for point, ours in zip(
            points, np.linalg.norm(nearest(primitive, points) - points, axis=1), strict=True
        ):
            vertex = BRepBuilderAPI_MakeVertex(gp_Pnt(*point.tolist())).Vertex()
            assert ours == pytest.approx(BRepExtrema_DistShapeShape(vertex, shape).Value(), abs=1e-6), (
                f"{primitive} from {point.tolist()}"
            )
