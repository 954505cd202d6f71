"""``python -m layout3d``."""

from layout3d.cli import run

run()
