"""From saving the scene's file to the new verdict in a browser that follows it."""

from __future__ import annotations

import json
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.processes import ENVIRONMENT, ROOT

PAGE = ROOT / "preview_page"
_BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def seconds_to_verdict() -> tuple[float, float] | None:
    """Median seconds from saving the editing tower to the verdict on the screen, and to the picture.

    A radiator is slid, and slid back. None where there is no browser, or `npm ci` was not run in
    ``preview_page``.
    """
    browser = next(filter(None, map(shutil.which, _BROWSERS)), None)
    node = shutil.which("node")
    if browser is None or node is None or not (PAGE / "node_modules" / "playwright-core").is_dir():
        return None
    text = (ROOT / "scenes" / "editing_tower.yaml").read_text("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        scene, other = Path(folder, "tower.yaml"), Path(folder, "other.txt")
        scene.write_text(text, "utf-8")
        moved = text.replace("slide: 21}", "slide: 24}")
        assert moved != text
        other.write_text(moved, "utf-8")
        command = [sys.executable, "-m", "layout3d", "watch", str(scene), "--no-open"]
        with subprocess.Popen(
            command, cwd=ROOT, env=ENVIRONMENT, stdout=subprocess.PIPE, text=True
        ) as program:
            try:
                assert program.stdout is not None
                address = program.stdout.readline().split()[0]
                driving = [node, "test/timing.mjs", browser, address, str(scene), str(other)]
                done = subprocess.run(driving, cwd=PAGE, capture_output=True, text=True, check=True)
            finally:
                program.terminate()
    took = json.loads(done.stdout)
    return statistics.median(took["verdict"]) / 1e3, statistics.median(took["picture"]) / 1e3


if __name__ == "__main__":
    print(seconds_to_verdict())
