"""What to install where a library of the exporters is not there."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from layout3d.errors import RequestError

_LIBRARIES = ("cadquery", "OCP", "vtkmodules", "manifold3d")


@contextlib.contextmanager
def needing(name: str) -> Iterator[None]:
    """The block imports what ``name`` needs: RequestError with what to install where it is not there."""
    try:
        yield
    except ImportError as error:
        raise _told(name, error) from error


def _told(name: str, error: ImportError) -> Exception:
    """An import that fails for any other reason is a fault of ours and stays one."""
    if "libGL" in str(error) or "libEGL" in str(error):
        return RequestError(
            f"'{name}' needs a graphics library that this system lacks ({error}); "
            "on Debian and Ubuntu install the system package libgl1 (elsewhere the one that holds libGL.so.1)"
        )
    library = (error.name or "").partition(".")[0]
    if library in _LIBRARIES:
        return RequestError(
            f"'{name}' needs {library}, which is not installed or does not load ({error}); "
            "install it with: pip install '.[export]' in layout3d's folder"
        )
    return error
