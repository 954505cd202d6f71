"""Parts and where they go, and what is screwed into which port."""

from __future__ import annotations

from collections.abc import Iterator

from layout3d.checks.ports import mated_ports
from layout3d.layout import Layout, PlacedPart
from layout3d.scene.model import Chain, FixedTo, PartSpec, TubeSpec
from layout3d.sheet.blocks import Block, Column, Table, Text
from layout3d.words import degrees, direction_word, mm, number
from shapes.bounds import part_box
from shapes.pose import Pose, Vec3, compose

_FRAME = (
    "x runs from the rear of the case to its front, y from the window to the tray, z up, all in mm from "
    "where the scene has its origin. Slides and shifts count from the middle of the mount's slots or surface."
)


def parts_blocks(layout: Layout) -> tuple[Block, ...]:
    """Every part with how it is fixed and how far it reaches in the scene."""
    columns = (
        Column("part"),
        Column("what"),
        Column("where it goes", wide=True),
        Column("x mm", "number"),
        Column("y mm", "number"),
        Column("z mm", "number"),
        Column("in", "tick"),
    )
    rows = []
    for spec in layout.scene.parts.values():
        part = layout.parts[spec.name]
        name = f"{spec.name}\n{spec.label}" if spec.label else spec.name
        rows.append((name, _words(part.shape), _placed(layout, spec), *_spans(part)))
    return (Table(columns, tuple(rows)), Text(_FRAME))


def _spans(part: PlacedPart) -> tuple[str, str, str]:
    if not part.part.solids:
        return ("", "", "")
    low, high = part_box(part.part, part.part2scene)
    x, y, z = (f"{a:z.1f} to\n{b:z.1f}" for a, b in zip(low.tolist(), high.tolist(), strict=True))
    return (x, y, z)


def _words(shape: str) -> str:
    return shape.replace("_", " ")


def _placed(layout: Layout, spec: PartSpec) -> str:
    lines = []
    if spec.fixed_to is not None:
        lines.append(_fixed(layout, spec.fixed_to))
    elif spec.at is not None:
        turned = [f"{degrees(a)} about {axis}" for a, axis in zip(spec.rotate, "xyz", strict=True) if a]
        at = ", ".join(number(value) for value in spec.at)
        lines.append(f"stands at [{at}]" + (f", turned {', '.join(turned)}" if turned else ""))
    for off in spec.off:
        edge = "" if off.edge == "near" else f" (its {off.edge} side)"
        lines.append(f"{mm(off.gap)} off {off.face}{edge}")
    stack = layout.scene.stack_of(spec.name)
    if stack is not None:
        lines.append(f"in the stack {stack.name}")
    if spec.note:
        lines.append(spec.note)
    return "\n".join(lines)


def _fixed(layout: Layout, fixed: FixedTo) -> str:
    host = layout.parts[fixed.host]
    mount = host.part.mounts.get(fixed.place)
    words = [f"on {fixed.mount}" if mount is not None else f"screwed into {fixed.mount}"]
    if fixed.by is not None:
        words.append(f"by its {fixed.by}")
    if fixed.row is not None:
        words.append(f"row {fixed.row}")
    if mount is not None:
        mount2scene = compose(mount.mount2part, host.part2scene)
        words += _moved(mount2scene, fixed)
    if fixed.side == "outside":
        words.append("outside the sheet")
    if fixed.flip:
        words.append("turned over")
    if fixed.turn:
        words.append(f"turned {degrees(fixed.turn)}")
    if fixed.lift:
        words.append(f"{mm(fixed.lift)} off the face")
    return ", ".join(words)


def _moved(mount2scene: Pose, fixed: FixedTo) -> Iterator[str]:
    for what, by, axis in (("slide", fixed.slide, 0), ("shift", fixed.shift, 1)):
        if by:
            x, y, z = (mount2scene.rotation[:, axis] * (1.0 if by > 0.0 else -1.0)).tolist()
            yield f"{what} {mm(abs(by))} {_toward((x, y, z))}"


def _toward(way: Vec3) -> str:
    word = direction_word(way)
    return f"toward the {word}" if word else "along [" + ", ".join(number(value, 3) for value in way) + "]"


def ports_blocks(layout: Layout) -> tuple[Block, ...]:
    """What goes into each port: chains from the port outward, plugs, parts screwed in or standing on it."""
    columns = (
        Column("port"),
        Column("thread"),
        Column("what goes in, from the port outward", wide=True),
        Column("for"),
        Column("tight", "tick"),
    )
    rows = []
    for tube in layout.scene.tubes.values():
        for port, chain in zip((tube.start, tube.end), tube.fittings, strict=True):
            rows.append(
                (str(port), _thread(layout, port.part, port.port), _chain(chain), _tubing(layout, tube))
            )
    rows += [
        (str(plug), _thread(layout, plug.part, plug.port), "plug", "closed") for plug in layout.scene.plugs
    ]
    for part in layout.parts.values():
        if part.tube is None and part.screwed is not None:
            host, port_name = part.screwed.host, part.screwed.port
            what = f"{part.name} ({_words(part.shape)}), by its {part.screwed.by}"
            rows.append((f"{host}.{port_name}", _thread(layout, host, port_name), what, "a part"))
    rows += [
        (first, "", f"stands on {second}, sealed there", "a part") for first, second in mated_ports(layout)
    ]
    return (Table(columns, tuple(rows)), Table(*_counted(layout)))


def _thread(layout: Layout, part: str, port: str) -> str:
    return layout.parts[part].port(port).thread or "plain"


def _chain(chain: Chain) -> str:
    links = [
        _words(link.shape_name) + (f" turned {degrees(link.turn)}" if link.turn else "") for link in chain
    ]
    return ", then ".join(links) if links else "no fitting: the tube goes straight in"


def _tubing(layout: Layout, tube: TubeSpec) -> str:
    tubing = layout.scene.tubings[tube.tubing]
    return f"{tube.name}, {number(tubing.outside)}/{number(tubing.inside)} mm"


def _counted(layout: Layout) -> tuple[tuple[Column, ...], tuple[tuple[str, ...], ...]]:
    counts: dict[tuple[str, str], int] = {}
    for tube in layout.scene.tubes.values():
        tubing = layout.scene.tubings[tube.tubing]
        for chain in tube.fittings:
            for link in chain:
                size = f"{number(tubing.outside)}/{number(tubing.inside)} mm {tubing.kind}"
                key = (_words(link.shape_name), size if link is chain[-1] else "")
                counts[key] = counts.get(key, 0) + 1
    if layout.scene.plugs:
        counts["plug", ""] = len(layout.scene.plugs)
    columns = (
        Column("to lay out"),
        Column("for tube", wide=True),
        Column("count", "number"),
        Column("there", "tick"),
    )
    return columns, tuple((what, size, str(count)) for (what, size), count in counts.items())
