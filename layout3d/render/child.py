"""The child process: renders a build from several sides and writes the pictures.

``python -m layout3d.render.child``: a JSON object on standard input. Without a graphics library this
process crashes; whoever started it goes on without.
"""

from __future__ import annotations

import json
import sys
from typing import Any

import numpy as np


def main() -> None:
    """Answer one request: a JSON line when graphics were had, one for each picture, one for a problem."""
    asked = json.load(sys.stdin)
    _crash_quietly()
    try:
        from layout3d.render.overlay import Overlay
        from layout3d.render.stage import FINER, Stage, is_blank, probe, save
    except ImportError as error:
        return _say({"problem": f"the library VTK does not load ({error})", "lacking": True})
    probe()
    _say({"ready": True})
    size = (asked["size"][0], asked["size"][1])
    stage = Stage(size)
    with np.load(asked["arrays"], allow_pickle=False) as arrays:
        for number, look in enumerate(asked["bodies"]):
            stage.add(arrays, number, look)
        stage.shade_ground(arrays["low"], arrays["high"])
    overlay = Overlay(stage.renderer, FINER, size[1] / 1200.0)
    for number, view in enumerate(asked["views"]):
        stage.look(view)
        overlay.show(view["pins"], view["lines"])
        picture = stage.picture()
        if is_blank(picture):
            return _say({"problem": "pictures come out blank"})
        save(picture, view["path"])
        _say({"done": number})
    return None


def _crash_quietly() -> None:
    """A crash is an answer here: no window about it on Windows, no file of memory elsewhere."""
    if sys.platform == "win32":
        import ctypes

        ctypes.windll.kernel32.SetErrorMode(0x8003)
    else:
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _say(answer: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(answer) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
