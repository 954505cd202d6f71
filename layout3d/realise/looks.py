"""What each surface word looks like: one palette for STEP, GLB and pictures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapes.part import Look
from shapes.pose import Vec3


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """Colour and finish of a surface, in the terms of glTF 2.0's metallic-roughness material.

    srgb : red, green, blue as they are seen on a screen, 0 to 1
    alpha : 1 opaque, below it what lies behind shows through
    """

    name: str
    srgb: Vec3
    alpha: float = 1.0
    roughness: float = 0.6
    metallic: float = 0.0

    @property
    def linear(self) -> Vec3:
        """The colour in linear light (IEC 61966-2-1), which glTF asks for."""
        red, green, blue = (_to_linear(value) for value in self.srgb)
        return (red, green, blue)


def _to_linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def _surface(
    name: str, colour: str, *, alpha: float = 1.0, roughness: float = 0.6, metallic: float = 0.0
) -> Surface:
    red, green, blue = (int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    return Surface(name=name, srgb=(red, green, blue), alpha=alpha, roughness=roughness, metallic=metallic)


#: Clear surfaces are dark and thin, so that the coolant and parts behind them keep their colours.
SURFACES: dict[Look, Surface] = {
    "panel": _surface("panel", "#4a4e54", roughness=0.55, metallic=0.35),
    "glass": _surface("glass", "#26343a", alpha=0.14, roughness=0.05),
    "board": _surface("board", "#24453b", roughness=0.7),
    "black": _surface("black", "#1d1f22", roughness=0.65),
    "metal": _surface("metal", "#b9bdc2", roughness=0.32, metallic=0.9),
    "copper": _surface("copper", "#c37f54", roughness=0.38, metallic=0.9),
    "plastic": _surface("plastic", "#6b6f75", roughness=0.75),
    "clear": _surface("clear", "#9fb8c2", alpha=0.28, roughness=0.08),
    "coolant": _surface("coolant", "#1f8fa8", roughness=0.25),
    "accent": _surface("accent", "#e0932f", roughness=0.5),
}

#: Rigid tube is clear, hose is dark and nearly opaque.
TUBE_SURFACES: dict[Literal["rigid", "soft"], Surface] = {
    "rigid": _surface("tube-rigid", "#7fb4c6", alpha=0.5, roughness=0.08),
    "soft": _surface("tube-soft", "#2f343b", alpha=0.92, roughness=0.7),
}
