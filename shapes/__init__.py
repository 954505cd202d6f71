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
        "angle_plate": "shapes.angle_plate:AnglePlate",
        "angled_fitting": "shapes.angled_fitting:AngledFitting",
        "ball_valve": "shapes.ball_valve:BallValve",
        "band_clamp": "shapes.band_clamp:BandClamp",
        "barb_fitting": "shapes.barb_fitting:BarbFitting",
        "bay_reservoir": "shapes.bay_reservoir:BayReservoir",
        "bulkhead": "shapes.bulkhead:Bulkhead",
        "card_bridge": "shapes.card_bridge:CardBridge",
        "case_dual": "shapes.case_dual:CaseDual",
        "case_sandwich": "shapes.case_sandwich:CaseSandwich",
        "case_shoebox": "shapes.case_shoebox:CaseShoebox",
        "case_tower": "shapes.case_tower:CaseTower",
        "cpu_block": "shapes.cpu_block:CpuBlock",
        "cross": "shapes.cross:Cross",
        "custom": "shapes.custom:Custom",
        "distribution_plate": "shapes.distribution_plate:DistributionPlate",
        "drain": "shapes.drain:Drain",
        "drive": "shapes.drive:Drive",
        "extender": "shapes.extender:Extender",
        "fan": "shapes.fan:Fan",
        "fan_plate": "shapes.fan_plate:FanPlate",
        "filter": "shapes.filter:Filter",
        "flat_reservoir": "shapes.flat_reservoir:FlatReservoir",
        "flow_meter": "shapes.flow_meter:FlowMeter",
        "gasket": "shapes.gasket:Gasket",
        "graphics_card": "shapes.graphics_card:GraphicsCard",
        "grille": "shapes.grille:Grille",
        "import": "shapes.imported:Import",
        "inline_pump": "shapes.inline_pump:InlinePump",
        "male_coupler": "shapes.male_coupler:MaleCoupler",
        "motherboard": "shapes.motherboard:Motherboard",
        "open_frame": "shapes.open_frame:OpenFrame",
        "plug": "shapes.plug:Plug",
        "power_supply": "shapes.power_supply:PowerSupply",
        "pump": "shapes.pump:Pump",
        "pump_reservoir": "shapes.pump_reservoir:PumpReservoir",
        "pump_top": "shapes.pump_top:PumpTop",
        "quick_disconnect": "shapes.quick_disconnect:QuickDisconnect",
        "radiator": "shapes.radiator:Radiator",
        "rigid_fitting": "shapes.rigid_fitting:RigidFitting",
        "riser": "shapes.riser:Riser",
        "rotary_adapter": "shapes.rotary_adapter:RotaryAdapter",
        "shroud": "shapes.shroud:Shroud",
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
