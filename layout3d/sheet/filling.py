"""Coolant: how much, and the steps from an empty loop to a running one and back."""

from __future__ import annotations

from layout3d.layout import Layout, PlacedPart
from layout3d.sheet.blocks import Blanks, Block, Column, Steps, Table, Text
from layout3d.sheet.coolant import coolant_of
from layout3d.sheet.words import AIR_TEST, LEAK_TEST


def coolant_blocks(layout: Layout) -> tuple[Block, ...]:
    """What is known of the quantity, and what is not counted."""
    coolant = coolant_of(layout)
    columns = (Column("room for coolant in", wide=True), Column("mL", "number"))
    rows = [(name, f"{volume:.0f}") for name, volume in coolant.known]
    blocks: list[Block] = []
    if rows:
        rows.append(("all these together", f"{coolant.known_ml:.0f}"))
        blocks.append(Table(columns, tuple(rows)))
    blocks.append(
        Text(f"Not counted, for their room is not known: {', '.join(coolant.unknown)}. Have more at hand.")
    )
    blocks.append(Blanks(("coolant and mix", "mL filled in", "date filled")))
    return tuple(blocks)


def filling_blocks(layout: Layout) -> tuple[Block, ...]:
    """Fill, test, bleed and drain, with this layout's own names."""
    return (
        Text("Test with air", strong=True),
        Steps(AIR_TEST),
        Blanks(("pressure at the start", "pressure at the end", "minutes")),
        Text("Fill", strong=True),
        Steps(_fill(layout)),
        Text("Leak test", strong=True),
        Steps(LEAK_TEST),
        Blanks(("leak test began", "leak test ended", "joints looked at by")),
        Text("Bleed", strong=True),
        Steps(_bleed(layout)),
        Text("Drain, when the time comes", strong=True),
        Steps(_drain(layout)),
    )


def _fill(layout: Layout) -> tuple[tuple[str, str], ...]:
    tanks, pumps = _named(layout, "reservoir"), _named(layout, "pump")
    tank = f"the reservoir ({tanks})" if tanks else "the fill port"
    pump = f"The pump ({pumps})" if pumps else "The pump"
    return (
        (
            "Stand the machine upright,",
            "plug pulled, board, cards and drives without power, paper under every joint.",
        ),
        (f"Pour into {tank}", "slowly, through a funnel or a squeeze bottle, until it is nearly full."),
        (
            f"{pump} runs for seconds only,",
            "on a supply outside the machine, and never dry: stop it before the reservoir is empty.",
        ),
        ("Pour after and repeat", "until the level stays. Wipe up every drop at once."),
    )


def _bleed(layout: Layout) -> tuple[tuple[str, str], ...]:
    ports = _ports(layout)
    high = max(ports, key=lambda port: port[1], default=None)
    where = f"The highest port of this loop is {high[0]}: air gathers thereabouts. " if high else ""
    return (
        ("Run the pump slowly, then fast,", "with the fill port open and the level below its brim."),
        ("Tilt the machine", f"toward each side while it runs. {where}Stop before you open anything."),
        ("Top up", "and go on until no bubbles come back and the pump has gone quiet. Close the fill port."),
        ("Mark the level", "and look at it again after a day and after a week."),
    )


def _drain(layout: Layout) -> tuple[tuple[str, str], ...]:
    drains = _named(layout, "drain", "ball_valve")
    low = min(_ports(layout), key=lambda port: port[1], default=None)
    lowest = f"The lowest port of this loop is {low[0]}. " if low else ""
    out = (
        f"{lowest}Open {drains}"
        if drains
        else f"{lowest}There is no drain in this scene: open the lowest joint you can reach"
    )
    return (
        ("Switch off, pull the plug,", "let it cool. A towel and a bowl that holds more than was filled in."),
        ("Open the fill port", "so that air can follow."),
        ("Let it out.", f"{out}, over the bowl, with nothing electrical below."),
        ("Tilt to empty radiators and blocks;", "what is left in them runs out when fittings are loosened."),
        ("Dispose of it", "as its maker and local rules say: not all of it may go down a drain."),
    )


def _named(layout: Layout, *words: str) -> str:
    found = [
        part.name
        for part in layout.parts.values()
        if any(word in part.shape for word in words) and part.part.ports
    ]
    return ", ".join(found)


def _ports(layout: Layout) -> list[tuple[str, float]]:
    """Ports of parts that hold coolant, with their height [mm]."""

    def holds(part: PlacedPart) -> bool:
        return part.tube is None and bool(part.part.ports)

    return [
        (f"{part.name}.{port}", float(part.port2scene(port).origin[2]))
        for part in layout.parts.values()
        if holds(part)
        for port in part.part.ports
    ]
