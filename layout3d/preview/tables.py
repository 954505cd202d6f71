"""The page's lists: findings, tubes, parts, steps and changes, all readable without script."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from layout3d.preview.changes import Change

#: Severity -> the sign before a finding's number, in the list and on its pin.
SIGNS = {"error": "!", "warning": "?", "note": "i"}


def findings_list(told: Mapping[str, Any]) -> str:
    """Every finding with what mends it."""
    if not told["findings"]:
        return "<h2>Findings</h2><p>None: nothing touches, nothing is too near, every bend can be made.</p>"
    items = []
    for n, finding in enumerate(told["findings"]):
        cure = f'<p class="cure">{_text(finding["remedy"])}</p>' if finding["remedy"] else ""
        sign = f'<b class="badge {finding["severity"]}">{SIGNS[finding["severity"]]}{n + 1}</b>'
        items.append(
            f'<li class="{finding["severity"]}" data-finding="{n}"><h3>{sign} {finding["severity"]}: '
            f"{escape(finding['rule'])}</h3><p>{_text(finding['message'])}</p>{cure}"
            '<button type="button" class="live-only">Show it</button></li>'
        )
    return f'<h2>Findings</h2><ol class="findings">{"".join(items)}</ol>'


def tubes_table(told: Mapping[str, Any]) -> str:
    """Cut lengths."""
    rows = [
        f'<tr data-part="{escape(tube["name"])}">{_shown(tube["name"])}<th scope="row">{_pick(tube["name"])}'
        f"<small>{_name(tube['from'])} to {_name(tube['to'])}</small></th>"
        f'<td class="n">{_bends(tube)}</td><td class="n">{_mm(tube["cut_mm"])}</td></tr>'
        for tube in told["tubes"]
    ]
    return _table("Tubes", ("tube", "bends", "cut, mm"), rows, numbers=2)


def parts_table(told: Mapping[str, Any]) -> str:
    """All parts, one group after the other."""
    groups: dict[str, list[str]] = {}
    for part in told["parts"]:
        label = f"<span>{escape(part['label'])}</span>" if part["label"] else ""
        hold = f", on {_name(part['fixed_to'])}" if part["fixed_to"] else ""
        what = f"<small>{escape(part['shape'].replace('_', ' '))}{hold}</small>"
        note = f'<small class="note">{escape(part["note"])}</small>' if part["note"] else ""
        groups.setdefault(part["group"], []).append(
            f'<tr data-part="{escape(part["name"])}">{_shown(part["name"])}<th scope="row">'
            f"{_pick(part['name'])}{label}{what}{note}</th>"
            f'<td class="n">{" x ".join(f"{value:g}" for value in part["size_mm"])}</td></tr>'
        )
    rows = [
        f'<tr class="group"><th scope="colgroup" colspan="3">{escape(group)}</th></tr>{"".join(lines)}'
        for group, lines in groups.items()
    ]
    return _table("Parts", ("part", "size, mm"), rows, numbers=1)


def steps_list(told: Mapping[str, Any]) -> str:
    """The order of assembly, where there is one."""
    if not told["steps"]:
        return ""
    items = "".join(f'<li data-step="{n}">{escape(s["told"])}</li>' for n, s in enumerate(told["steps"], 1))
    return f'<h2>Order of assembly</h2><ol class="steps">{items}</ol>'


def changes_table(changed: Sequence[Change]) -> str:
    """What differs from the layout before."""
    if not changed:
        return "<h2>What changed</h2><p>Nothing.</p>"
    rows = [
        f'<tr><td><b class="kind {change.kind}">{change.kind}</b></td><th scope="row">'
        f"{_pick(change.names[0]) if len(change.names) == 1 else ''}"
        f"<span>{_text(change.told)}</span></th></tr>"
        for change in changed
    ]
    body = "".join(rows)
    head = '<tr><th scope="col">change</th><th scope="col">what</th></tr>'
    return f'<h2>What changed</h2><table class="changes"><thead>{head}</thead><tbody>{body}</tbody></table>'


def _bends(tube: Mapping[str, Any]) -> str:
    return escape(tube["kind"]) if tube["bends"] is None else str(len(tube["bends"]))


def _shown(name: str) -> str:
    box = f'<input type="checkbox" class="shown" checked aria-label="show {escape(name)}">'
    return f'<td class="live-only">{box}</td>'


def _pick(name: str) -> str:
    return (
        f'<button type="button" class="pick" data-pick="{escape(name)}" aria-pressed="false">'
        f"{_name(name)}</button>"
    )


def _name(name: str) -> str:
    """A name that may break after its underscores and dots."""
    return re.sub(r"([_.])(?=\w{3})", r"\1<wbr>", escape(name))


def _text(text: str) -> str:
    """Words with `commands` set as such."""
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(text))


def _table(title: str, heads: Sequence[str], rows: Iterable[str], *, numbers: int) -> str:
    body = "".join(rows)
    if not body:
        return ""
    first = len(heads) - numbers
    cells = "".join(
        f'<th scope="col"{" class=n" if n >= first else ""}>{head}</th>' for n, head in enumerate(heads)
    )
    show = '<th scope="col" class="live-only">show</th>'
    return f"<h2>{title}</h2><table><thead><tr>{show}{cells}</tr></thead><tbody>{body}</tbody></table>"


def _mm(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"
