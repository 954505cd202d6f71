"""The command line: what starts the process, and the commands by what they are for.

Only this package prints and exits. Exit status: 0 no error stands, 1 at least one does, 2 the
scene cannot be read or the request makes no sense.
"""

from __future__ import annotations

import gc
import os
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn

from layout3d.errors import LayoutError, RequestError


def run() -> NoReturn:
    """The process: ``main``, then out at once.

    Nothing is left open then, and taking every loaded module apart first would cost a tenth of a
    whole check.
    """
    # What a start makes stays: to look through it for waste took a tenth of a whole check.
    gc.set_threshold(100_000, 50, 50)
    status: object = 0
    try:
        main()
    except SystemExit as end:
        status = end.code
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:  # nobody reads any more: `layout3d check ... | head`
        status = 1
    os._exit(status if isinstance(status, int) else 0 if status is None else 1)


def main() -> None:
    """The command line: reports what went wrong in words, exit status 2, never a traceback."""
    # Our arrays are small: starting OpenBLAS's threads would cost more than they ever save.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Nor do our models want other distributions' plugins, or the search for them at every start.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        _refuse_foreign_shapes()
        from layout3d.cli.commands import app

        app()
    except LayoutError as error:
        print(_folded(str(error)), file=sys.stderr)
        sys.exit(2)


def _folded(text: str) -> str:
    """Each line within a usual window, what goes on indented."""
    from textwrap import fill

    lines = text.splitlines()
    return "\n".join(
        fill(line, 100, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        for line in lines
    )


def _refuse_foreign_shapes() -> None:
    """Another distribution may have put a package of this plain name before ours."""
    found = find_spec("shapes")
    origin = None if found is None or found.origin is None else Path(found.origin)
    if origin is None or origin.parent.parent != Path(__file__).parent.parent.parent:
        raise RequestError(
            f"the package `shapes` found at {origin} is not layout3d's: install layout3d into an "
            "environment of its own (python -m venv)"
        )
