"""The page itself. All words and tables are written here; its script only adds the picture that turns."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
from collections.abc import Iterable, Mapping
from html import escape
from importlib.resources import files
from typing import Any

from layout3d.preview.told import TUBES

_VIEWS = ("corner", "window", "front", "roof", "tray", "rear", "floor")


def page(told: Mapping[str, Any], model: bytes | None, still: str) -> str:
    """The HTML document.

    told : what ``layout3d.preview.told`` gives
    model : the build as GLB, None where none could be made: then only the still picture shows
    still : an SVG drawing of the build, for readers without script or 3D
    """
    style = _resource("page.css")
    script = _resource("page.js") if model is not None else ""
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "img-src data: blob:; connect-src blob: data:; base-uri 'none'; form-action 'none'"
    )
    title = escape(told["title"])
    verdict = told["verdict"]
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        f'<header><h1>{title}</h1><span class="verdict {verdict.split()[0]}">{escape(_verdict(told))}</span>'
        '<button id="theme" class="live-only" type="button">Light or dark</button></header>\n'
        f'<main>\n<div class="picture">{_still(still, model is not None)}{_stage(told)}</div>\n'
        f'<div class="lists">{_findings(told)}{_tubes(told)}{_parts(told)}{_steps(told)}</div>\n</main>\n'
        "<footer>Made from a model: it is as right as what was measured. Lengths are mm.</footer>\n"
        f"{_blocks(told, model)}"
        f"{f'<script>{script}</script>' if script else ''}\n</body>\n</html>\n"
    )


def _resource(name: str) -> str:
    return (files("layout3d.preview") / name).read_text("utf-8").replace("\r\n", "\n")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _verdict(told: Mapping[str, Any]) -> str:
    count = sum(finding["severity"] == "error" for finding in told["findings"])
    if told["verdict"] == "clear":
        return "Everything fits"
    return f"Not clear: {count} error{'s' if count != 1 else ''}"


def _still(still: str, has_model: bool) -> str:
    note = "This picture stands still: the page's script or 3D is not available here."
    hidden = " hidden" if has_model else ""
    return f'<div id="still">{still}</div><p id="still-note"{hidden}>{note}</p>'


def _stage(told: Mapping[str, Any]) -> str:
    views = "".join(f'<button type="button" data-view="{view}">{view.title()}</button>' for view in _VIEWS)
    sides = "".join(
        f'<option value="{side}">from the {side}</option>' for side in ("window", "front", "roof")
    )
    groups = dict.fromkeys(part["group"] for part in told["parts"])
    boxes = "".join(_group_box(group) for group in (*groups, *([TUBES] if told["tubes"] else [])))
    steps = len(told["steps"])
    order = (
        f'<label>Order <input type="range" id="step" min="0" max="{steps}" value="{steps}"></label>'
        '<button type="button" id="play">Play</button>'
        if steps
        else ""
    )
    return (
        '<div id="stage" hidden><canvas id="canvas" tabindex="0" role="application" '
        'aria-label="The build in three dimensions. Arrow keys turn it, plus and minus come nearer and go '
        'away, 1 to 7 choose a view, escape ends a choice."></canvas><div id="pins"></div></div>'
        '<p id="said" aria-live="polite" class="live-only"></p>'
        f'<div id="tools" hidden role="toolbar" aria-label="Picture"><span>{views}</span>'
        '<label><input type="checkbox" id="panels" checked> Panels</label>'
        f'<label>Cut <select id="section"><option value="">nothing</option>{sides}</select></label>'
        '<label>Depth <input type="range" id="depth" min="0" max="100" value="50" disabled></label>'
        '<label>Apart <input type="range" id="apart" min="0" max="100" value="0"></label>'
        f'<button type="button" id="measure" aria-pressed="false">Measure</button>{order}'
        f"<details><summary>Groups</summary>{boxes}</details></div>"
    )


def _group_box(group: str) -> str:
    name = escape(group)
    return f'<label><input type="checkbox" class="group" value="{name}" checked> {name}</label> '


def _findings(told: Mapping[str, Any]) -> str:
    if not told["findings"]:
        return "<h2>Findings</h2><p>None.</p>"
    items = []
    for n, finding in enumerate(told["findings"]):
        cure = f"<br><strong>{escape(finding['remedy'])}</strong>" if finding["remedy"] else ""
        items.append(
            f'<li class="{finding["severity"]}" data-finding="{n}"><strong>{n + 1}. {finding["severity"]}: '
            f"{escape(finding['rule'])}</strong><br>{escape(finding['message'])}{cure}"
            '<br><button type="button" class="live-only">Show it</button></li>'
        )
    return f'<h2>Findings</h2><ol class="findings">{"".join(items)}</ol>'


def _tubes(told: Mapping[str, Any]) -> str:
    rows = [
        f'<tr data-part="{escape(tube["name"])}" data-told="{escape(_tube_told(tube))}">'
        f"<td>{_shown(tube['name'])}{_pick(tube['name'])}</td><td>{escape(tube['from'])} to "
        f'{escape(tube["to"])}</td><td class="n">{_mm(tube["cut_mm"])}</td></tr>'
        for tube in told["tubes"]
    ]
    head = '<tr><th scope="col">tube</th><th scope="col">way</th><th scope="col" class="n">cut mm</th></tr>'
    return _table("Tubes", head, rows)


def _tube_told(tube: Mapping[str, Any]) -> str:
    bends = len(tube["bends"]) if tube["bends"] is not None else None
    way = f"{tube['kind']} tube from {tube['from']} to {tube['to']}"
    return f"{tube['name']}: {way}, cut to {_mm(tube['cut_mm'])} mm" + (
        "" if bends is None else f", {bends} bend{'s' if bends != 1 else ''}"
    )


def _parts(told: Mapping[str, Any]) -> str:
    rows = []
    for part in told["parts"]:
        size = " x ".join(f"{value:g}" for value in part["size_mm"])
        label = f"<br>{escape(part['label'])}" if part["label"] else ""
        note = f"<br><small>{escape(part['note'])}</small>" if part["note"] else ""
        hold = escape(part["fixed_to"]) if part["fixed_to"] else ""
        spoken = f"{part['label'] or part['name']}: {part['shape'].replace('_', ' ')}, {size} mm" + (
            f", fixed to {part['fixed_to']}" if part["fixed_to"] else ""
        )
        rows.append(
            f'<tr data-part="{escape(part["name"])}" data-told="{escape(spoken)}"><td>{_shown(part["name"])}'
            f"{_pick(part['name'])}{label}{note}</td><td>{escape(part['shape'].replace('_', ' '))}<br>"
            f"<small>{hold}</small></td><td>{size}</td></tr>"
        )
    head = '<tr><th scope="col">part</th><th scope="col">what</th><th scope="col">size mm</th></tr>'
    return _table("Parts", head, rows)


def _steps(told: Mapping[str, Any]) -> str:
    if not told["steps"]:
        return ""
    items = "".join(f"<li>{escape(step['told'])}</li>" for step in told["steps"])
    return f"<h2>Order of assembly</h2><ol>{items}</ol>"


def _shown(name: str) -> str:
    return f'<input type="checkbox" class="shown live-only" checked aria-label="show {escape(name)}"> '


def _pick(name: str) -> str:
    return f'<button type="button" class="pick" aria-pressed="false">{escape(name)}</button>'


def _table(title: str, head: str, rows: Iterable[str]) -> str:
    body = "".join(rows)
    if not body:
        return ""
    return (
        f'<h2>{title}</h2><div class="wide"><table><thead>{head}</thead><tbody>{body}</tbody></table></div>'
    )


def _blocks(told: Mapping[str, Any], model: bytes | None) -> str:
    """The data the script reads: never markup, whatever the names in the scene."""
    if model is None:
        return ""
    data = json.dumps(told, allow_nan=False).replace("<", "\\u003c")
    packed = base64.b64encode(gzip.compress(model, 9, mtime=0)).decode()
    return (
        f'<script type="application/json" id="data">{data}</script>\n'
        f'<script type="text/plain" id="model">{packed}</script>\n'
    )


def _mm(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"
