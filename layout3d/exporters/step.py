"""STEP for CAD: ISO 10303-21, one assembly in millimetres, true solids.

Each part is a sub-assembly of its named, coloured solids, placed in the scene; so is each tube.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from pathlib import Path, PurePath

import cadquery as cq
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Quantity import Quantity_Color, Quantity_ColorRGBA, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Writer
from OCP.STEPControl import STEPControl_AsIs
from OCP.StepRepr import StepRepr_NextAssemblyUsageOccurrence
from OCP.StepVisual import StepVisual_MechanicalDesignGeometricPresentationRepresentation as _ColourOfSolid
from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFApp import XCAFApp_Application
from OCP.XCAFDoc import XCAFDoc_ColorSurf, XCAFDoc_DocumentTool
from OCP.XSControl import XSControl_WorkSession

from layout3d import __version__
from layout3d.exporters.contents import Contents, Progress, nothing_left
from layout3d.realise.brep import location, part_solids, solid
from layout3d.realise.looks import SURFACES, TUBE_SURFACES, Surface
from shapes.pose import IDENTITY

_COLOUR_OF_SOLID = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION("
_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]+")
#: The same layout gives the same bytes, so the file does not tell when it was made.
_TIME_STAMP = "1970-01-01T00:00:00"


def write(contents: Contents, folder: Path, progress: Progress) -> None:
    """The layout as one STEP file named after its scene."""
    path = folder / f"{PurePath(contents.scene).stem}.step"
    assembly = _Assembly(contents.title)
    for placed in contents.parts:
        progress(f"step: {placed.name}")
        solids = [(name, SURFACES[look], shape) for name, look, shape in part_solids(placed.part, IDENTITY)]
        assembly.add(placed.name, solids, location(placed.part2scene))
    for tube, (name, run) in zip(contents.tubes, contents.runs, strict=True):
        progress(f"step: {name}")
        assembly.add(name, [(name, TUBE_SURFACES[tube.kind], solid(run, IDENTITY))], cq.Location())
    progress(f"step: {path.name}")
    assembly.save(path)


class _Assembly:
    """An XCAF document of one assembly, and how it is written."""

    def __init__(self, title: str) -> None:
        self._document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
        XCAFApp_Application.GetApplication_s().InitDocument(self._document)
        self._shapes = XCAFDoc_DocumentTool.ShapeTool_s(self._document.Main())
        self._colours = XCAFDoc_DocumentTool.ColorTool_s(self._document.Main())
        self._root = self._shapes.NewShape()
        self._title = title
        _name(self._root, title)

    def add(self, name: str, solids: list[tuple[str, Surface, cq.Shape]], place: cq.Location) -> None:
        """A sub-assembly of coloured solids; one without a solid left is not added."""
        bodies = [(own, surface, body) for own, surface, shape in solids for body in shape.Solids()]
        if not bodies:
            return
        group = self._shapes.NewShape()
        _name(group, name)
        for own, surface, body in bodies:
            # A product that carries a place of its own would lose its colour on the way out.
            product = self._shapes.AddShape(body.located(cq.Location()).wrapped, False)
            _name(product, own)
            self._colours.SetColor(product, _colour(surface), XCAFDoc_ColorSurf)
            _name(self._shapes.AddComponent(group, product, body.location().wrapped), own)
        _name(self._shapes.AddComponent(self._root, group, place.wrapped), name)

    def save(self, path: Path) -> None:
        """OSError where the file could not be written."""
        self._shapes.UpdateAssemblies()
        Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
        Interface_Static.SetCVal_s("write.step.unit", "MM")
        Interface_Static.SetIVal_s("write.precision.mode", 0)
        translator = STEPCAFControl_Writer(XSControl_WorkSession(), False)
        translator.SetColorMode(True)
        translator.SetNameMode(True)
        if not translator.Transfer(self._document, STEPControl_AsIs):
            raise OSError(f"the solids of {path.name} could not be translated to STEP")
        model = translator.ChangeWriter().Model()
        entities = [model.Value(number) for number in range(1, model.NbEntities() + 1)]
        _number_uses(entities)
        header = APIHeaderSection_MakeHeader(model)
        header.SetName(_ascii(path.name))
        header.SetTimeStamp(_ascii(_TIME_STAMP))
        header.SetOriginatingSystem(_ascii(f"layout3d {__version__}"))
        written = io.BytesIO()
        if translator.WriteStream(written) != IFSelect_RetDone:
            raise OSError(f"{path.name} could not be written as STEP")
        kinds = [type(entity) for entity in entities]
        if _ColourOfSolid not in kinds:
            raise nothing_left()
        first_colour = kinds.index(_ColourOfSolid) + 1
        text = _colours_in_order(written.getvalue().decode("utf-8"), first_colour)
        path.write_bytes(_BEYOND_ASCII.sub(_escaped, text).encode("ascii"))


def _number_uses(entities: Sequence[object]) -> None:
    """Number the uses of parts within the file; OCCT counts on from the last file it wrote."""
    uses = (entity for entity in entities if isinstance(entity, StepRepr_NextAssemblyUsageOccurrence))
    for number, use in enumerate(uses, 1):
        use.SetId(_ascii(str(number)))


def _colours_in_order(text: str, first: int) -> str:
    """The file with its colours in the order of the solids, so that one layout gives one file.

    OCCT lists them from entity ``first`` to the end, in the order of memory addresses.
    """
    start = text.rfind(f"\n#{first} = ") + 1
    end = text.rfind("ENDSEC;")
    listed = {
        int(number): body for number, body in re.findall(r"#(\d+) = (.*?);\n", text[start:end], re.DOTALL)
    }
    used = {number: [int(other) for other in re.findall(r"#(\d+)", body)] for number, body in listed.items()}
    place: dict[int, int] = {}

    def visit(number: int) -> None:
        if number in listed and number not in place:
            place[number] = first + len(place)
            for other in used[number]:
                visit(other)

    colours = [number for number, body in listed.items() if body.startswith(_COLOUR_OF_SOLID)]
    for colour in sorted(colours, key=lambda colour: min(used[colour])):
        visit(colour)

    def renumbered(match: re.Match[str]) -> str:
        number = int(match[1])
        return f"#{place.get(number, number)}"

    lines = [
        f"#{place[number]} = " + re.sub(r"#(\d+)", renumbered, re.sub(r"\n\s*", "", listed[number])) + ";\n"
        for number in place
    ]
    return text[:start] + "".join(lines) + text[end:]


def _escaped(match: re.Match[str]) -> str:
    """Characters beyond ASCII as ISO 10303-21 spells them, 6.4.3.2; OCCT writes them as they are."""
    sign, coding = ("X4", "utf-32-be") if max(match[0]) > "\uffff" else ("X2", "utf-16-be")
    return f"\\{sign}\\{match[0].encode(coding).hex().upper()}\\X0\\"


def _name(label: TDF_Label, name: str) -> None:
    TDataStd_Name.Set_s(label, TCollection_ExtendedString(name, True))


def _ascii(text: str) -> TCollection_HAsciiString:
    return TCollection_HAsciiString(text)


def _colour(surface: Surface) -> Quantity_ColorRGBA:
    return Quantity_ColorRGBA(Quantity_Color(*surface.srgb, Quantity_TOC_sRGB), surface.alpha)
