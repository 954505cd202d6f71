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
    both_sides : an open sheet, seen from its back too
    """

    name: str
    srgb: Vec3
    alpha: float = 1.0
    roughness: float = 0.6
    metallic: float = 0.0
    both_sides: bool = False

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


#: Clear surfaces are thin, so that the coolant and parts behind them keep their colours. Metals are
#: not fully metallic: viewers without surroundings to mirror would show them black.
SURFACES: dict[Look, Surface] = {
    "panel": _surface("panel", "#5f656d", roughness=0.6, metallic=0.15),
    "glass": _surface("glass", "#3a4a52", alpha=0.1, roughness=0.05),
    "board": _surface("board", "#23564a", roughness=0.65),
    "black": _surface("black", "#3a3d42", roughness=0.55),
    "metal": _surface("metal", "#b4b9bf", roughness=0.36, metallic=0.55),
    "copper": _surface("copper", "#d98f60", roughness=0.35, metallic=0.5),
    "plastic": _surface("plastic", "#8b9098", roughness=0.6),
    "clear": _surface("clear", "#b8d0d8", alpha=0.22, roughness=0.08),
    "coolant": _surface("coolant", "#1899b5", roughness=0.25),
    "accent": _surface("accent", "#ee9a32", roughness=0.45),
}

#: Rigid tube is clear, hose is dark and opaque.
TUBE_SURFACES: dict[Literal["rigid", "soft"], Surface] = {
    "rigid": _surface("tube-rigid", "#b8d0d8", alpha=0.22, roughness=0.06),
    "soft": _surface("tube-soft", "#45494f", roughness=0.7),
}
