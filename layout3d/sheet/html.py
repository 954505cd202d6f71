"""The sheet as one page of HTML, to read on a screen and to print."""

from __future__ import annotations

import base64
import hashlib
from html import escape
from importlib.resources import files

from layout3d.sheet.blocks import (
    Blanks,
    Block,
    Column,
    Findings,
    Picture,
    Pictures,
    Plan,
    Points,
    Section,
    Sheet,
    Steps,
    Table,
    Text,
    Told,
)

_TICK = '<span class="box"></span>'


def html(sheet: Sheet, paper: str) -> str:
    """The document; it runs no script and fetches nothing."""
    style = (files("layout3d.sheet") / "sheet.css").read_text("utf-8").replace("\r\n", "\n")
    style = style.replace("PAPER", paper)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"
    )
    title = escape(sheet.title)
    banner = f'<p class="banner">{escape(sheet.banner)}</p>' if sheet.banner else ""
    state = "not" if sheet.banner else "clear"
    sections = "".join(_section(section, sheet) for section in sheet.sections)
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Build sheet: {title}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        f"<header><h1>Build sheet: {title}</h1><p>{escape(sheet.source)}</p></header>\n{banner}"
        f'<p class="verdict {state}">{escape(sheet.verdict)}</p>\n'
        f"<main>{sections}</main>\n</body>\n</html>\n"
    )


def _section(section: Section, sheet: Sheet) -> str:
    kinds = " ".join(word for word, on in (("new", section.new_page), ("true", section.true_size)) if on)
    banner = f'<p class="banner">{escape(sheet.banner)}</p>' if sheet.banner and section.new_page else ""
    blocks = "".join(_block(block, sheet) for block in section.blocks)
    return f'<section class="{kinds}">{banner}<h2>{escape(section.title)}</h2>{blocks}</section>\n'


def _block(block: Block, sheet: Sheet) -> str:
    match block:
        case Text():
            text = _lines(block.text)
            return f"<p><strong>{text}</strong></p>" if block.strong else f"<p>{text}</p>"
        case Table():
            return _table(block)
        case Points():
            items = "".join(f"<li><strong>{_lines(a)}</strong> {_lines(b)}</li>" for a, b in block.items)
            return f"<ul>{items}</ul>"
        case Steps():
            return f'<ol class="steps">{"".join(_step(*item) for item in block.items)}</ol>'
        case Findings():
            return f'<ol class="findings">{"".join(_finding(told) for told in block.items)}</ol>'
        case Pictures():
            return f'<div class="pictures">{"".join(_picture(picture) for picture in block.items)}</div>'
        case Plan():
            return _plan(block, sheet)
        case Blanks():
            return _blanks(block)


def _lines(text: str) -> str:
    return escape(text).replace("\n", "<br>")


def _step(what: str, how: str) -> str:
    strong = f"<strong>{_lines(what)}</strong> {_lines(how)}" if how else _lines(what)
    return f"<li>{_TICK}{strong}</li>"


def _table(table: Table) -> str:
    head = "".join(
        f'<th scope="col" class="{column.kind}{" wide" if column.wide else ""}">{_lines(column.head)}</th>'
        for column in table.columns
    )
    rows = "".join(f"<tr>{_row(table.columns, row)}</tr>" for row in table.rows)
    return f'<div class="scroll"><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'


def _row(columns: tuple[Column, ...], row: tuple[str, ...]) -> str:
    cells = iter(row)
    shown = []
    for column in columns:
        if column.kind in ("text", "number"):
            shown.append(f'<td class="{column.kind}">{_lines(next(cells))}</td>')
        else:
            shown.append(f'<td class="{column.kind}">{_TICK if column.kind == "tick" else ""}</td>')
    return "".join(shown)


def _finding(told: Told) -> str:
    cure = f"<br>{_lines('→ ' + told.remedy)}" if told.remedy else ""
    place = f" <small>{escape(told.place)}</small>" if told.place else ""
    return (
        f'<li class="{told.severity}"><strong>{told.severity.upper()} {escape(told.rule)}</strong>{place}<br>'
        f"{_lines(told.message)}{cure}</li>"
    )


def _picture(picture: Picture) -> str:
    caption = f"<figcaption>{escape(picture.caption)}</figcaption>"
    return f"<figure>{_image(picture.svg, picture.alt)}{caption}</figure>"


def _plan(plan: Plan, sheet: Sheet) -> str:
    across, upright = (_image(ruler.svg, ruler.alt) for ruler in sheet.rulers)
    return (
        f'<figure class="plan"><h3>{escape(plan.title)}</h3><div class="across">{across}</div>'
        f"{_image(plan.svg, plan.alt)}{upright}<figcaption>{escape(plan.caption)}</figcaption></figure>"
    )


def _image(svg: str, alt: str) -> str:
    """As an image of its own, in the drawing's size: nothing in it can run or reach the page's styles."""
    data = base64.b64encode(svg.encode()).decode()
    return f'<img alt="{escape(alt)}" src="data:image/svg+xml;base64,{data}">'


def _blanks(blanks: Blanks) -> str:
    lines = "".join(f"<span><u></u>{escape(label)}</span>" for label in blanks.labels)
    return f'<div class="blanks">{lines}</div>'
