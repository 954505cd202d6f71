"""How price, mass and metals of a part are written."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Annotated

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from layout3d.scene.complaints import ChoiceError, unknown
from layout3d.scene.facts import METALS, Facts, Price
from shapes.fields import Frozen

_AMOUNT = r"\d{1,9}(?:\.\d{1,2})?"
_CURRENCY = r"[A-Z]{3}|[€$£¥]"
_PRICE = rf"(?P<amount>{_AMOUNT}) ?(?P<currency>{_CURRENCY})"
_PRICE_FIRST = rf"(?P<currency>{_CURRENCY}) ?(?P<amount>{_AMOUNT})"
_MASS = r"(?P<amount>\d{1,9}(?:\.\d+)?) ?(?P<unit>g|kg)"
_GRAMS = MappingProxyType({"g": 1.0, "kg": 1000.0})
_FORCE = r"(?P<amount>\d{1,6}(?:\.\d+)?) ?N"
_MOMENT = r"(?P<amount>\d{1,6}(?:\.\d+)?) ?(?P<unit>N ?mm|N ?m)"


def _price(value: object) -> Price:
    if isinstance(value, str):
        found = re.fullmatch(_PRICE, value.strip()) or re.fullmatch(_PRICE_FIRST, value.strip())
        if found is not None:
            return Price(found["amount"], found["currency"])
        if re.search(r"\d,\d", value):
            raise ValueError(f"decimal comma in {value!r}: write a point, {value.replace(',', '.')}")
    raise ValueError(f"expected a price with its currency, such as 89.90 EUR, got {value!r}")


def _mass(value: object) -> float:
    if isinstance(value, str) and (found := re.fullmatch(_MASS, value.strip())):
        grams = float(found["amount"]) * _GRAMS[found["unit"]]
        if 0.0 < grams <= 1e6:
            return grams
        raise ValueError(f"expected a mass above 0 and at most 1000 kg, got {value!r}")
    raise ValueError(f"expected a mass with its unit, such as 850 g or 1.2 kg, got {value!r}")


def _force(value: object) -> float:
    if isinstance(value, str) and (found := re.fullmatch(_FORCE, value.strip())):
        return float(found["amount"])
    raise ValueError(f"expected a force with its unit, such as 15 N, got {value!r}")


def _moment(value: object) -> float:
    if isinstance(value, str) and (found := re.fullmatch(_MOMENT, value.strip())):
        return float(found["amount"]) * (1.0 if found["unit"].endswith("mm") else 1000.0)
    raise ValueError(f"expected a moment with its unit, such as 0.5 Nm or 500 Nmm, got {value!r}")


def _metal(value: object) -> object:
    if isinstance(value, str) and value not in METALS:
        raise ChoiceError(unknown("metal", value, METALS), METALS)
    return value


PriceText = Annotated[
    Price,
    PlainValidator(_price),
    WithJsonSchema({"type": "string", "pattern": f"^{_AMOUNT} ?({_CURRENCY})$"}),
]
MassText = Annotated[
    float, PlainValidator(_mass), WithJsonSchema({"type": "string", "pattern": r"^\d+(\.\d+)? ?(g|kg)$"})
]
ForceText = Annotated[
    float, PlainValidator(_force), WithJsonSchema({"type": "string", "pattern": r"^\d+(\.\d+)? ?N$"})
]
MomentText = Annotated[
    float, PlainValidator(_moment), WithJsonSchema({"type": "string", "pattern": r"^\d+(\.\d+)? ?N ?m?m$"})
]
Metal = Annotated[str, BeforeValidator(_metal), WithJsonSchema({"enum": list(METALS)})]


class FactKeys(Frozen):
    """Keys of a part that its shape does not need."""

    price: Annotated[PriceText | None, Field(description="what one costs, such as 89.90 EUR")] = None
    mass: Annotated[MassText | None, Field(description="what one weighs dry, such as 850 g or 1.2 kg")] = None
    metals: Annotated[tuple[Metal, ...], Field(description="metals that the coolant touches")] = ()
    source: Annotated[str | None, Field(description="where the figures come from")] = None
    port_force: Annotated[
        ForceText | None, Field(description="most a tube may pull or push at one of its ports, such as 15 N")
    ] = None
    port_moment: Annotated[
        MomentText | None, Field(description="most a tube may bend at one of its ports, such as 0.5 Nm")
    ] = None

    def facts(self) -> Facts:
        """The keys as a value."""
        return Facts(self.price, self.mass, self.metals, self.source, self.port_force, self.port_moment)
