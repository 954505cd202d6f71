"""The share of builds that clear, as text and as plain values."""

from __future__ import annotations

import textwrap
from typing import Any

from layout3d.tolerance.odds import CONFIDENCE, Odds

_WIDTH = 100


def odds_text(odds: Odds) -> str:
    """The share, how sure it is, and what fails how often."""
    lines = textwrap.wrap(
        f"odds: {odds.clear} of {odds.draws} builds clear, {_percent(odds.share)}; with "
        f"{100.0 * CONFIDENCE:.0f} % confidence {_percent(odds.low)} to {_percent(odds.high)} of all builds "
        f"would (every length drawn evenly and by itself within its tolerance, seed {odds.seed})",
        _WIDTH,
        subsequent_indent="  ",
    )
    for failing in odds.failures:
        share = _percent(failing.count / odds.draws)
        lines.append(f"  {failing.rule}: {' and '.join(failing.parts)} in {failing.count} of them, {share}")
    return "\n".join(lines)


def odds_result(odds: Odds) -> dict[str, Any]:
    """The share and its interval, and each failure with its count."""
    return {
        "draws": odds.draws,
        "seed": odds.seed,
        "clear": odds.clear,
        "share": odds.share,
        "confidence": CONFIDENCE,
        "share_low": odds.low,
        "share_high": odds.high,
        "failures": [
            {"rule": failing.rule, "parts": list(failing.parts), "count": failing.count}
            for failing in odds.failures
        ],
    }


def _percent(share: float) -> str:
    return f"{100.0 * share:.2f} %"
