"""The ways one part could be built in: each a scene of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from layout3d.scene.model import FixedTo, PartSpec, Scene, Stack
from layout3d.scene.stacks import StackError, blows, stack_seats

#: Usual thicknesses [mm]; common practice, no source.
RADIATORS_MM = (27.0, 30.0, 38.0, 40.0, 45.0, 54.0, 60.0, 80.0, 86.0)
FANS_MM = (15.0, 25.0, 30.0, 38.0)


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to build a part in.

    thickness : None for a part that has none [mm]
    fans : "push (fans inside)" and the like, None where the part has no fans of its stack beside it
    way : "as written", "flipped", "turned 180"
    scene : the scene written that way; None where the part cannot be made so
    fault : why not
    """

    thickness: float | None
    fans: str | None
    way: str
    scene: Scene | None
    fault: str | None = None


def variants(scene: Scene, name: str) -> Iterator[Variant]:
    """Every thickness on every fan side, as the part is turned now; then its other ways round."""
    own = thickness_of(scene.parts[name])
    sides = list(_sides(scene, name))
    for thickness in _thicknesses(scene, name) or (own,):
        sized, fault = _sized(scene, name, thickness)
        for fans, stack in sides:
            yield _variant(sized, fault, thickness, fans, "as written", stack)
    written = next(fans for fans, stack in sides if stack is None)
    for way, turned in _ways(scene, name):
        yield (
            Variant(own, written, way, turned)
            if isinstance(turned, Scene)
            else Variant(own, written, way, None, turned)
        )


def thickness_of(spec: PartSpec) -> float | None:
    """The part's thickness [mm], None for a shape that has no such parameter."""
    value = getattr(spec.shape, "thickness", None)
    return float(value) if isinstance(value, float | int) else None


def group_of(scene: Scene, name: str) -> frozenset[str]:
    """The part, its stack, and everything fixed to these, directly or by others."""
    stack = scene.stack_of(name)
    group = {name} if stack is None else {part for layer in stack.layers for part in layer}
    while (
        more := {
            spec.name
            for spec in scene.parts.values()
            if spec.fixed_to is not None and spec.fixed_to.host in group
        }
        - group
    ):
        group |= more
    return frozenset(group)


def _variant(
    scene: Scene | None,
    fault: str | None,
    thickness: float | None,
    fans: str | None,
    way: str,
    stack: Stack | None,
) -> Variant:
    if scene is not None and stack is not None:
        made = restacked(scene, stack)
        scene, fault = (made, None) if isinstance(made, Scene) else (None, made)
    return Variant(thickness, fans, way, scene, fault)


def _thicknesses(scene: Scene, name: str) -> tuple[float, ...]:
    spec = scene.parts[name]
    own = thickness_of(spec)
    if own is None:
        return ()
    usual = {"radiator": RADIATORS_MM, "fan": FANS_MM}.get(spec.shape_name, ())
    return tuple(sorted({*usual, own}))


def _sized(scene: Scene, name: str, thickness: float | None) -> tuple[Scene | None, str | None]:
    """The scene with a part, and the equal ones beside it in its layer, of another thickness."""
    if thickness == thickness_of(scene.parts[name]):
        return scene, None
    stack = scene.stack_of(name)
    layer = next((each for each in stack.layers if name in each), (name,)) if stack is not None else (name,)
    changed = {}
    for each in layer:
        spec = scene.parts[each]
        if spec.shape != scene.parts[name].shape:
            continue
        try:
            written = {**spec.shape.model_dump(exclude_unset=True), "thickness": thickness}
            shape = type(spec.shape).model_validate(written)
            changed[each] = replace(spec, shape=shape, part=shape.build())
        except ValueError as error:
            return None, str(error)
    return _with_parts(scene, changed), None


def _with_parts(scene: Scene, changed: Mapping[str, PartSpec]) -> Scene:
    return replace(scene, parts=MappingProxyType({**scene.parts, **changed}))


def _sides(scene: Scene, name: str) -> Iterator[tuple[str | None, Stack | None]]:
    """Fan sides of a part in a stack, each with the stack ordered so; None for the order as it is."""
    stack = scene.stack_of(name)
    at = None if stack is None else next(n for n, layer in enumerate(stack.layers) if name in layer)
    if stack is None or at is None or at < stack.outside or blows(scene.parts[name].part):
        yield None, None
        return
    beside = [n for n in (at - 1, at + 1) if stack.outside <= n < len(stack.layers)]
    fans = [n for n in beside if blows(scene.parts[stack.layers[n][0]].part)]
    if not fans:
        yield None, None
        return
    # Air that goes out passes the inner fan first: there it pushes.
    inner, outer = ("push", "pull") if stack.air == "exhaust" else ("pull", "push")
    for label, sides in (
        (f"{inner}, fans inside", (False, True)),
        (f"{outer}, fans outside", (True, False)),
        ("push-pull", (True, True)),
    ):
        as_written = sides == (at - 1 in fans, at + 1 in fans)
        yield label, None if as_written else _ordered(stack, at, fans, sides)


def _ordered(stack: Stack, at: int, fans: list[int], sides: tuple[bool, bool]) -> Stack:
    """The stack with fans on these sides of layer ``at``; a second set is named after the first."""
    first = fans[0]
    sets = [fans[0], fans[-1] if len(fans) > 1 else None]
    layers = [n for n in range(len(stack.layers)) if n not in fans]
    place = layers.index(at)
    order: list[int | None] = [*layers]
    if sides[1]:
        order.insert(place + 1, sets[1] if sides[0] else first)
    if sides[0]:
        order.insert(place, first)

    def of(n: int | None) -> tuple[str, ...]:
        return tuple(f"{part}_more" for part in stack.layers[first]) if n is None else stack.layers[n]

    return replace(
        stack,
        layers=tuple(of(n) for n in order),
        in_rows=tuple(stack.in_rows[first if n is None else n] for n in order),
        flipped=tuple(stack.flipped[first if n is None else n] for n in order),
    )


def restacked(scene: Scene, stack: Stack) -> Scene | str:
    """The scene with one stack in another order, or why it cannot be."""
    before = {part for layer in scene.stacks[stack.name].layers for part in layer}
    parts = {name: spec for name, spec in scene.parts.items() if name not in before}
    for name in (part for layer in stack.layers for part in layer):
        parts[name] = scene.parts.get(name) or replace(scene.parts[name.removesuffix("_more")], name=name)
    try:
        seats: dict[str, FixedTo] = stack_seats(stack, {name: spec.part for name, spec in parts.items()})
    except StackError as error:
        return str(error)
    placed = {name: replace(spec, fixed_to=seats.get(name, spec.fixed_to)) for name, spec in parts.items()}
    ordered = {name: placed[name] for name in (*scene.parts, *placed) if name in placed}
    stacks = MappingProxyType({**scene.stacks, stack.name: stack})
    return replace(scene, parts=MappingProxyType(ordered), stacks=stacks)


def _ways(scene: Scene, name: str) -> Iterator[tuple[str, Scene | str]]:
    """The part with its other face to the mount, and turned on it; of a stack turned as a whole."""
    spec = scene.parts[name]
    fixed, stack = spec.fixed_to, scene.stack_of(name)
    if fixed is None:
        return
    for flip, turn in ((True, 0), (False, 180), (True, 180), (False, 90), (False, 270)):
        words = [*(["flipped"] if flip else []), *([f"turned {turn}"] if turn else [])]
        if stack is not None:
            at = next(n for n, layer in enumerate(stack.layers) if name in layer)
            if turn in (90, 270) or (flip and blows(spec.part)):
                continue
            flipped = tuple(each ^ (flip and n == at) for n, each in enumerate(stack.flipped))
            made = restacked(scene, replace(stack, flipped=flipped, turn=stack.turn + turn))
            yield " and ".join(words) + (" with its stack" if turn else ""), made
        else:
            seat = fixed.model_copy(update={"flip": fixed.flip ^ flip, "turn": fixed.turn + turn})
            yield " and ".join(words), _with_parts(scene, {name: replace(spec, fixed_to=seat)})
