"""Ask OCCT about every pair and keep its answers: ``python -m tests.judge.record [KIND-KIND ...]``.

Takes half an hour to an hour on one core; may be stopped at any time and goes on where it stopped. With
no names it records all pair kinds, cheap ones first; two runs with different names can share
the work. A kind whose recorded pairs are no longer those that are drawn is recorded afresh.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator

import numpy as np
import OCP

from .occt import FAULTS, judge
from .pairs import Pair, draw_pairs
from .recorded import as_columns, load, path_of, save
from .whole_numbers import PAIR_KINDS

CHUNK = 100


def main() -> None:
    """Record the kinds asked for, telling how it goes."""
    names = {f"{a}-{b}": (a, b) for a, b in PAIR_KINDS}
    parser = argparse.ArgumentParser(description="Record OCCT's verdicts of pairs of primitives.")
    parser.add_argument("kinds", nargs="*", metavar="KIND-KIND", help=f"of {', '.join(names)}; default all")
    asked = parser.parse_args().kinds or list(names)
    unknown = [name for name in asked if name not in names]
    if unknown:
        parser.error(f"unknown pair kind {unknown[0]!r}; known: {', '.join(names)}")
    for name in asked:
        started = time.monotonic()
        for done, total, told in record(names[name]):
            print(f"{name}: {done} of {total}, {time.monotonic() - started:.0f} s{told}", flush=True)


def record(kinds: tuple[str, str]) -> Iterator[tuple[int, int, str]]:
    """Judge what is not yet recorded of a kind; yields rows done, rows in all, and what was set aside."""
    pairs = draw_pairs(kinds)
    columns = _kept(kinds, pairs)
    done = len(columns["sign"]) if columns else 0
    while done < len(pairs):
        chunk = pairs[done : done + CHUNK]
        fresh = as_columns(chunk, [judge(pair) for pair in chunk])
        columns = {name: np.concatenate((columns[name], fresh[name])) for name in fresh} if columns else fresh
        done += len(chunk)
        save(kinds, f"OCP {OCP.__version__}", columns)
        counts = np.bincount(columns["fault"], minlength=len(FAULTS))
        told = [f"; {fault}: {n}" for fault, n in zip(FAULTS, counts, strict=True) if n and fault != "none"]
        yield done, len(pairs), "".join(told)


def _kept(kinds: tuple[str, str], pairs: list[Pair]) -> dict[str, np.ndarray]:
    """What is recorded, as far as it is about these very pairs."""
    if not path_of(kinds).exists():
        return {}
    columns = load(kinds).columns
    drawn = as_columns(pairs[: len(columns["sign"])], [])
    same = all(np.array_equal(columns[name], drawn[name]) for name in ("first", "second", "place", "recipe"))
    return columns if same and np.allclose(columns["pose"], drawn["pose"], atol=1e-12) else {}


if __name__ == "__main__":
    main()
