"""What to measure better so that a worst case is settled: the fewest lengths, tried before they are named."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from layout3d.tolerance.unknowns import Unknowns
from layout3d.words import mm
from shapes.pose import Array

#: Nobody measures closer [mm].
_CLOSEST_MM = 0.01
_MOST_LENGTHS = 3

#: Whether all is well with offsets from ``low`` to ``high`` (N,) [mm].
Holds = Callable[[Array, Array], bool]


def told_shares(unknowns: Unknowns, shares: Array, most: int = 3) -> str:
    """ "parts.left.at[0] 0.5 mm, parts.right.at[0] 0.2 mm": what matters most."""
    order = np.argsort(-shares, kind="stable").tolist()
    counted = [n for n in order if shares[n] > 1e-6]
    told = [f"{unknowns.name(n)} {mm(float(shares[n]))}" for n in counted[:most]]
    left = len(counted) - most
    return ", ".join(told) + (f" and {left} more" if left > 0 else "")


def settled_by(unknowns: Unknowns, shares: Array, missing: float, holds: Holds) -> str | None:
    """Which lengths to measure how closely, told as advice; None where no measuring helps.

    shares : (N,) what each adds to the doubt [mm]
    missing : what is missing to the rule [mm]
    holds : asked before anything is advised
    """
    order = np.argsort(-shares, kind="stable").tolist()
    for count in range(1, min(_MOST_LENGTHS, len(order)) + 1):
        for chosen in [[n] for n in order] if count == 1 else [order[:count]]:
            share = 1.0 - missing / max(float(shares[chosen].sum()), 1e-12)
            if share <= 0.0:
                continue
            low, high = unknowns.low.copy(), unknowns.high.copy()
            words = []
            for n in chosen:
                closer = math.floor(100.0 * share * max(-low[n], high[n]) + 1e-9) / 100.0
                if closer < _CLOSEST_MM:
                    break
                low[n], high[n] = max(low[n], -closer), min(high[n], closer)
                words.append(f"{unknowns.name(n)} to +- {mm(closer)}")
            if len(words) == len(chosen) and holds(low, high):
                told = " and ".join(words)
                return f"measure {told}; if what is written stands, it is settled"
    return None
