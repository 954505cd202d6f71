"""What can be placed, as text for a terminal: the families, and one of them in full."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from layout3d.errors import RequestError
from layout3d.reports.families import Parameter, mounts, parameters, ports, summary, words
from layout3d.reports.table import COLUMNS, folded_table, text_table
from layout3d.scene.complaints import unknown
from shapes import SHAPES, shape_named

_LONGEST_CELL = 24


def shapes_text() -> str:
    """Every family with the first sentence of its description."""
    return folded_table(("shape", "what it is"), [[name, summary(shape_named(name))] for name in SHAPES])


def shape_text(name: str) -> str:
    """One family: description, parameters with default, range and source, ports and mounts.

    Raises RequestError for a name that is no family.
    """
    if name not in SHAPES:
        raise RequestError(unknown("shape", name, SHAPES))
    shape = shape_named(name)
    told = parameters(shape)
    head, _, body = words(shape).partition("\n\n")
    blocks = [*_filled(f"{name}: {head}"), *_filled(body)]
    rows = [[one.name, _short(one.default), _told(one)] for one in told]
    blocks.append(folded_table(("parameter", "default", "meaning"), rows))
    blocks += [_hung(f"{one.name}: ", one.default) for one in told if _short(one.default) != one.default]
    blocks.append(
        "where the defaults come from\n"
        + "\n".join(_hung(f"{source}: ", names) for source, names in _sources(told))
    )
    part = shape().build()
    if part.ports:
        blocks.append(
            text_table(
                ("port", "opens to", "thread", "at"),
                [[one.name, one.opens, one.thread, one.at] for one in ports(part)],
            )
        )
    if part.mounts:
        held = [[one.name, one.faces, one.slides, one.rows, one.what] for one in mounts(part)]
        blocks.append(folded_table(("mount", "faces", "slides to", "rows", "takes"), held))
    if not part.ports and not part.mounts:
        blocks.append("no ports, no mounts")
    return "\n\n".join(blocks)


def _short(default: str) -> str:
    """A default as the table holds it."""
    return default if len(default) <= _LONGEST_CELL else "below"


def _told(one: Parameter) -> str:
    limits = " | ".join(one.choices) or one.limits
    return f"{one.meaning} ({limits})" if limits and one.choices != ("true", "false") else one.meaning


def _sources(told: Iterable[Parameter]) -> list[tuple[str, str]]:
    """Each source once, with the parameters whose defaults it gives."""
    names: dict[str, list[str]] = {}
    for one in told:
        names.setdefault(one.source, []).append(one.name)
    return [(source, ", ".join(given)) for source, given in names.items()]


def _hung(head: str, body: str) -> str:
    """A paragraph whose first words stand out to the left."""
    return textwrap.fill(
        head + body, COLUMNS, initial_indent="  ", subsequent_indent="      ", break_long_words=False
    )


def _filled(body: str) -> Iterable[str]:
    return (textwrap.fill(" ".join(block.split()), COLUMNS) for block in body.split("\n\n") if block.strip())
