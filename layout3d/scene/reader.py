"""The one gate: a scene file becomes a validated scene, or one error with all its problems."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

from pydantic import ValidationError

from layout3d.scene.building import Builder, part_spec, tube_spec
from layout3d.scene.complaints import Complaints, Key
from layout3d.scene.document import SECTIONS, Document, read_document
from layout3d.scene.entries import SceneFile
from layout3d.scene.links import Links, Names, check_parts
from layout3d.scene.model import FixedTo, Scene, Stack
from layout3d.scene.names import check_names
from layout3d.scene.repeats import repeated
from layout3d.scene.textfile import read_text
from layout3d.scene.tubelinks import check_bench, check_tubes, check_tubings


def read_scene(path: str | os.PathLike[str]) -> Scene:
    """The scene in a file.

    Raises SceneErrors with every problem that could be found: of the file, of its YAML, of single
    values, and of names that do not lead anywhere.
    """
    path = Path(path)
    return parse_scene(read_text(path), path.name, path.parent)


def parse_scene(text: str, file: str, folder: Path = Path()) -> Scene:
    """The scene in a text; ``file`` is what problems and findings call it. Raises SceneErrors.

    folder : the scene's, from which the files of imported parts are named
    """
    written, complaints = read_document(text, file)
    document = _with_library(written, folder, complaints)
    tolerances = None
    if "+" in text or "±" in text or document is not written:
        # Few scenes state tolerances: others start without what reads them.
        from layout3d.scene.tolerancing import tolerances_in

        tolerances = tolerances_in(document.values, folder, complaints)
    return replace(_scene(document, complaints, file, folder), tolerances=tolerances)


def scene_with(scene: Scene, lengths: Mapping[Key, float]) -> Scene:
    """A scene that states tolerances, with other lengths [mm] at their keys. Raises SceneErrors."""
    from layout3d.scene.tolerancing import with_lengths

    assert scene.tolerances is not None
    values = {name: with_lengths(value, lengths, (name,)) for name, value in scene.tolerances.values.items()}
    complaints = Complaints(scene.file, scene.places)
    return _scene(Document(values, scene.places), complaints, scene.file, scene.tolerances.folder)


def _scene(document: Document, complaints: Complaints, file: str, folder: Path) -> Scene:
    names = Names(*(_names(document.values.get(section)) for section in ("parts", "tubes", "tubings")))
    check_names(names.parts, names.tubes, complaints)
    entries, places, counted = repeated(_entries(document, complaints), document.places, complaints)
    names = replace(names, parts=tuple(part for name in names.parts for part in counted.get(name, (name,))))
    builder = Builder(complaints, folder)
    parts = builder.parts(entries)
    fittings = builder.fittings(entries)
    links = Links({name: made.part for name, made in parts.items()}, names, complaints)
    check_tubings(entries, complaints)
    check_bench(entries, complaints)
    stacks, seats = _stacked(entries, counted, links)
    check_parts(entries, links, seats)
    check_tubes(entries, links)
    complaints.raise_any()
    return Scene(
        file=file,
        title=entries.title,
        rules=entries.rules,
        tubings=MappingProxyType(entries.tubings),
        parts=MappingProxyType(
            {
                name: part_spec(name, entry, parts[name], seats.get(name))
                for name, entry in entries.parts.items()
            }
        ),
        tubes=MappingProxyType(
            {name: tube_spec(name, entry, fittings[name]) for name, entry in entries.tubes.items()}
        ),
        plugs=entries.plugs,
        places=places,
        stacks=MappingProxyType(stacks),
        bench=MappingProxyType(entries.bench),
    )


def _with_library(document: Document, folder: Path, complaints: Complaints) -> Document:
    """The document with every ``use:`` spelled out; scenes without one do not load what does it."""
    values = document.values
    if "library" not in values and not any("use" in entry for entry in _usable(values)):
        return document
    from layout3d.library.using import with_library

    return replace(document, values=with_library(values, folder, complaints))


def _usable(values: Mapping[str, object]) -> Iterator[dict[str, object]]:
    """Every mapping that may hold ``use:``: parts and fittings."""
    parts, tubes = values.get("parts"), values.get("tubes")
    waiting: list[object] = list(parts.values()) if isinstance(parts, dict) else []
    for tube in tubes.values() if isinstance(tubes, dict) else ():
        waiting.append(tube.get("fittings") if isinstance(tube, dict) else None)
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            yield one
        elif isinstance(one, tuple):
            waiting += one


def _stacked(
    entries: SceneFile, counted: Mapping[str, tuple[str, ...]], links: Links
) -> tuple[dict[str, Stack], dict[str, FixedTo]]:
    """The stacks, and how each of their parts is fixed; scenes without one do not load what reads them."""
    if not entries.stacks and not counted:
        return {}, {}
    from layout3d.scene.stacks import stacked

    found = stacked(entries, counted, links)
    return found.stacks, found.seats


def _names(section: object) -> tuple[str, ...]:
    return tuple(section) if isinstance(section, dict) else ()


def _entries(document: Document, complaints: Complaints) -> SceneFile:
    """All sound entries; a faulty one is complained of and left out.

    SceneErrors where a whole section cannot be read: every name in it would seem unknown.
    """
    values = document.values
    for _ in range(2):
        try:
            return SceneFile.model_validate(values, strict=True)
        except ValidationError as error:
            # Sound scenes, the usual case, start without the words for faults.
            from layout3d.scene.wording import complaints_about

            for complaint in complaints_about(error, SceneFile, values):
                complaints.add(complaint.key, complaint.message, complaint.choices)
            places = [fault["loc"] for fault in error.errors(include_url=False)]
            if any(len(place) == 1 and place[0] in SECTIONS for place in places):
                break
            values = _without(values, places)
    raise complaints.errors()


def _without(values: dict[str, object], places: list[tuple[int | str, ...]]) -> dict[str, object]:
    """``values`` without the entries in which faults lie."""
    kept: dict[str, object] = {"layout3d": 1, **values}
    for section, *below in places:
        entries = kept.get(str(section))
        if isinstance(entries, dict) and below and section != "rules":
            kept[str(section)] = {name: entry for name, entry in entries.items() if name != below[0]}
        elif section == "layout3d":
            kept["layout3d"] = 1
        else:
            kept.pop(str(section), None)
    return kept
