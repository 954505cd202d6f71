"""What the tests share that drive pages in a real browser."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
NPM = shutil.which("npm")
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)

needs_npm = pytest.mark.skipif(NPM is None, reason="npm is not installed")
in_browser = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")


@pytest.fixture(scope="session")
def workshop(tmp_path_factory) -> Path:
    """A folder all test processes share: the page's source with what it is built and driven with."""
    shared = tmp_path_factory.getbasetemp()
    if os.environ.get("PYTEST_XDIST_WORKER"):
        shared = shared.parent
    return once(shared / "preview", _install)


def once(folder: Path, make: Callable[[Path], None]) -> Path:
    """``folder``, filled by whichever process comes first; the others wait for it."""
    done = folder / "done"
    try:
        folder.mkdir()
    except FileExistsError:
        until = time.monotonic() + 300.0
        while not done.exists() and time.monotonic() < until:
            time.sleep(0.1)
        assert done.exists(), f"another test process did not fill {folder.name}"
    else:
        make(folder)
        done.touch()
    return folder


def run(command: str, *arguments: str, folder: Path) -> str:
    """What a command prints; it must not fail."""
    path = shutil.which(command)
    assert path is not None
    done = subprocess.run([path, *arguments], cwd=folder, capture_output=True, text=True, timeout=280)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def _install(folder: Path) -> None:
    page = folder / "preview_page"
    shutil.copytree(ROOT / "preview_page", page, ignore=shutil.ignore_patterns("node_modules"))
    run("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--prefer-offline", folder=page)
