"""``python -m benchmarks.routes``: finding rigid tubes, one among boxes and eight beside each other.

Times also as multiples of a calibration loop run beside them. Ports out of which no first bend fits are
set aside first: most ports drawn at random are such, and the search tells each at once.
"""

from __future__ import annotations

import argparse
import itertools
import math
import time

import numpy as np

from layout3d.build import build
from layout3d.scene.model import RigidTubing
from layout3d.scene.reader import parse_scene
from layout3d.tubes.request import NoRoute, RouteAnswer, RouteRequest
from layout3d.tubes.route.find import find_route
from layout3d.tubes.route.scenery import Hindrance, Scenery
from shapes.pose import DIRECTIONS, Array, Pose
from shapes.primitives import Box

TUBING = RigidTubing(kind="rigid", outside=14, inside=10, bend_radius=30, end_straight=20, between_bends=14)
SPACE = np.array([480.0, 215.0, 460.0])
WORDS = tuple(word for word in ("front", "rear", "roof", "floor", "tray", "window"))
BEND_COST, GAP = 40.0, 4.0


def calibration() -> float:
    """Seconds of a fixed piece of work of the kind the search does: short numpy calls and plain Python."""
    start = time.perf_counter()
    values = np.linspace(0.0, 1.0, 300)
    for _ in range(2000):
        values = np.sqrt(values * values + 1e-9)
    return time.perf_counter() - start


def singles(pairs: int, seed: int) -> None:
    """One tube at a time among 150 boxes."""
    rng = np.random.default_rng(seed)
    boxes = _boxes(rng, 150)
    scenery = Scenery(tuple(Hindrance(f"box{n}", *box, GAP) for n, box in enumerate(boxes)), GAP)
    times: list[float] = []
    routed = proved = certified = gaps = dead = 0
    while len(times) < pairs:
        a, b = rng.choice(len(boxes), 2, replace=False)
        mouths = _mouth(rng, boxes[a]), _mouth(rng, boxes[b])
        if math.dist(mouths[0].origin, mouths[1].origin) < 80.0:
            continue
        start = time.perf_counter()
        answer = find_route(_request(mouths), scenery)
        taken = time.perf_counter() - start
        if isinstance(answer, NoRoute) and answer.reason.startswith(("in front of", "no first bend")):
            dead += 1
            continue
        times.append(taken)
        if isinstance(answer, RouteAnswer):
            routed += 1
            proved += answer.cost_mm - answer.bound_mm <= 0.01
            gaps += 0.01 < answer.cost_mm - answer.bound_mm <= 0.01 * answer.cost_mm
        else:
            certified += answer.proved
    unrouted = len(times) - routed
    print(f"single, {len(times)} live pairs ({dead} pairs with a dead port set aside)")
    print(f"  routed {routed}, of these proved within 0.01 mm {proved}, gap at most 1 % {gaps}")
    print(f"  not routed {unrouted}, of these proved impossible in the class {certified}")
    _print_times(times)


def _boxes(rng: np.random.Generator, count: int) -> list[tuple[Box, Pose]]:
    sizes = rng.uniform(5.0, 45.0, (count, 3))
    return [(Box(tuple(size.tolist())), Pose.at(rng.uniform(0.0, 1.0, 3) * SPACE)) for size in sizes]


def _mouth(rng: np.random.Generator, placed: tuple[Box, Pose]) -> Pose:
    box, pose = placed
    way = np.array(DIRECTIONS[WORDS[rng.integers(6)]])
    return Pose.facing(pose.origin + way * (0.5 * np.array(box.size) + GAP + 8.0), way)


def _request(mouths: tuple[Pose, Pose]) -> RouteRequest:
    return RouteRequest(
        name="tube",
        tubing=TUBING,
        mouths=mouths,
        near=((), ()),
        angles=(45.0, 90.0),
        directions="case",
        bend_cost=BEND_COST,
        most_bends=4,
    )


def eights(count: int, seed: int) -> None:
    """Eight tubes at once, each of which has a hidden run clear of the other seven."""
    rng = np.random.default_rng(seed)
    times: list[float] = []
    shares: list[float] = []
    solved = dearer = 0
    for _ in range(count):
        runs = _planted(rng)
        text = _scene(runs)
        scene = parse_scene(text, "eight.yaml")
        start = time.perf_counter()
        layout = build(scene)
        times.append(time.perf_counter() - start)
        costs = [tube.search.cost_mm for tube in layout.tubes if tube.search and tube.run]
        bounds = [tube.search.bound_mm for tube in layout.tubes if tube.search and tube.run]
        if len(costs) < len(runs):
            continue
        solved += 1
        total = sum(cost for cost in costs if cost is not None)
        dearer += total > sum(cost for *_, cost in runs) + 0.05
        shares.append(total / sum(bound for bound in bounds if bound is not None))
    print(f"eight jointly, {count} planted: solved {solved}, dearer than planted {dearer}")
    print(f"  in at most 5 s: {sum(taken <= 5.0 for taken in times)}")
    print(f"  total / sum of single bounds: median {np.median(shares):.4f}, most {max(shares):.4f}")
    _print_times(times)


_Planted = tuple[Array, str, Array, str, float]


def _planted(rng: np.random.Generator) -> list[_Planted]:
    runs: list[_Planted] = []
    lines: list[Array] = []
    while len(runs) < 8:
        words = [WORDS[rng.integers(6)]]
        for _ in range(int(rng.integers(2, 4))):
            square = [
                word for word in WORDS if not np.any(np.array(DIRECTIONS[word]) * DIRECTIONS[words[-1]])
            ]
            words.append(square[rng.integers(4)])
        ways = [np.array(DIRECTIONS[word]) for word in words]
        tangents = [30.0, *[60.0] * (len(ways) - 2), 30.0]
        legs = [
            20.0 + tangents[0] + rng.uniform(0, 60),
            *rng.uniform(75, 150, len(ways) - 2),
            50.0 + rng.uniform(0, 60),
        ]
        corners = np.cumsum(
            [rng.uniform(0.0, 1.0, 3) * 90.0, *(s * w for s, w in zip(legs, ways, strict=True))], 0
        )
        line = _sampled(corners)
        # Sharp corners reach further out than the bends they stand for, so what is told apart is.
        if any(
            np.sqrt(((line[:, None] - other) ** 2).sum(-1).min()) < 14.0 + 3.0 + 12.0 + 4.0 for other in lines
        ):
            continue
        if _meets_itself(corners):
            continue
        lines.append(line)
        bends = len(ways) - 1
        length = sum(legs) - bends * (2.0 - math.pi / 2.0) * 30.0
        back = next(word for word in WORDS if np.allclose(DIRECTIONS[word], -ways[-1]))
        runs.append((corners[0], words[0], corners[-1], back, length + BEND_COST * bends))
    return runs


def _sampled(corners: Array) -> Array:
    parts = [a + np.linspace(0.0, 1.0, 40)[:, None] * (b - a) for a, b in itertools.pairwise(corners)]
    return np.vstack(parts)


def _meets_itself(corners: Array) -> bool:
    legs = [_sampled(corners[n : n + 2]) for n in range(len(corners) - 1)]
    pairs = ((a, b) for i, a in enumerate(legs) for b in legs[i + 2 :])
    return any(np.sqrt(((a[:, None] - b) ** 2).sum(-1).min()) < 35.0 for a, b in pairs)


def _scene(runs: list[_Planted]) -> str:
    head = (
        "layout3d: 1\ntubings:\n  t: {kind: rigid, outside: 14, inside: 10, bend_radius: 30, "
        "end_straight: 20, between_bends: 14}\nparts:\n"
    )
    parts, tubes = "", "tubes:\n"
    for n, (first, leave, last, back, _) in enumerate(runs):
        for name, place, word in ((f"a{n}", first, leave), (f"b{n}", last, back)):
            way = np.array(DIRECTIONS[word])
            x, y, z = (place - way).tolist()
            px, py, pz = way.tolist()
            parts += (
                f"  {name}: {{shape: custom, at: [{x:.9f}, {y:.9f}, {z:.9f}], solids: [{{box: [2, 2, 2]}}], "
                f"ports: {{p: {{at: [{px}, {py}, {pz}], facing: {word}}}}}}}\n"
            )
        tubes += f"  t{n}: {{tubing: t, from: a{n}.p, to: b{n}.p, path: auto}}\n"
    return head + parts + tubes


def _print_times(times: list[float]) -> None:
    unit = min(calibration() for _ in range(5))
    for word, value in (
        ("median", float(np.median(times))),
        ("p95", float(np.percentile(times, 95))),
        ("most", max(times)),
    ):
        print(f"  {word}: {value * 1e3:.1f} ms, {value / unit:.2f} calibration loops")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=200)
    parser.add_argument("--eights", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    singles(asked.pairs, asked.seed)
    eights(asked.eights, asked.seed)


if __name__ == "__main__":
    main()
