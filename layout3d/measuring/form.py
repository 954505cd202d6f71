"""The caliper sheet's figures as a YAML file to fill in, and what comes of it: a starter scene."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from layout3d.errors import RequestError
from layout3d.measuring.measures import SHEETS, Sheet, sheet_of
from layout3d.measuring.sheet import choices, sheet_html
from layout3d.scene.complaints import Complaints, unknown
from layout3d.scene.document import Document, read_document
from layout3d.scene.starter import SCHEMA_NAME, write_new
from layout3d.scene.textfile import read_text
from layout3d.scene.wording import complaints_about
from shapes import shape_named
from shapes.fields import Shape


@dataclass(frozen=True, slots=True)
class Measured:
    """A case as it was measured.

    given : key -> value as it was written; blank : key -> the usual value that stands instead
    """

    sheet: Sheet
    shape: Shape
    given: Mapping[str, str]
    blank: Mapping[str, object]


def write_sheet(word: str, to: Path | None) -> tuple[Path, ...]:
    """Write the sheet to print (.html) and the form to fill in (.yaml) of one family.

    word : a key of ``SHEETS``; to : the form's file, by default ``<word>_measures.yaml`` here.
    RequestError for another word, or files that are there already.
    """
    if word not in SHEETS:
        raise RequestError(unknown("kind of case", word, SHEETS))
    form = Path(f"{word}_measures.yaml") if to is None else to
    if not form.name or form.is_dir():
        raise RequestError(f"{form} cannot be a file to fill in: give a name such as {word}_measures.yaml")
    if form.suffix.lower() not in (".yaml", ".yml"):
        raise RequestError(f"{form}: the form to fill in is a .yaml file, the sheet goes beside it as .html")
    if not form.parent.is_dir():
        raise RequestError(f"there is no folder {form.parent}: make it first, or choose another")
    page = form.with_suffix(".html")
    sheet = SHEETS[word]
    files = {form: form_text(sheet, page.name, form.name), page: sheet_html(sheet, form.name)}
    return write_new(files)


def form_text(sheet: Sheet, page: str, name: str) -> str:
    """The form, every value blank."""
    family = shape_named(sheet.shape)
    usual = family()
    lines = [
        f"# What was measured on a case, with the caliper sheet {page}.",
        "# Write each figure after its key, in mm, or with a unit: 1/2 in. A blank takes the usual value.",
        "# Then make a scene of it:",
        f"#   layout3d new my_case.yaml --from {name}",
        f"shape: {sheet.shape}",
        "",
        "# What was ticked.",
    ]
    for key in sheet.ticked:
        field = family.model_fields[key]
        words = ", ".join(choices(field))
        told = f"{field.description} ({words})" if words else field.description
        lines += [f"# {told}; usual {_plain(getattr(usual, key))}", f"{key}:"]
    lines += ["", "# What was measured, by the numbers on the sheet."]
    for number, measure in enumerate(sheet.measures, 1):
        told = family.model_fields[measure.key].description
        lines += [f"# {number}  {told}; usual {getattr(usual, measure.key):g}", f"{measure.key}:"]
    return "\n".join(lines) + "\n"


def read_form(path: Path) -> Measured:
    """A filled-in form. SceneErrors, with file and line, for all that is wrong or does not go together."""
    text = read_text(path)
    document, complaints = read_document(text, path.name, blanks=True)
    sheet = _sheet(document, complaints)
    family = shape_named(sheet.shape)
    values = {key: value for key, value in document.values.items() if key != "shape"}
    try:
        shape = family.model_validate(values, strict=True)
    except ValidationError as error:
        for found in complaints_about(error, family, values, ("shape",)):
            complaints.add(found.key, found.message, found.choices)
        raise complaints.errors() from None
    complaints.raise_any()
    try:
        shape.build()
    except ValueError as error:
        _point_out(str(error), values, family, complaints)
        raise complaints.errors() from None
    spans = document.places.spans
    given = {key: text[slice(*spans[(key,)])] for key in values}
    asked = (*sheet.ticked, *(measure.key for measure in sheet.measures))
    blank = {key: getattr(shape, key) for key in asked if key not in given}
    return Measured(sheet, shape, given, blank)


def _sheet(document: Document, complaints: Complaints) -> Sheet:
    word = document.values.get("shape")
    known = [sheet.shape for sheet in SHEETS.values()]
    if not isinstance(word, str) or (sheet := sheet_of(word)) is None:
        message = (
            unknown("case", str(word), known) if word else f"`shape:` is missing: one of {', '.join(known)}"
        )
        complaints.add(("shape",), message, known)
        raise complaints.errors()
    return sheet


def _point_out(
    message: str, values: Mapping[str, object], family: type[Shape], complaints: Complaints
) -> None:
    """Say what does not go together at every figure without which the rest would."""
    suspects = [key for key in values if _builds({k: v for k, v in values.items() if k != key}, family)]
    for key in suspects:
        usual = _plain(getattr(family.model_validate({k: v for k, v in values.items() if k != key}), key))
        complaints.add((key,), f"{message}; with the usual {usual} here the rest would go together")
    if not suspects:
        complaints.add(("shape",), message)


def _builds(values: Mapping[str, object], family: type[Shape]) -> bool:
    try:
        family.model_validate(values, strict=True).build()
    except ValueError:
        return False
    return True


def scene_text(measured: Measured, source: str) -> str:
    """A starter scene with the measured case, a board and a supply in it; ``source``: the form's name."""
    form = getattr(measured.shape, "stand_offs", "Mini-ITX")
    style = getattr(measured.shape, "psu", "SFX")
    lines = [
        f"# yaml-language-server: $schema={SCHEMA_NAME}",
        f"# Begun from the figures in {source}. Try: layout3d check on this file.",
        "layout3d: 1",
        "title: My case",
        "",
        "rules: {part_gap: 1, tube_gap: 3, fitting_gap: 1}",
        "",
        "parts:",
        "  case:",
        f"    shape: {measured.sheet.shape}",
        *(f"    {key}: {value}" for key, value in measured.given.items()),
    ]
    if measured.blank:
        lines.append("    # Left blank on the sheet, so the usual value stands; measure before you buy:")
        lines += [f"    #   {key}: {_plain(value)}" for key, value in measured.blank.items()]
    lines += [
        f"  board: {{shape: motherboard, form: {form}, fixed_to: {{mount: case.tray}}}}",
        f"  supply: {{shape: power_supply, style: {style}, fixed_to: {{mount: case.psu}}}}",
        "  # Next: radiators and fans on the case's rows; `layout3d shapes` lists what can stand here.",
    ]
    return "\n".join(lines) + "\n"


def blanks_told(measured: Measured) -> str:
    """One line about what was left blank; empty where nothing was."""
    if not measured.blank:
        return ""
    usual = ", ".join(f"{key} {_plain(value)}" for key, value in measured.blank.items())
    return f"left blank, the usual value stands: {usual}"


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)
