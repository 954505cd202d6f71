"""The order of assembly, as a list for the bench and as plain values."""

from __future__ import annotations

from operator import mul
from typing import Any

from layout3d import __version__
from layout3d.assembly.sequence import Assembly, Step, Stuck
from layout3d.assembly.ways import Leg
from layout3d.layout import Layout
from layout3d.reports.table import folded_table
from layout3d.words import direction_word, mm
from shapes.pose import DIRECTIONS, Vec3

#: A way leans to a side if it goes at least this share of its length there.
_LEAN = 0.1
_ASSUMED = (
    "Every way in was measured against all that is in place by then; parts may slide along each other.\n"
    "Tubes are set with their collars open. Turning and tilting were not tried."
)


def assembly_text(layout: Layout, assembly: Assembly) -> str:
    """The steps as a table; where some cannot be put in, who is in whose way."""
    scene = layout.scene
    name = f"{scene.title} ({scene.file})" if scene.title else scene.file
    into = f", built into {assembly.stays}" if assembly.stays is not None else ""
    rows = [
        [str(n), _verb(step), ", ".join(step.names), _way(step)] for n, step in enumerate(assembly.steps, 1)
    ]
    blocks = []
    if assembly.stuck:
        blocks.append(f"NO ORDER  {name}: these cannot be put in along straight lines")
        blocks += [_stuck(stuck) for stuck in assembly.stuck]
        if assembly.waiting:
            blocks.append("These wait for them: " + ", ".join(assembly.waiting))
        blocks.append("All else, in this order:")
    else:
        blocks.append(f"ORDER  {name}{into}")
    blocks += [folded_table(("step", "do", "what", "way"), rows), _ASSUMED]
    return "\n\n".join(blocks)


def assembly_result(layout: Layout, assembly: Assembly) -> dict[str, Any]:
    """The steps in order of putting in; ``legs`` from outside inwards, ``from`` the side each comes from."""
    return {
        "layout3d": __version__,
        "scene": layout.scene.file,
        "title": layout.scene.title,
        "stays": assembly.stays,
        "steps": [
            {
                "step": n,
                "names": list(step.names),
                "kind": step.kind,
                "legs": [{"from": _plain(leg.way), "mm": leg.far} for leg in reversed(step.legs)],
            }
            for n, step in enumerate(assembly.steps, 1)
        ],
        "stuck": [
            {
                "name": stuck.name,
                "blocked": [{"toward": _plain(way), "by": list(names)} for way, names in stuck.blocked_by],
            }
            for stuck in assembly.stuck
        ],
        "waiting": list(assembly.waiting),
    }


def step_words(step: Step) -> str:
    """One step as a sentence without its full stop: "put in board, from the window"."""
    return f"{_verb(step)} {', '.join(step.names)}, {_way(step)}"


def _verb(step: Step) -> str:
    if step.kind == "panel":
        return "close"
    return "screw in" if step.kind == "fitting" else "put in"


def _way(step: Step) -> str:
    outer, *inner = reversed(step.legs)
    between = "" if direction_word(outer.way) else "between "
    words = [f"from {between}the {_side(outer.way)}", *(f"then {_onward(leg)}" for leg in inner)]
    return ", ".join(words)


def _onward(leg: Leg) -> str:
    x, y, z = leg.way
    return f"{mm(leg.far or 0.0)} toward the {_side((-x, -y, -z))}"


def _side(way: Vec3) -> str:
    """ "window"; for a slanting way those it leans to, most first: "window and floor"."""
    shares = {word: sum(map(mul, way, axis)) for word, axis in DIRECTIONS.items()}
    leaning = sorted((word for word in shares if shares[word] > _LEAN), key=lambda word: -shares[word])
    return direction_word(way) or " and ".join(leaning)


def _stuck(stuck: Stuck) -> str:
    lines = [stuck.name]
    lines += [f"  toward the {_side(way)}: {', '.join(names)} in the way" for way, names in stuck.blocked_by]
    return "\n".join(lines)


def _plain(way: Vec3) -> list[float]:
    return [value + 0.0 for value in way]
