"""Parts built in another way: turned over, turned, with the fans on the other side, of the next size."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from layout3d.fit.variants import Variant, thickness_of, variants
from layout3d.remedies.change import Change, Effort, written
from layout3d.scene.complaints import Key
from layout3d.scene.model import Scene
from layout3d.words import mm, number


def other_ways(scene: Scene, name: str) -> Iterator[Change]:
    """Every way one part could be built in that differs from the scene in one thing; never thicker."""
    own = thickness_of(scene.parts[name])
    found = [variant for variant in variants(scene, name) if variant.scene is not None]
    as_it_is = next((variant.fans for variant in found if variant.scene is scene), None)
    for variant in found:
        made = variant.scene
        if made is None or made is scene:
            continue
        if variant.thickness != own:
            if variant.fans == as_it_is and own is not None and (variant.thickness or own) < own:
                yield _thinner(scene, name, own, variant.thickness or own, made)
        elif variant.way == "as written":
            yield Change(Effort.FAN_SIDE, 0.0, name, f"build {name} in {variant.fans}", made)
        else:
            yield _turned(scene, name, variant, made)


def _thinner(scene: Scene, name: str, own: float, thickness: float, made: Scene) -> Change:
    alike = [each for each, spec in made.parts.items() if spec.part is not scene.parts[each].part]
    who = " and ".join(alike) if len(alike) < 3 else f"{', '.join(alike[:-1])} and {alike[-1]}"
    words = f"take {who} {mm(thickness)} thick in place of {mm(own)}"
    write = written(scene, ("parts", name, "thickness"), number(thickness))
    return Change(Effort.OTHER_SIZE, own - thickness, name, words, made, MappingProxyType(write))


def _turned(scene: Scene, name: str, variant: Variant, made: Scene) -> Change:
    words = {"flipped": "turn {} over", "turned": "turn {} by"}
    first, _, rest = variant.way.partition(" ")
    told = words[first].format(name)
    if first == "turned":
        degrees, _, with_it = rest.partition(" ")
        told += f" {degrees} degrees{' ' + with_it if with_it else ''}"
    elif rest:
        told += f" and turn it by {rest.removeprefix('and turned ').replace(' with', ' degrees with')}"
        told += "" if "degrees" in told else " degrees"
    write: dict[Key, str] = {}
    before, after = scene.parts[name].fixed_to, made.parts[name].fixed_to
    if scene.stack_of(name) is None and before is not None and after is not None:
        if after.flip != before.flip:
            write |= written(scene, ("parts", name, "fixed_to", "flip"), str(after.flip).lower())
        if after.turn != before.turn:
            write |= written(scene, ("parts", name, "fixed_to", "turn"), number(after.turn))
    amount = float(sum(int(word) % 360 for word in variant.way.split() if word.isdigit()))
    return Change(Effort.OTHER_WAY_ROUND, amount, name, told, made, MappingProxyType(write))
