"""STEP files, read back by OCCT's own assembly reader."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.Quantity import Quantity_ColorRGBA, Quantity_TOC_sRGB
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_ColorSurf, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from layout3d.exporters import export
from layout3d.layout import Layout
from layout3d.realise import brep
from layout3d.realise.looks import SURFACES, TUBE_SURFACES
from shapes.part import Bore, Part, Solid
from shapes.pose import IDENTITY, Pose
from shapes.primitives import Box, Plate, RectOpening
from tests.exporters import layouts


@dataclass(frozen=True)
class ReadSolid:
    """One solid of a file, placed: where it hangs, what it looks like, how big it is."""

    path: tuple[str, ...]
    srgb: tuple[float, ...]
    alpha: float
    shape: cq.Shape

    @property
    def volume(self) -> float:
        properties = GProp_GProps()
        BRepGProp.VolumeProperties_s(self.shape.wrapped, properties)
        return properties.Mass()


def read(path: Path) -> list[ReadSolid]:
    document = TDocStd_Document(TCollection_ExtendedString("test"))
    reader = STEPCAFControl_Reader()
    reader.SetColorMode(True)
    reader.SetNameMode(True)
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    assert reader.Transfer(document)
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    found: list[ReadSolid] = []

    def walk(label: TDF_Label, place: cq.Location, path: tuple[str, ...]) -> None:
        product = TDF_Label()
        if XCAFDoc_ShapeTool.GetReferredShape_s(label, product):
            own = cq.Location(XCAFDoc_ShapeTool.GetLocation_s(label))
            walk(product, place * own, (*path, name(label)))
            return
        parts = TDF_LabelSequence()
        XCAFDoc_ShapeTool.GetComponents_s(label, parts)
        for part in (parts.Value(number) for number in range(1, parts.Length() + 1)):
            walk(part, place, path)
        if not parts.Length():
            own_shape = XCAFDoc_ShapeTool.GetShape_s(label)
            colour = Quantity_ColorRGBA()
            assert colours.GetColor(own_shape, XCAFDoc_ColorSurf, colour), f"{path} has no colour"
            srgb = colour.GetRGB().Values(Quantity_TOC_sRGB)
            found.append(ReadSolid(path, srgb, colour.Alpha(), cq.Shape.cast(own_shape).moved(place)))

    roots = TDF_LabelSequence()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(roots)
    assert roots.Length() == 1
    walk(roots.Value(1), cq.Location(), (name(roots.Value(1)),))
    return found


def name(label: TDF_Label) -> str:
    attribute = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), attribute)
    return str(attribute.Get().ToExtString())


def exported(layout: Layout, folder: Path) -> list[ReadSolid]:
    (path,) = export(layout, folder, ("step",)).written
    return read(path)


def test_names_hang_as_in_the_scene(tmp_path: Path) -> None:
    solids = exported(layouts.two_posts(), tmp_path)
    assert [solid.path for solid in solids] == [
        ("Two posts", "left", "foot"),
        ("Two posts", "left", "bar"),
        ("Two posts", "right", "foot"),
        ("Two posts", "right", "bar"),
        ("Two posts", "back", "sheet"),
        ("Two posts", "back", "wedge"),
        ("Two posts", "over", "over"),
    ]


def test_colours_are_those_of_the_palette(tmp_path: Path) -> None:
    solids = exported(layouts.two_posts(), tmp_path)
    looks = ["black", "copper", "black", "copper", "panel", "accent"]
    surfaces = [*(SURFACES[look] for look in looks), TUBE_SURFACES["rigid"]]
    for solid, surface in zip(solids, surfaces, strict=True):
        assert solid.srgb == pytest.approx(surface.srgb, abs=1e-6)
        assert solid.alpha == pytest.approx(surface.alpha, abs=1e-6)


def test_solids_are_true_placed_and_have_their_volume(tmp_path: Path) -> None:
    layout = layouts.two_posts()
    exact = [
        shape
        for placed in layout.parts.values()
        for _, _, shape in brep.part_solids(placed.part, placed.part2scene)
    ]
    exact.append(brep.solid(layouts.QUARTER, IDENTITY))
    for solid, shape in zip(exported(layout, tmp_path), exact, strict=True):
        assert isinstance(solid.shape, cq.Solid)
        assert BRepCheck_Analyzer(solid.shape.wrapped).IsValid()
        assert solid.volume == pytest.approx(shape.Volume(), rel=1e-9)
        assert solid.shape.Center().toTuple() == pytest.approx(shape.Center().toTuple(), abs=1e-7)


def test_a_tube_is_hollow_to_pappus(tmp_path: Path) -> None:
    """Area of the wall times the path of its middle (Pappus's second theorem)."""
    (tube,) = exported(layouts.layout(tubes=(layouts.tube("over", layouts.QUARTER),)), tmp_path)
    path = 50.0 + 36.0 * np.pi / 2.0 + 128.0
    assert tube.volume == pytest.approx(np.pi / 4.0 * (14.0**2 - 10.0**2) * path, rel=1e-9)


def test_a_sheet_cut_in_two_keeps_name_and_colour_on_both_pieces(tmp_path: Path) -> None:
    cut = Plate((100.0, 50.0), 2.0, (RectOpening((0.0, 0.0), (10.0, 60.0)),))
    part = Part((Solid("sheet", cut, look="panel"),))
    solids = exported(layouts.layout(layouts.placed("lid", part, layouts.RIGHT)), tmp_path)
    assert [solid.path[1:] for solid in solids] == [("lid", "sheet"), ("lid", "sheet")]
    assert [solid.volume for solid in solids] == pytest.approx([45.0 * 50.0 * 2.0] * 2, rel=1e-9)
    assert all(solid.srgb == pytest.approx(SURFACES["panel"].srgb, abs=1e-6) for solid in solids)


def test_a_part_its_bores_consume_leaves_the_others(tmp_path: Path) -> None:
    gone = Part((Solid("pin", Box((4.0, 4.0, 4.0))),), bores=(Bore(Pose.at((0.0, 0.0, 3.0)), 9.0, 6.0),))
    layout = layouts.layout(layouts.placed("gone", gone), layouts.placed("left", layouts.post()))
    assert [solid.path[1] for solid in exported(layout, tmp_path)] == ["left", "left"]


@pytest.mark.parametrize("title", ["Schrank für O'Neil", '100 % \\ "dicht"', "水冷 𝄞 #1; END-ISO-10303-21;"])
def test_any_title_and_solid_name_come_back(title: str, tmp_path: Path) -> None:
    part = Part((Solid(title, Box((4.0, 4.0, 4.0))),))
    (solid,) = exported(layouts.layout(layouts.placed("left", part), title=title), tmp_path)
    assert solid.path == (title, "left", title)


def test_the_file_says_millimetres_and_not_who_made_it(tmp_path: Path) -> None:
    (path,) = export(layouts.two_posts(), tmp_path, ("step",)).written
    assert path.name == "posts.step"
    text = path.read_text(encoding="ascii")
    assert "SI_UNIT(.MILLI.,.METRE.)" in text
    assert str(tmp_path) not in text
