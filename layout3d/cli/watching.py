"""The live view, which runs until it is stopped."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from typing import Annotated

import typer

from layout3d.cli.common import ScenePath, app


@app.command()
def watch(
    scene: ScenePath,
    port: Annotated[int, typer.Option(metavar="PORT", help="Port of the page; 0: any free one.")] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open the page in the browser.")] = False,
) -> None:
    """Show the build on a page of this machine that follows the file."""
    from layout3d.exporters.lacking import needing

    with needing("watch"):
        from layout3d.live.watch import watch as follow

    def say(line: str) -> None:
        # The view goes on where nobody reads any more: `layout3d watch ... | head`.
        with contextlib.suppress(OSError):
            print(line, flush=True)

    def ready(address: str) -> None:
        say(f"{address}  (stop with Ctrl-C)")
        if not no_open and _has_screen():
            import webbrowser

            webbrowser.open(address)

    for name in ("SIGTERM", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.default_int_handler)
    follow(scene, port, say, ready)
    say("stopped")


def _has_screen() -> bool:
    """Elsewhere a text browser would take the terminal."""
    windows = sys.platform in ("win32", "darwin")
    return windows or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
