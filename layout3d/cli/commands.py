"""Every command, in the order that the help lists them."""

from layout3d.cli import asking, beginning, watching, writing  # noqa: F401
from layout3d.cli.common import app

__all__ = ["app"]
