"""The caliper sheet: one page of HTML to print, a drawing for every measure."""

from __future__ import annotations

from html import escape
from typing import Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from layout3d.measuring.ends import drawn
from layout3d.measuring.measures import Sheet
from layout3d.measuring.views import drawing
from shapes import shape_named

_STYLE = """
@page { margin: 11mm }
* { box-sizing: border-box }
body { font: 10pt/1.35 system-ui, sans-serif; color: #111; margin: 0 auto; max-width: 186mm }
h1 { font-size: 17pt; margin: 0 0 2mm }
p { margin: 0 0 2mm }
.who { display: flex; gap: 6mm; margin: 3mm 0 }
.who span { flex: 1; border-bottom: 0.3mm solid #111; padding-top: 5mm; font-size: 8pt; color: #444 }
.ticks { border: 0.3mm solid #999; padding: 2mm 3mm; margin: 3mm 0 }
.ticks div { break-inside: avoid; margin: 0.6mm 0 }
.ticks b { display: inline-block; min-width: 62mm; font-weight: 600 }
.box { display: inline-block; width: 3.2mm; height: 3.2mm; border: 0.3mm solid #111; margin: 0 1mm 0 4mm }
.cards { display: grid; grid-template-columns: 1fr 1fr; gap: 3mm 4mm }
.card { break-inside: avoid; border: 0.3mm solid #999; padding: 2mm 3mm }
.card h2 { font-size: 10.5pt; margin: 0; line-height: 1.25; min-height: 10mm }
.card h2 i { font-style: normal; background: #b3261e; color: #fff; border-radius: 3mm; padding: 0 1.6mm }
.value { display: flex; align-items: flex-end; gap: 2mm; font-size: 9pt }
.value u { flex: 1; text-decoration: none; border-bottom: 0.4mm solid #111; height: 8mm }
.value small { color: #444; font-size: 8pt }
code { font-size: 8.5pt }
svg { display: block; width: 100%; height: auto }
path, circle { stroke-width: 0.22; vector-effect: none }
.sheet { fill: #eceae4; fill-rule: evenodd; stroke: #555 }
.edge, .part { fill: #c9c5bb; stroke: #555 }
.guest { fill: none; stroke: #1f5f8b; stroke-dasharray: 1.2 0.8 }
text { font: 3px system-ui, sans-serif; text-anchor: middle; dominant-baseline: central }
text.guest { fill: #1f5f8b; stroke: none }
text.view { font-size: 2.7px; fill: #444; dominant-baseline: auto }
.row { fill: none; stroke: #b3261e; stroke-width: 0.18 }
.line, .bar { stroke: #b3261e; stroke-width: 0.4; fill: none }
.arrow { fill: #b3261e }
circle.disc { fill: #b3261e; stroke: #fff }
text.disc { fill: #fff; font-weight: 700 }
"""
_HOW = (
    "Switch the computer off at the supply, pull the mains plug and let it stand before you open it. "
    "Never open a power supply. Sheet edges cut: wear gloves.",
    "Measure in millimetres, with calipers where they reach, else with a steel rule or the depth rod. Inner "
    "faces are meant unless the drawing shows the outside. Take each measure twice; write tenths.",
    "Blue dashes are what stands in the case. Drawings show a usual case and are not to scale. Where "
    "your case has no such row, write 0 for the length of its slots and leave its other lines blank.",
)


def sheet_html(sheet: Sheet, form_name: str) -> str:
    """The sheet as HTML that prints on A4 and Letter; ``form_name``: the file to copy the figures to."""
    family = shape_named(sheet.shape)
    usual = family()
    case = drawn(usual)
    cards = []
    for number, measure in enumerate(sheet.measures, 1):
        field = family.model_fields[measure.key]
        cards.append(
            f'<section class="card"><h2><i>{number}</i> {escape(_sentence(field.description or ""))}</h2>'
            f"{drawing(case, measure, str(number))}"
            f'<div class="value"><code>{measure.key}</code><u></u>mm'
            f"<small>usual {getattr(usual, measure.key):g}</small></div></section>"
        )
    title = f"Caliper sheet: {escape(sheet.called)}"
    how = "".join(f"<p>{escape(line)}</p>" for line in _HOW)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{_STYLE}</style></head>\n<body><h1>{title}</h1>{how}"
        f"<p>Then copy the figures into <code>{escape(form_name)}</code>; what is blank takes the usual "
        "value.</p>"
        '<div class="who"><span>case</span><span>measured by</span><span>date</span></div>'
        f"{_ticks(sheet)}\n<div class='cards'>\n" + "\n".join(cards) + "\n</div></body></html>\n"
    )


def _ticks(sheet: Sheet) -> str:
    family = shape_named(sheet.shape)
    rows = []
    for key in sheet.ticked:
        field = family.model_fields[key]
        if words := choices(field):
            answer = "".join(f'<span class="box"></span>{escape(_answer(word))}' for word in words)
        else:
            answer = "&emsp;________"
        rows.append(
            f"<div><b>{escape(_sentence(field.description or ''))}</b> <code>{key}</code>{answer}</div>"
        )
    return f'<div class="ticks">{"".join(rows)}</div>'


def choices(field: FieldInfo) -> tuple[str, ...]:
    """The words a parameter takes; none for a number."""
    if get_origin(field.annotation) is Literal:
        return tuple(str(word) for word in get_args(field.annotation))
    return ("true", "false") if field.annotation is bool else ()


def _answer(word: str) -> str:
    return {"true": "yes (true)", "false": "no (false)"}.get(word, word)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
