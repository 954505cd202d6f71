"""What is known of a part beside its shape: price, mass, metals, where the figures come from."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

#: Metal -> its anodic index [V]: what it gives against gold in sea water. Table of MIL-STD-889 practice:
#: nickel plate, copper, brass and bronze, 18 % chromium steel, wrought aluminium other than series 2000.
METALS = MappingProxyType(
    {
        "nickel": -0.30,
        "copper": -0.35,
        "brass": -0.40,
        "bronze": -0.40,
        "stainless_steel": -0.50,
        "aluminium": -0.90,
    }
)


@dataclass(frozen=True, slots=True)
class Price:
    """An amount of money as it was written, ``amount`` a decimal number such as "89.90"."""

    amount: str
    currency: str

    def __str__(self) -> str:
        return f"{self.amount} {self.currency}"


@dataclass(frozen=True, slots=True)
class Facts:
    """``mass_g`` [g] is dry; ``metals`` are those the coolant touches, empty where nobody said.

    port_force_n, port_moment_nmm : most a tube may pull and bend at one of its ports [N], [N mm]
    """

    price: Price | None = None
    mass_g: float | None = None
    metals: tuple[str, ...] = ()
    source: str | None = None
    port_force_n: float | None = None
    port_moment_nmm: float | None = None


NO_FACTS = Facts()
