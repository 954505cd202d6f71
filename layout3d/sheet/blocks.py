"""What a sheet is made of: plain values that the PDF and the HTML writer both set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

Severity: TypeAlias = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    kind : "number" is set to the right, "blank" is a box to write in, "tick" one to tick; only
        "text" and "number" take a cell of each row
    wide : takes what room the others leave
    """

    head: str
    kind: Literal["text", "number", "blank", "tick"] = "text"
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph."""

    text: str
    strong: bool = False
    kind: Literal["text"] = "text"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text; a line break in a cell is one on paper."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    kind: Literal["table"] = "table"


@dataclass(frozen=True, slots=True)
class Points:
    """A list, each item a word or two set strong, then the rest."""

    items: tuple[tuple[str, str], ...]
    kind: Literal["points"] = "points"


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbered steps with a box to tick, each a thing to do and how."""

    items: tuple[tuple[str, str], ...]
    kind: Literal["steps"] = "steps"


@dataclass(frozen=True, slots=True)
class Told:
    """A finding: how bad, what, and what mends it."""

    severity: Severity
    rule: str
    message: str
    remedy: str
    place: str


@dataclass(frozen=True, slots=True)
class Findings:
    """Findings in report order."""

    items: tuple[Told, ...]
    kind: Literal["findings"] = "findings"


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG drawing with what stands under it; ``alt`` says what there is to see."""

    svg: str
    caption: str
    alt: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures two side by side."""

    items: tuple[Picture, ...]
    kind: Literal["pictures"] = "pictures"


@dataclass(frozen=True, slots=True)
class Plan:
    """A drawing that prints true to size, ``width_mm`` by ``height_mm``."""

    title: str
    svg: str
    width_mm: float
    height_mm: float
    caption: str
    alt: str
    kind: Literal["plan"] = "plan"


@dataclass(frozen=True, slots=True)
class Blanks:
    """Lines to write on, each with what belongs there."""

    labels: tuple[str, ...]
    kind: Literal["blanks"] = "blanks"


Block: TypeAlias = Text | Table | Points | Steps | Findings | Pictures | Plan | Blanks


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it.

    true_size : its pages carry the check rulers, and nothing else stands on them
    """

    title: str
    blocks: tuple[Block, ...]
    new_page: bool = False
    true_size: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """All of it. ``banner`` stands at the head of every page, empty where the layout is clear.

    rulers : along the page's width and its height, 100 mm each
    """

    title: str
    source: str
    verdict: str
    banner: str
    sections: tuple[Section, ...]
    rulers: tuple[Plan, Plan]
