"""The pages of ``docs/shapes``: one of each family with a picture, and a list of all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from layout3d.drawing.picture import part_picture
from layout3d.drawing.views import VIEWS
from layout3d.exporters.whole import write_file
from layout3d.library.shelf import built_in
from layout3d.reports.families import mounts, parameters, ports, summary, words
from shapes import SHAPES, shape_named

INDEX = "README.md"
_WRITTEN_BY = "<!-- written by `layout3d shapes --pages docs/shapes`; do not edit -->"
_PICTURE_PIXELS = 560


def write_pages(folder: Path) -> tuple[Path, ...]:
    """Write every page and picture into ``folder``; those of families that are gone go. What was written.

    RequestError where a file cannot be written.
    """
    files = pages()
    written = []
    for name, text in files.items():
        write_file(folder / name, text.encode("utf-8"))
        written.append(folder / name)
    for old in sorted(folder.iterdir()):
        if old.suffix in (".md", ".svg") and old.name not in files:
            old.unlink()
    return tuple(written)


def pages() -> dict[str, str]:
    """File name -> text of every page and picture."""
    files = {INDEX: _index()}
    for name in SHAPES:
        files[f"{name}.md"] = shape_page(name)
        if (drawing := shape_drawing(name)) is not None:
            files[f"{name}.svg"] = drawing
    return files


def shape_drawing(name: str) -> str | None:
    """The family from its corner, as it is with no parameters given; None where that has no solids."""
    part = shape_named(name)().build()
    return part_picture(name, part, VIEWS["corner"], pixels=_PICTURE_PIXELS) if part.solids else None


def shape_page(name: str) -> str:
    """The family's page."""
    shape = shape_named(name)
    head, _, body = words(shape).partition("\n\n")
    part = shape().build()
    blocks = [f"# {name}", _WRITTEN_BY, " ".join(head.split())]
    blocks += [f"![{name} seen from a corner]({name}.svg)"] if part.solids else []
    blocks += [body] if body else []
    blocks += ["## Parameters", *_parameters(name)]
    if part.mounts:
        held = [(f"`{m.name}`", f"`{m.kind}`: {m.what}", m.faces, m.slides, m.rows) for m in mounts(part)]
        blocks += ["## Mounts", _MOUNTS, _table(("mount", "takes", "faces", "`slide` to", "rows"), held)]
    if part.ports:
        opened = [(f"`{p.name}`", p.opens, p.thread, p.at) for p in ports(part)]
        blocks += ["## Ports", _table(("port", "opens to", "thread", "at, mm"), opened)]
    ready = [
        (f"`{ready}`", found.entry.label or "")
        for ready in built_in().holders
        if (found := built_in().part(ready)).entry.shape == name
    ]
    if ready:
        blocks += ["## Ready parts", "Placed by `use:` in place of `shape:`.", _table(("use", "what"), ready)]
    blocks.append(f"[All shapes]({INDEX})")
    return "\n\n".join(blocks) + "\n"


_MOUNTS = "As the part stands with no parameters given and not turned."


def _parameters(name: str) -> Iterator[str]:
    told = parameters(shape_named(name))
    if not told:
        yield "None."
        return
    rows = [
        (
            f"`{one.name}`",
            "not given" if one.default == "not given" else f"`{one.default}`",
            ", ".join(f"`{word}`" for word in one.choices) or one.limits,
            one.meaning,
            one.source,
        )
        for one in told
    ]
    yield _table(("key", "default", "range", "meaning", "source of the default"), rows)


def _index() -> str:
    rows = [(f"[`{name}`]({name}.md)", summary(shape_named(name))) for name in SHAPES]
    ready = [
        (f"`{name}`", f"[`{part.entry.shape}`]({part.entry.shape}.md)", part.entry.label or "")
        for name in built_in().holders
        for part in (built_in().part(name),)
    ]
    return (
        "\n\n".join(
            (
                "# Shapes",
                _WRITTEN_BY,
                "What can be placed by `shape:`. Each is valid with no parameters given; lengths are in mm.",
                _table(("shape", "what it is"), rows),
                "## Ready parts",
                "Usual sizes, of no maker, placed by `use:` in place of `shape:`; see "
                "[the scene file](../scene.md#parts-in-files).",
                _table(("use", "shape", "what"), ready),
            )
        )
        + "\n"
    )


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}"]
    lines += [f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in row)} |" for row in rows]
    return "\n".join(lines)
