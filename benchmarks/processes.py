"""Whole processes: cold start against a rival command, and peak memory."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parent.parent
#: As on a user's machine, where compiled modules are kept from the first run on.
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
CHECK = (sys.executable, "-m", "layout3d", "check", "scenes/editing_tower.yaml")
RIVAL = (sys.executable, "-c", "import cadquery")


def seconds(command: Sequence[str]) -> float:
    """Wall-clock seconds of one run."""
    start = time.perf_counter()
    subprocess.run(command, cwd=ROOT, env=ENVIRONMENT, capture_output=True, check=True)
    return time.perf_counter() - start


def alternating(first: Sequence[str], second: Sequence[str], runs: int = 9) -> tuple[float, float]:
    """Median seconds of two commands run in turn, one warm-up each."""
    times: tuple[list[float], list[float]] = ([], [])
    for run in range(runs + 1):
        for command, kept in zip((first, second), times, strict=True):
            took = seconds(command)
            if run:
                kept.append(took)
    return statistics.median(times[0]), statistics.median(times[1])


def peak_megabytes(command: Sequence[str]) -> float | None:
    """Peak resident memory of one run, None where the platform does not tell."""
    probe = (
        "import resource, subprocess, sys\n"
        "subprocess.run(sys.argv[1:], capture_output=True)\n"
        "peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss\n"
        "print(peak / (1e6 if sys.platform == 'darwin' else 1e3))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", probe, *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return float(done.stdout) if done.returncode == 0 else None
