"""What every family of the table owes: it builds, it is described, and its parts hold together."""

from __future__ import annotations

import inspect
import re
from functools import cache
from itertools import combinations
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

import cadquery as cq
import numpy as np
import pytest
from annotated_types import Ge, Gt, Le, MinLen
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layout3d.kernels.points import distance_to
from layout3d.realise import brep
from layout3d.realise.mesh import part_meshes
from shapes import SHAPES, shape_named
from shapes.bounds import part_box
from shapes.fields import Frozen, Shape
from shapes.part import Part, Port
from shapes.patterns import G_THREAD_MAJOR_MM
from shapes.pose import IDENTITY, Array

#: Described solid by solid by its user: it has no dimensions of its own to draw or to measure.
FREE = {"custom", "import"}
#: How far below its mounting plane a hole may lie, by kind: a cooler's plane is the processor's lid,
#: and stand-offs stand only where the board that is in the case has holes.
RECESSED_MM = {"cpu": 10.0, "board": 10.0}


_PLATE_PORTS = {"in": {"face": "rear"}, "out": {"face": "front", "at": [20, 0]}}

#: Families with something added to the default part; a label of each -> family, parameters.
VARIANTS: dict[str, tuple[str, dict[str, Any]]] = {
    "radiator u3": ("radiator", {"fans": 3, "extra_port": True}),
    "radiator cross": ("radiator", {"fan_size": 140, "fans": 2, "flow": "cross", "port_face": "end"}),
    "radiator 200": ("radiator", {"fan_size": 200, "thickness": 60, "screw": "M4", "port_face": "a"}),
    "board full": (
        "motherboard",
        {"depth": 330.2, "slots": ["x16", "m2", "x4", "m2"], "cpu_plugs": 2, "fan_headers": 4},
    ),
    "card single": ("graphics_card", {"slots": 1, "openings": 7}),
    "card air": ("graphics_card", {"cooling": "air", "plug_at": 150, "cooler_reach": 20, "slots": 3}),
    "card notched": ("graphics_card", {"plug_at": 190, "terminal_at": 100, "openings": 6}),
    "bridge ends": ("card_bridge", {"end_ports": True, "slots_apart": 4}),
    "riser in slots": ("riser", {"held": "slots", "frame_slots": 4}),
    "drive 5.25": ("drive", {"size": "5.25"}),
    "drive tall": ("drive", {"height": 42, "bottom_holes": "outer"}),
    "block diagonal": ("cpu_block", {"ports_along": "diagonal", "ports_up": 5}),
    "radiator ports": (
        "radiator",
        {"fan_size": 180, "fans": 2, "far_tank": 26, "extra_ports": ["rear_a", "front_b", "front_end"]},
    ),
    "grille 3": ("grille", {"fans": 3}),
    "shroud 2": ("shroud", {"fans": 2, "fan_size": 140}),
    "gasket 3": ("gasket", {"fans": 3}),
    "filter 200": ("filter", {"fan_size": 200}),
    "pump square": ("pump", {"motor": "square", "side_inlet": True, "out_side": "rear"}),
    "reservoir held": ("tube_reservoir", {"holder": "back", "side_port": True}),
    "tower mirrored": ("case_tower", {"size": "full", "mirrored": True, "drive_cage": True, "bulkheads": 2}),
    "tower with bays": ("case_tower", {"bays": 3, "front_slots": 250, "mirrored": True, "front_middle": 208}),
    "dual mirrored": ("case_dual", {"mirrored": True, "grommets": True, "bulkheads": 1}),
    "sandwich mirrored": ("case_sandwich", {"mirrored": True}),
    "shoebox mirrored": ("case_shoebox", {"mirrored": True, "drive_cage": True, "bulkheads": 2}),
    "shoebox caged": ("case_shoebox", {"drive_cage": True, "drive_bays": 2, "bulkheads": 2}),
    "angled 45 soft": ("angled_fitting", {"angle": 45, "tube": "soft", "swing_room": True}),
    "angled fixed": ("angled_fitting", {"swivel": False, "tube_outside": 16}),
    "rotary 45": ("rotary_adapter", {"angle": 45, "swing_room": True}),
    "coupler rotary": ("male_coupler", {"rotary": True}),
    "tee on the run": ("tee", {"thread_on": "run"}),
    "valve male": ("ball_valve", {"inlet": "male"}),
    "disconnect male": ("quick_disconnect", {"inlet": "male"}),
    "drain with barb": ("drain", {"end": "barb", "end_diameter": 13}),
    "reservoir drained": ("tube_reservoir", {"drain": True, "fill_port": True, "fill_room": 80}),
    "pump flanged": ("pump", {"flange_width": 64, "cable_room": 30}),
    "pump motor": ("pump", {"with_top": False, "motor": "square"}),
    "pump top 2": ("pump_top", {"pumps": 2}),
    "bay reservoir 2": ("bay_reservoir", {"bays": 2}),
    "flat reservoir 2": ("flat_reservoir", {"height": 250, "fans": 2}),
    "fan plate 2": ("fan_plate", {"fans": 2, "fan_size": 140}),
    "pump reservoir drained": ("pump_reservoir", {"drain": True, "side_inlet": True, "motor": "square"}),
    "plate with fans": ("distribution_plate", {"fans": 2, "length": 245, "ports": _PLATE_PORTS}),
    "custom post": (
        "custom",
        {
            "solids": [
                {"box": [40, 40, 20], "at": [0, 0, 10]},
                {"cylinder": {"diameter": 30, "length": 50}, "at": [0, 0, 45]},
                {
                    "plate": {"size": [90, 40], "thickness": 2, "openings": [{"round": {"diameter": 30}}]},
                    "at": [0, 0, 71],
                },
            ],
            "ports": {"out": {"at": [0, -20, 10], "facing": "window", "thread": "G1/4"}},
        },
    ),
}
FAMILIES = list(SHAPES)
MEASURED = [name for name in SHAPES if name not in FREE]
PARTS = [*SHAPES, *VARIANTS]


@cache
def built(label: str) -> Part:
    family, parameters = VARIANTS.get(label, (label, {}))
    return shape_named(family).model_validate(parameters).build()


@cache
def filled(name: str) -> list[cq.Shape]:
    """The solids as the checker sees them, made by OCCT."""
    return [brep.solid(piece.primitive, piece.solid2part, filled=True) for piece in built(name).solids]


def within(name: str, point: Array) -> bool:
    """Whether OCCT finds the point inside some solid of the part."""
    return any(solid.isInside(cq.Vector(*point), 1e-7) for shape in filled(name) for solid in shape.Solids())


def outside_point(port: Port) -> Array:
    """A place on the port's face whose outside is free: beside a male port's own thread."""
    aside = 0.0
    if port.male:
        aside = G_THREAD_MAJOR_MM[port.thread or ""] / 2 + 0.5
    return port.port2part.origin + aside * port.port2part.x_axis


@pytest.mark.parametrize("name", FAMILIES)
def test_valid_with_no_arguments_and_described(name):
    shape = shape_named(name)
    assert isinstance(built(name), Part)
    told = inspect.getdoc(shape) or ""
    assert "origin" in told.lower()
    assert re.search(r"\bz\b|\baxes\b", told)
    with pytest.raises(ValueError, match="frozen"):
        shape().build_nothing = 1  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", FAMILIES)
def test_every_parameter_says_what_it_is_and_where_its_default_is_from(name):
    for key, field in shape_named(name).model_fields.items():
        assert field.description, key
        assert isinstance(field.json_schema_extra, dict), key
        assert field.json_schema_extra["unit"] in {"mm", "deg", ""}, key
        assert field.json_schema_extra["source"], key
        if field.json_schema_extra["unit"]:
            assert any(isinstance(limit, Le) for limit in field.metadata), key


@pytest.mark.parametrize("name", PARTS)
def test_ports_lie_on_the_surface_and_face_outward(name):
    part = built(name)
    for port_name, port in part.ports.items():
        at, out = outside_point(port), port.port2part.z_axis
        assert within(name, at - 0.1 * out), port_name
        assert not within(name, at + 0.1 * out), port_name


@pytest.mark.parametrize("name", PARTS)
def test_mounting_holes_lie_on_the_part(name):
    for mount_name, mount in built(name).mounts.items():
        for row, holes in mount.rows.items():
            for hole in holes:
                at = mount.mount2part.apply(np.array((*hole.at, 0.0)))
                out = mount.mount2part.z_axis
                below = np.arange(0.1, RECESSED_MM.get(mount.kind, 0.1) + 0.05, 1.0)
                assert any(within(name, at - depth * out) for depth in below), (mount_name, row, hole.at)
                assert not within(name, at + 0.1 * out), (mount_name, row, hole.at)


@pytest.mark.parametrize("name", PARTS)
def test_mounts_and_bores_name_what_exists(name):
    part = built(name)
    names = [solid.name for solid in part.solids]
    assert len(set(names)) == len(names)
    for bore in part.bores:
        assert set(bore.into) <= set(names)
    for mount_name, mount in part.mounts.items():
        if mount.opposite:
            assert part.mounts[mount.opposite].opposite == mount_name
            assert part.mounts[mount.opposite].kind == mount.kind
        if mount.row_of in part.mounts:
            assert part.mounts[mount.row_of].kind == mount.kind


@pytest.mark.parametrize("name", PARTS)
def test_solids_of_a_part_touch_but_do_not_overlap(name):
    # OCCT's common volume of the solids as exported: a barb stands in its bored collar.
    shapes = brep.part_solids(built(name), IDENTITY)
    for (one, _, first), (other, _, second) in combinations(shapes, 2):
        if not boxes_meet(first.BoundingBox(), second.BoundingBox()):
            continue
        assert first.intersect(second).Volume() < 1e-6, (one, other)


def boxes_meet(a: cq.BoundBox, b: cq.BoundBox) -> bool:
    return all(
        getattr(a, f"{axis}min") < getattr(b, f"{axis}max")
        and getattr(b, f"{axis}min") < getattr(a, f"{axis}max")
        for axis in "xyz"
    )


@pytest.mark.parametrize("name", PARTS)
def test_brep_and_mesh_agree_on_every_volume(name):
    exact = brep.part_solids(built(name), IDENTITY)
    # A facet 0.001 mm off a round of 3 mm radius takes 0.05 % of it.
    meshes = part_meshes(built(name), tolerance_mm=0.001)
    assert [solid.name for solid in meshes] == [solid for solid, _, _ in exact]
    for mesh, (solid, look, shape) in zip(meshes, exact, strict=True):
        assert shape.isValid(), solid
        assert mesh.look == look
        assert mesh.mesh.volume == pytest.approx(shape.Volume(), rel=1e-3), solid


@pytest.mark.parametrize("name", [*MEASURED, *VARIANTS])
def test_bounds_are_those_of_the_solids(name):
    boxes = [shape.BoundingBox() for shape in filled(name)]
    low, high = part_box(built(name), IDENTITY)
    for axis, least, most in zip("xyz", low, high, strict=True):
        assert least == pytest.approx(min(getattr(box, f"{axis}min") for box in boxes), abs=1e-5)
        assert most == pytest.approx(max(getattr(box, f"{axis}max") for box in boxes), abs=1e-5)


def parameters(name: str) -> st.SearchStrategy[dict[str, Any]]:
    """Up to three parameters anywhere in their ranges, the others at their defaults."""
    fields = shape_named(name).model_fields
    drawn = {key: drawn_value(field.annotation, field.metadata) for key, field in fields.items()}
    keys = st.lists(st.sampled_from(sorted(fields)), unique=True, max_size=3)
    return keys.flatmap(lambda chosen: st.fixed_dictionaries({key: drawn[key] for key in chosen}))


def drawn_value(kind: Any, limits: list[Any]) -> st.SearchStrategy[Any]:
    if get_origin(kind) in (Union, UnionType):
        inner = [option for option in get_args(kind) if option is not type(None)]
        return st.one_of(st.none(), *(drawn_value(option, limits) for option in inner))
    if get_origin(kind) is Literal:
        return st.sampled_from(get_args(kind))
    if get_origin(kind) is dict:
        return st.dictionaries(st.sampled_from("abcd"), drawn_value(get_args(kind)[1], []), max_size=4)
    if isinstance(kind, type) and issubclass(kind, Frozen):
        return st.fixed_dictionaries(
            {key: drawn_value(field.annotation, field.metadata) for key, field in kind.model_fields.items()}
        )
    if kind is str:
        return st.sampled_from("abcd")
    if get_origin(kind) is tuple and Ellipsis not in get_args(kind):
        return st.tuples(*(drawn_value(inner, limits) for inner in get_args(kind)))
    if get_origin(kind) is tuple:
        fewest = next((limit.min_length for limit in limits if isinstance(limit, MinLen)), 0)
        return st.lists(drawn_value(get_args(kind)[0], limits), min_size=fewest, max_size=8).map(tuple)
    if hasattr(kind, "__metadata__"):
        return drawn_value(get_args(kind)[0], limits)
    if kind is bool:
        return st.booleans()
    least = next((limit.ge for limit in limits if isinstance(limit, Ge)), -1e6)
    least = next((limit.gt for limit in limits if isinstance(limit, Gt)), least)
    most = next((limit.le for limit in limits if isinstance(limit, Le)), 1e6)
    if kind is int:
        return st.integers(least, most)
    assert kind is float, kind
    if any(isinstance(limit, Gt) for limit in limits):
        least += 0.001
    return st.floats(least, most).map(lambda value: max(round(value, 3), least))


@pytest.mark.parametrize("name", MEASURED)
@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(data=st.data())
def test_any_parameters_build_a_sound_part_or_say_what_is_wrong(name, data):
    part = part_or_refusal(shape_named(name)(**data.draw(parameters(name))))
    if isinstance(part, str):
        assert re.search(r"\d", part), part
        return
    faces = [(outside_point(port), port.port2part.z_axis) for port in part.ports.values()]
    for mount in part.mounts.values():
        if mount.kind not in RECESSED_MM:
            holes = [(*hole.at, 0.0) for row in mount.rows.values() for hole in row]
            faces += [(mount.mount2part.apply(np.array(at)), mount.mount2part.z_axis) for at in holes]
    if faces:
        at, out = (np.array(column) for column in zip(*faces, strict=True))
        assert solids_at(part, at - 0.01 * out).all()
        assert not solids_at(part, at + 0.01 * out).any()
    low, high = part_box(part, IDENTITY)
    assert solids_at(part, np.random.default_rng(1).uniform(low, high, (200, 3))).max() <= 1


def part_or_refusal(shape: Shape) -> Part | str:
    try:
        return shape.build()
    except ValueError as refused:
        if type(refused) is not ValueError:
            raise
        return str(refused)


def solids_at(part: Part, points: Array) -> Array:
    """In how many solids each point lies (N,); a barb in its bored socket aside, screw holes filled."""
    solids = [piece for piece in part.solids if piece.name != "barb"]
    depths = [distance_to(points, piece.primitive, piece.solid2part) for piece in solids]
    return (np.array(depths) < -1e-6).sum(axis=0)
