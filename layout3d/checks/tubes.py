"""What is wrong with tubes themselves, and tubes that come back to themselves."""

from __future__ import annotations

from collections.abc import Iterator

from layout3d.findings import Finding
from layout3d.layout import Layout


def tube_findings(layout: Layout) -> Iterator[Finding]:
    """Findings of every tube's own path."""
    for tube in layout.tubes:
        yield from tube.findings
