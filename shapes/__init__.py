"""Parametric families of parts: what a part is, with no kernel and no scene.

``SHAPES`` is the one table of what can be placed. A family's module is loaded when it is
asked for, so that checking a scene pays only for the families it uses.
"""

from __future__ import annotations

from importlib import import_module
from types import MappingProxyType

from shapes.fields import Shape

#: Name in a scene -> "module:class" of the family.
SHAPES = MappingProxyType(
    {
        "angled_fitting": "shapes.angled_fitting:AngledFitting",
        "ball_valve": "shapes.ball_valve:BallValve",
        "barb_fitting": "shapes.barb_fitting:BarbFitting",
        "bulkhead": "shapes.bulkhead:Bulkhead",
        "case_dual": "shapes.case_dual:CaseDual",
        "case_sandwich": "shapes.case_sandwich:CaseSandwich",
        "case_shoebox": "shapes.case_shoebox:CaseShoebox",
        "case_tower": "shapes.case_tower:CaseTower",
        "cpu_block": "shapes.cpu_block:CpuBlock",
        "cross": "shapes.cross:Cross",
        "custom": "shapes.custom:Custom",
        "drain": "shapes.drain:Drain",
        "drive": "shapes.drive:Drive",
        "extender": "shapes.extender:Extender",
        "fan": "shapes.fan:Fan",
        "flow_meter": "shapes.flow_meter:FlowMeter",
        "graphics_card": "shapes.graphics_card:GraphicsCard",
        "grille": "shapes.grille:Grille",
        "male_coupler": "shapes.male_coupler:MaleCoupler",
        "motherboard": "shapes.motherboard:Motherboard",
        "open_frame": "shapes.open_frame:OpenFrame",
        "plug": "shapes.plug:Plug",
        "power_supply": "shapes.power_supply:PowerSupply",
        "pump": "shapes.pump:Pump",
        "quick_disconnect": "shapes.quick_disconnect:QuickDisconnect",
        "radiator": "shapes.radiator:Radiator",
        "rigid_fitting": "shapes.rigid_fitting:RigidFitting",
        "rotary_adapter": "shapes.rotary_adapter:RotaryAdapter",
        "soft_fitting": "shapes.soft_fitting:SoftFitting",
        "tee": "shapes.tee:Tee",
        "temperature_plug": "shapes.temperature_plug:TemperaturePlug",
        "tube_reservoir": "shapes.tube_reservoir:TubeReservoir",
    }
)


def shape_named(name: str) -> type[Shape]:
    """The family of this name; KeyError where there is none."""
    module, _, cls = SHAPES[name].partition(":")
    found: type[Shape] = getattr(import_module(module), cls)
    return found
