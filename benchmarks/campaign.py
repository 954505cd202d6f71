"""``python -m benchmarks.campaign``: 80,000 pairs of known gap, depth or containment, over all kinds."""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from collections.abc import Callable, Iterator

from tests.kernels.campaign import Tally, tallied
from tests.kernels.constructed import Known, draw_apart, draw_deep, draw_in_openings, draw_inside

Draw = Callable[[int, int], Iterator[Known]]
#: How the pairs are set up, how many, and the drawing of that many from a seed.
PLANS: dict[str, tuple[int, Draw]] = {
    "structured, apart or touching": (30_000, lambda count, seed: draw_apart(count, seed, structured=True)),
    "structured, overlapping": (8_000, lambda count, seed: draw_deep(count, seed, structured=True)),
    "structured, bar in an opening": (2_000, draw_in_openings),
    "random, apart": (36_000, lambda count, seed: draw_apart(count, seed, structured=False)),
    "random, overlapping deep": (2_000, lambda count, seed: draw_deep(count, seed, structured=False)),
    "random, one inside the other": (2_000, draw_inside),
}
_CHUNK = 500


def run(name: str, seed: int, share: float) -> Tally:
    """One plan, in chunks so that memory stays small."""
    count, draw = PLANS[name]
    pairs = draw(max(int(share * count), 1), seed)
    chunks = []
    while chunk := list(itertools.islice(pairs, _CHUNK)):
        chunks.append(tallied(chunk))
    return Tally(
        pairs=sum(t.pairs for t in chunks),
        wrong_signs=sum(t.wrong_signs for t in chunks),
        missed_inside=sum(t.missed_inside for t in chunks),
        gap_error_mm=max(t.gap_error_mm for t in chunks),
        depth_error_mm=max(t.depth_error_mm for t in chunks),
        understated_mm=max(t.understated_mm for t in chunks),
        wrong=tuple(pair for t in chunks for pair in t.wrong),
    )


def main() -> int:
    """Print a row a plan; exit status 1 where a sign is wrong or an error exceeds 1e-6 mm."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", type=float, default=1.0, help="of the full number of pairs")
    parser.add_argument("--plan", choices=list(PLANS), action="append", help="only this one; may be repeated")
    asked = parser.parse_args()
    print("| pairs | number | wrong signs | gap error | depth error, convex | depth understated | s |")
    print("|---|---|---|---|---|---|---|")
    failed = False
    for name in asked.plan or PLANS:
        start = time.monotonic()
        told = run(name, asked.seed, asked.share)
        errors = told.gap_error_mm, told.depth_error_mm, told.understated_mm
        shown = " | ".join(f"{error:.1e}" for error in errors)
        took = time.monotonic() - start
        print(f"| {name} | {told.pairs} | {told.wrong_signs} | {shown} | {took:.0f} |", flush=True)
        for known, measured in told.wrong[:5]:
            print(f"  {known!r}: {measured!r}")
        failed |= told.wrong_signs > 0 or max(errors) > 1e-6
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
