"""One file of parts: read, and every entry checked that is asked for."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field, ValidationError

import shapes
from layout3d.errors import LayoutError, Problem, SceneErrors
from layout3d.scene.complaints import Complaints
from layout3d.scene.document import read_document
from layout3d.scene.entries import ShapeName
from layout3d.scene.factforms import FactKeys
from layout3d.scene.names import NAME, name_fault
from layout3d.scene.textfile import read_text
from layout3d.scene.wording import complaints_about
from shapes.fields import Frozen, Shape
from shapes.part import Part

FORMAT_KEY = "layout3d_parts"


def _format(value: object) -> object:
    if value != 1 or isinstance(value, bool | float):
        raise ValueError(f"this program reads part files of format 1, the file states {value!r}")
    return value


class LibraryEntry(FactKeys):
    """One part of a library. The parameters of its shape stand beside these keys."""

    model_config = ConfigDict(extra="allow")

    shape: Annotated[ShapeName, Field(description="what the part is")]
    label: Annotated[str | None, Field(description="free text for reports and drawings")] = None
    note: Annotated[str | None, Field(description="a remark for whoever reads the file")] = None
    measured: Annotated[
        dict[str, Any],
        Field(
            default_factory=dict,
            description="parameters of the shape as you measured them; they replace those beside `shape`",
        ),
    ]


class PartFile(Frozen):
    """A file of parts to ``use:`` in scenes."""

    layout3d_parts: Annotated[
        Literal[1], BeforeValidator(_format), Field(description="format of the file: 1")
    ]
    source: Annotated[
        str | None, Field(description="where the figures come from, for all parts that do not say")
    ] = None
    parts: Annotated[
        dict[str, LibraryEntry],
        Field(
            description="name -> part",
            json_schema_extra={"propertyNames": {"pattern": f"^{NAME}$"}},
        ),
    ]


#: Keys of an entry itself; all others belong to its shape.
ENTRY_KEYS = tuple(LibraryEntry.model_fields)
#: Those that a scene's entry takes over where it does not say otherwise.
ABOUT = tuple(key for key in ENTRY_KEYS if key not in ("shape", "measured"))


@dataclass(frozen=True, slots=True, eq=False)
class LibraryPart:
    """A part as its file states it.

    where : "radiators.yaml:12"
    about : what it says beside its shape, as written: label, price and the like
    given : parameters of its shape, those measured put in place
    """

    name: str
    where: str
    entry: LibraryEntry
    about: Mapping[str, object]
    given: Mapping[str, object]


class Partfile:
    """One file's entries. Faults of an entry are told when it is asked for."""

    def __init__(self, path: Path, called: str, folder: str) -> None:
        """Read the file; SceneErrors where its text cannot be taken apart or is no part file.

        called : what problems call it; folder : the file's, from which imported files are named
        """
        self._folder = folder
        document, complaints = read_document(read_text(path), called, first=f"{FORMAT_KEY}: 1")
        self._called, self._places = called, document.places
        values = document.values
        self.is_scene = FORMAT_KEY not in values and "layout3d" in values
        self._raw: dict[str, object] = {}
        self._source: str | None = None
        if self.is_scene:
            return
        if FORMAT_KEY not in values:
            # What else is wrong with it is of no use to anyone.
            message = f"this is no part file: one starts with `{FORMAT_KEY}: 1`"
            raise SceneErrors([Problem(called, 1, "", message)])
        self._top(values, complaints)
        complaints.raise_any()

    def _top(self, values: dict[str, object], complaints: Complaints) -> None:
        parts = values.get("parts")
        # Entries are validated one by one, when they are asked for.
        shell = {**values, "parts": {}} if isinstance(parts, dict) else values
        try:
            self._source = PartFile.model_validate(shell, strict=True).source
        except ValidationError as error:
            for found in complaints_about(error, PartFile, shell):
                complaints.add(found.key, found.message, found.choices)
        if isinstance(parts, dict):
            self._raw = parts
        for name in self._raw:
            if fault := name_fault(name):
                complaints.add(("parts", name), fault)

    @property
    def names(self) -> tuple[str, ...]:
        """Of all entries, sound or not."""
        return tuple(self._raw)

    def place(self, name: str) -> str:
        """Where an entry starts, "radiators.yaml:12"."""
        return f"{self._called}:{self._line(name)}"

    def _line(self, name: str) -> int:
        return self._places.line("parts", name) or 1

    def problem(self, name: str, message: str) -> Problem:
        """A problem with an entry as a whole."""
        return Problem(self._called, self._line(name), f"parts.{name}", message)

    def part(self, name: str) -> LibraryPart:
        """The entry, its keys and its shape's parameters checked. SceneErrors with all its problems."""
        complaints = Complaints(self._called, self._places)
        raw = self._raw[name]
        shell = {FORMAT_KEY: 1, "parts": {name: raw}}
        entry: LibraryEntry | None = None
        try:
            entry = PartFile.model_validate(shell, strict=True).parts[name]
        except ValidationError as error:
            for found in complaints_about(error, PartFile, shell):
                complaints.add(found.key, found.message, found.choices)
        raw = raw if isinstance(raw, dict) else {}
        given = self._parameters(name, raw, complaints)
        complaints.raise_any()
        assert entry is not None
        kept = {word: value for word, value in raw.items() if word in ABOUT}
        if self._source is not None:
            kept.setdefault("source", self._source)
        return LibraryPart(name, self.place(name), entry, kept, self._rooted(entry.shape, given))

    def _parameters(self, name: str, raw: dict[str, object], complaints: Complaints) -> dict[str, object]:
        """What is given to the shape, as written; complains of what it does not take."""
        given = {word: value for word, value in raw.items() if word not in ENTRY_KEYS}
        measured = raw.get("measured")
        measured = measured if isinstance(measured, dict) else {}
        given |= measured
        shape = raw.get("shape")
        if not isinstance(shape, str) or shape not in shapes.SHAPES:
            return given
        family = shapes.shape_named(shape)
        try:
            family.model_validate(given, strict=True)
        except ValidationError as error:
            for found in complaints_about(error, family, given, ENTRY_KEYS):
                below = ("measured",) if found.key[:1] and found.key[0] in measured else ()
                complaints.add(("parts", name, *below, *found.key), found.message, found.choices)
        return given

    def built(self, part: LibraryPart, folder: Path) -> Part:
        """The part made once, to see that its parameters go together. SceneErrors where they do not.

        folder : that from which ``called`` names the file
        """
        family = shapes.shape_named(part.entry.shape)
        try:
            shape: Shape = family.model_validate(part.given, strict=True)
            if part.entry.shape == "import":
                from layout3d.importing.parts import imported_part

                return imported_part(shape, folder)
            return shape.build()
        except (ValueError, LayoutError) as error:
            raise SceneErrors([self.problem(part.name, str(error))]) from None

    def _rooted(self, shape: str, given: dict[str, object]) -> dict[str, object]:
        """An imported file is named from its part file; from here on it is from the scene's folder."""
        file = given.get("file")
        if shape != "import" or not isinstance(file, str) or os.path.isabs(file) or not self._folder:
            return given
        return {**given, "file": f"{self._folder}/{file}"}
