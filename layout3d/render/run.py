"""Starts the rendering child, and another where one cannot get graphics."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from typing import Any

#: Names the class of window VTK makes; without it VTK looks for itself.
_WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
_EGL, _SOFTWARE = "vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"
#: A child that says nothing for so long will not say anything [s].
_SILENCE_S = 240.0
_INSTALL = (
    "install a graphics library: on Debian and Ubuntu the system packages libgl1 and libegl1, or libosmesa6"
)


class NoPictures(Exception):
    """Pictures cannot be had here; the message says why, and what would help."""


def rendered(request: Mapping[str, Any], done: Callable[[int], None]) -> None:
    """Let a child render what is asked; ``done`` is told the number of each view that is ready.

    Raises NoPictures where no way of rendering works.
    """
    why = ""
    for way in _ways(sys.platform, os.environ):
        why, final = _tried(request, way, done)
        if not why:
            return
        if final:
            raise NoPictures(why)
    help_ = f"; {_INSTALL}" if sys.platform.startswith("linux") else ""
    raise NoPictures(f"{why}{help_}")


def _ways(platform: str, environment: Mapping[str, str]) -> Iterator[str | None]:
    """Windows to try: the user's wish alone; else VTK's choice, the card without a screen, software."""
    if environment.get(_WINDOW):
        yield None
    elif not platform.startswith("linux"):
        yield from (None, _SOFTWARE)
    elif environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY"):
        yield from (None, _EGL, _SOFTWARE)
    else:
        yield from (_EGL, _SOFTWARE)


def _tried(request: Mapping[str, Any], way: str | None, done: Callable[[int], None]) -> tuple[str, bool]:
    """Why this way did not work, empty where it did; and whether no other way can."""
    environment = {**os.environ, **({_WINDOW: way} if way is not None else {})}
    command = [sys.executable, "-m", "layout3d.render.child"]
    try:
        with subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment
        ) as child:
            return _heard(child, request, done)
    except OSError as error:
        return f"no process could be started: {error.strerror}", True


def _heard(
    child: subprocess.Popen[bytes], request: Mapping[str, Any], done: Callable[[int], None]
) -> tuple[str, bool]:
    assert child.stdin is not None
    assert child.stdout is not None
    watch = threading.Timer(_SILENCE_S, child.kill)
    watch.start()
    left = len(request["views"])
    try:
        child.stdin.write(json.dumps(request).encode())
        child.stdin.close()
        for line in child.stdout:
            watch.cancel()
            watch = threading.Timer(_SILENCE_S, child.kill)
            watch.start()
            # Libraries may print what they like; only our own lines count.
            answer = _answer(line)
            if "problem" in answer:
                return str(answer["problem"]), bool(answer.get("lacking"))
            if "done" in answer:
                left -= 1
                done(int(answer["done"]))
    except BrokenPipeError:
        pass  # it crashed before it read
    except BaseException:
        child.kill()
        raise
    finally:
        watch.cancel()
    status = child.wait()
    return ("", False) if left == 0 else (f"the process that renders ended with status {status}", False)


def _answer(line: bytes) -> dict[str, Any]:
    try:
        answer = json.loads(line)
    except ValueError:
        return {}
    return answer if isinstance(answer, dict) else {}
