"""The build sheet: what stands on it, how it is set, and that its drawings are true to size."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from layout3d.assembly.sequence import assembly_of
from layout3d.bench.plan import bench_plan
from layout3d.build import build
from layout3d.checks.check import check
from layout3d.errors import RequestError
from layout3d.layout import Layout
from layout3d.scene.reader import parse_scene, read_scene
from layout3d.sheet.blocks import Findings, Plan, Sheet, Table, Text
from layout3d.sheet.coolant import coolant_of
from layout3d.sheet.html import html
from layout3d.sheet.pdf import NO_FONT, OTHER_FONTS, pdf
from layout3d.sheet.told import BANNER, sheet_of
from layout3d.sheet.write import write_sheet
from tests.checks.scenes import layout_of

ROOT = Path(__file__).parent.parent.parent
POSTS = "scenes/two_posts.yaml"
ROOM = (168.0, 201.0)
HOSTILE = "#panic() $x$ ]} </script><img src=x onerror=alert(1)> *b* _e_ `raw` \\ @ref"
#: Two blocks and one flat tube of two 45 degree bends, an offset of 50 mm.
BLOCKS = (
    "left: {{shape: custom, label: {label}, solids: [{{box: [40, 40, 40]}}], "
    "ports: {{out: {{at: [20, 0, 0], facing: front}}}}}}\n"
    "right: {{shape: custom, at: [{x}, 0, 50], solids: [{{box: [40, 40, 40]}}], "
    "ports: {{in: {{at: [-20, 0, 0], facing: rear}}}}}}"
)
TUBES = "over: {tubing: rigid14, from: left.out, to: right.in, path: [[70, 0, 0], [120, 0, 50]]}"


def blocks(label: str = "plain", x: float = 190.0) -> Layout:
    return layout_of(BLOCKS.format(label=json.dumps(label), x=x), TUBES)


def sheet(layout: Layout) -> Sheet:
    checked = check(layout)
    plan = bench_plan(layout, checked)
    return sheet_of(layout, checked, assembly_of(layout), plan, ROOM, views=("window",))


def rows(of: Sheet, title: str, table: int = 0) -> list[tuple[str, ...]]:
    (section,) = [section for section in of.sections if section.title == title]
    return list([block for block in section.blocks if isinstance(block, Table)][table].rows)


def plans(of: Sheet) -> list[Plan]:
    return [block for section in of.sections for block in section.blocks if isinstance(block, Plan)]


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "layout3d", *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False)


@pytest.fixture(scope="module")
def made() -> tuple[Sheet, bytes]:
    of = sheet(blocks())
    content, note = pdf(of, "a4")
    assert note == ""
    return of, content


def text_of(content: bytes) -> list[str]:
    with pypdfium2.PdfDocument(content) as document:
        return [page.get_textpage().get_text_range() for page in document]


def squeezed(text: str) -> str:
    """Without spaces, line ends and the places where a name may break."""
    return re.sub(r"[\s\u200b\ufffe\u00ad]", "", text)


# Figures


def test_lengths_and_marks_are_those_of_the_tubes_command() -> None:
    done = run("tubes", POSTS, "--json")
    (told,) = json.loads(done.stdout)["tubes"]
    of = sheet(build(read_scene(ROOT / POSTS)))
    (cut,) = rows(of, "Tubes to cut")
    assert cut[0] == told["name"]
    assert cut[2:4] == (told["from"], told["to"])
    assert [float(cell) for cell in cut[5:7]] == [round(told["path_mm"], 1), round(told["cut_mm"], 1)]
    marks = json.loads(run("bench", POSTS, "--json").stdout)["tubes"][0]["marks"]
    assert float(cut[7]) == json.loads(run("bench", POSTS, "--json").stdout)["tubes"][0]["saw_mm"]
    for row, bend, mark in zip(rows(of, "Bends"), told["bends"], marks, strict=True):
        assert float(row[2]) == mark["mark_mm"] == pytest.approx(bend["mark_mm"], abs=0.5)
        # Arc length of a bend: radius times angle in radians.
        arc = math.radians(bend["bend_deg"]) * bend["radius_mm"]
        assert float(row[3]) == pytest.approx(mark["mark_mm"] + arc, abs=0.051)
        assert (float(row[4]), float(row[6])) == (bend["bend_deg"], bend["radius_mm"])


def test_what_the_former_asks_for_gets_its_columns_and_stock_its_list() -> None:
    text = (ROOT / POSTS).read_text(encoding="utf-8")
    asked = "bench: {rigid14: {stock: 500, setback: 10, springback: 3}}"
    of = sheet(build(parse_scene(f"{text}\n{asked}\n", "posts.yaml")))
    first = rows(of, "Bends")[0]
    assert float(first[4]) == float(first[2]) - 10.0
    assert (float(first[5]), float(first[6])) == (90.0, 93.0)
    (length,) = rows(of, "Tubes to cut", 2)
    # 331.1 mm sawn as 331 off 500, with a cut of 1 mm.
    assert length == ("1", "over 331", "168.0")


def test_a_slide_is_told_toward_where_the_part_goes() -> None:
    parts = (
        "case: {{shape: case_tower}}\n"
        "pump: {{shape: pump, fixed_to: {{mount: case.shroud, slide: {slide}, shift: {shift}}}}}"
    )
    still, moved = layout_of(parts.format(slide=0, shift=0)), layout_of(parts.format(slide=30, shift=-12))
    went = moved.parts["pump"].part2scene.origin - still.parts["pump"].part2scene.origin
    words = {"rear": (-1, 0, 0), "front": (1, 0, 0), "window": (0, -1, 0), "tray": (0, 1, 0)}
    (told,) = [row[2] for row in rows(sheet(moved), "Parts and where they go") if row[0] == "pump"]
    steps = [
        float(by) * np.array(words[way]) for by, way in re.findall(r"([\d.]+) mm toward the (\w+)", told)
    ]
    assert len(steps) == 2
    np.testing.assert_allclose(sum(steps), went, atol=1e-9)


def test_coolant_in_a_tube_is_its_bore_times_its_length() -> None:
    layout = blocks()
    (tube,) = layout.tubes
    assert tube.cut_mm is not None
    coolant = coolant_of(layout)
    # A bore of 10 mm holds 78.54 mL a metre: area of a circle.
    assert coolant.known_ml == pytest.approx(0.07854 * tube.cut_mm, rel=1e-4)
    assert coolant.unknown == ("left", "right", "fittings")


def test_chains_plugs_and_counts_stand_by_their_ports() -> None:
    parts = "a: {shape: pump}\nb: {shape: pump, at: [300, 0, 0]}"
    tubes = (
        "t: {tubing: rigid14, from: a.out, to: b.in, "
        "fittings: [[{shape: extender}, {shape: rigid_fitting}], {shape: rigid_fitting}]}"
    )
    of = sheet(layout_of(parts, tubes, "\nplugs: [b.out]"))
    told = {row[0]: row for row in rows(of, "Fittings, port by port")}
    assert told["a.out"][1:] == ("G1/4", "extender, then rigid fitting", "t, 14/10 mm")
    assert told["b.out"][2] == "plug"
    assert rows(of, "Fittings, port by port", 1) == [
        ("extender", "", "1"),
        ("rigid fitting", "14/10 mm rigid", "2"),
        ("plug", "", "1"),
    ]


# True to size


def ticks(line: np.ndarray, pixels_per_mm: float) -> list[float]:
    """Middles of the dark runs along a line of pixels [mm]."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], (line < 128).astype(int), [0]))))
    return [(a + b) / 2.0 / pixels_per_mm for a, b in zip(edges[::2], edges[1::2], strict=True)]


def drawn_page(content: bytes, word: str, pixels_per_mm: float) -> np.ndarray:
    with pypdfium2.PdfDocument(content) as document:
        (page, *_) = [page for page in document if word in page.get_textpage().get_text_range()]
        # A point is 1/72 in, an inch 25.4 mm.
        bitmap = page.render(scale=pixels_per_mm * 25.4 / 72.0, grayscale=True)
        return bitmap.to_numpy()[:, :, 0] if bitmap.to_numpy().ndim == 3 else bitmap.to_numpy()


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("upright", [False, True])
def test_both_rulers_measure_100_mm_on_paper(made: tuple[Sheet, bytes], paper: str, upright: bool) -> None:
    """Judged by another program (PDFium) that draws the page."""
    per_mm = 20.0
    content = made[1] if paper == "a4" else pdf(made[0], paper)[0]
    image = drawn_page(content, "true to size", per_mm)
    if upright:
        image = image.T[::-1]
    band = image[: int(26 * per_mm)]
    found = [line for row in band if len(line := ticks(row, per_mm)) == 101]
    assert found, "no ruler of 101 lines"
    np.testing.assert_allclose(np.diff(found[0]), 1.0, atol=2.0 / per_mm)
    assert found[0][-1] - found[0][0] == pytest.approx(100.0, abs=1.0 / per_mm)


def test_a_template_is_as_thick_and_as_far_apart_as_the_tube(made: tuple[Sheet, bytes]) -> None:
    """The offset of two equal bends, as pipe fitters reckon it: 2 R (1 - cos a) + L sin a (closed form)."""
    (plan,) = [plan for plan in plans(made[0]) if plan.title == "Tube over as a whole"]
    left, right, middle = re.findall(r'<path d="(M[^"]*A[^"]*)"', plan.svg)
    starts, ends = [], []
    for path in (left, right, middle):
        numbers = [float(value) for value in re.findall(r"-?[\d.]+", path)]
        starts.append(np.array(numbers[:2]))
        ends.append(np.array(numbers[-2:]))
    assert np.linalg.norm(starts[0] - starts[1]) == pytest.approx(14.0, abs=1e-3)
    assert np.linalg.norm(ends[0] - ends[1]) == pytest.approx(14.0, abs=1e-3)
    between = math.hypot(50, 50) - 2.0 * 36.0 * math.tan(math.radians(22.5))
    offset = 2.0 * 36.0 * (1.0 - math.cos(math.radians(45))) + between * math.sin(math.radians(45))
    across = np.abs(ends[2] - starts[2])
    assert sorted(across.tolist()) == pytest.approx(sorted([offset, 150.0]), abs=1e-3)
    assert offset == pytest.approx(50.0)


def test_there_is_one_template_for_alike_bends_and_it_names_them(made: tuple[Sheet, bytes]) -> None:
    (bend, _whole) = plans(made[0])
    assert bend.title == "Bend of 45°, radius 36 mm, tube 14 mm"
    assert "over bend 1, over bend 2" in bend.caption
    assert "28.3 mm along the middle" in bend.caption  # 36 * pi / 4


def test_a_bend_too_large_for_the_page_is_drawn_as_a_share_that_fits() -> None:
    tubes = (
        "over: {tubing: {kind: rigid, outside: 14, inside: 10, bend_radius: 300}, from: left.out, "
        "to: right.in, path: {bends: [{straight: 20, bend: 90}], last: 20}}"
    ).replace("{kind: rigid, outside: 14, inside: 10, bend_radius: 300}", "wide")
    layout = layout_of(
        "left: {shape: custom, solids: [{box: [40, 40, 40]}], "
        "ports: {out: {at: [20, 0, 0], facing: front}}}\n"
        "right: {shape: custom, at: [340, 0, 340], solids: [{box: [40, 40, 40]}], "
        "ports: {in: {at: [0, 0, -20], facing: floor}}}",
        tubes,
        "  wide: {kind: rigid, outside: 14, inside: 10, bend_radius: 300}",
    )
    of = sheet(layout)
    (plan,) = plans(of)
    assert (plan.width_mm <= ROOM[0], plan.height_mm <= ROOM[1]) == (True, True)
    times = int(re.findall(r"Drawn is 1/(\d+)", plan.caption)[0])
    assert times > 1
    assert f"{90 / times:g}°" in plan.caption
    (section,) = [section for section in of.sections if section.true_size]
    assert any(
        isinstance(block, Text) and "Too long for this paper" in block.text for block in section.blocks
    )


# Setting


def test_the_pdf_is_tagged_and_says_it_is_pdf_ua(made: tuple[Sheet, bytes]) -> None:
    """ISO 14289-1: the XMP metadata names the part of PDF/UA, the catalogue marks the file as tagged."""
    content = made[1]
    assert re.search(rb"pdfuaid:part[^0-9]{1,3}1", content)
    assert b"/StructTreeRoot" in content
    with pypdfium2.PdfDocument(content) as document:
        assert document.is_tagged()


def test_the_same_layout_gives_the_same_bytes(made: tuple[Sheet, bytes]) -> None:
    again = sheet(blocks())
    assert again == made[0]
    assert pdf(again, "a4")[0] == made[1]
    assert html(again, "a4") == html(made[0], "a4")


def test_paper_has_its_size(made: tuple[Sheet, bytes]) -> None:
    """A4 of ISO 216: 210 by 297 mm; letter 8.5 by 11 in. A point is 1/72 in."""
    sizes = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "letter": (8.5 * 72, 11 * 72)}
    for paper, size in sizes.items():
        with pypdfium2.PdfDocument(pdf(made[0], paper)[0]) as document:
            assert document[0].get_size() == pytest.approx(size, abs=0.05)


def test_names_come_out_as_text_and_nothing_else() -> None:
    of = sheet(blocks(HOSTILE))
    assert squeezed(HOSTILE) in squeezed("".join(text_of(pdf(of, "a4")[0])))
    page = html(of, "a4")
    assert HOSTILE not in page
    tags: list[str] = []
    words: list[str] = []
    reader = HTMLParser()
    reader.handle_starttag = lambda tag, attrs: tags.append(tag)  # type: ignore[method-assign]
    reader.handle_data = words.append  # type: ignore[method-assign]
    reader.feed(page)
    assert "script" not in tags
    assert HOSTILE in "".join(words)
    assert re.findall(r'<img[^>]* src="(?!data:image/svg)', page) == []


def test_a_title_in_none_of_the_shipped_fonts_is_set_all_the_same_and_said_so() -> None:
    of = Sheet("\U00013000", "x.yaml", "CLEAR", "", (), sheet(blocks()).rulers)
    content, note = pdf(of, "a4")
    assert content.startswith(b"%PDF")
    assert note in (OTHER_FONTS, NO_FONT)  # by the fonts of the machine


def test_what_is_not_clear_says_so_on_every_page() -> None:
    layout = layout_of(
        BLOCKS.format(label="a", x=190.0) + "\nthird: {shape: custom, solids: [{box: [10, 10, 10]}]}", TUBES
    )
    of = sheet(layout)
    pages = text_of(pdf(of, "a4")[0])
    assert len(pages) > 3
    assert all(squeezed(BANNER) in squeezed(page) for page in pages)
    page = html(of, "a4")
    assert page.index(BANNER) < page.index("Findings")
    assert any(
        isinstance(block, Findings) and block.items[0].rule == "overlap"
        for section in of.sections
        for block in section.blocks
    )


def test_a_clear_one_has_no_banner_and_all_that_the_bench_needs(made: tuple[Sheet, bytes]) -> None:
    of, content = made
    text = "".join(text_of(content))
    assert "NOT CLEAR" not in text
    for word in (
        "Mains.",
        "Hot bending.",
        "Leaks.",
        "Local codes",
        "Leak test",
        "Bleed",
        "Drain",
        "signature",
    ):
        assert word in text
    titles = [section.title for section in of.sections]
    assert titles.index("Before you begin") < titles.index("Tubes to cut") < titles.index("Order of assembly")


def test_links_of_a_chain_have_no_order_and_the_sheet_says_so_in_front_and_in_its_place() -> None:
    """Two closed links through each other come apart along no line."""
    bars = (([10, 60, 10], [0, 0, 25]), ([10, 10, 60], [0, 25, 60]), ([10, 60, 10], [0, 0, 95]))
    boxes = [*bars, ([10, 10, 60], [0, -25, 60])]
    one = "solids: [" + ", ".join(f"{{box: {size}, at: {at}}}" for size, at in boxes) + "]"
    parts = (
        f"one: {{shape: custom, {one}}}\ntwo: {{shape: custom, rotate: [0, 0, 90], at: [0, 0, 40], {one}}}"
    )
    layout = layout_of(parts)
    assembly = assembly_of(layout)
    assert [stuck.name for stuck in assembly.stuck] == ["one", "two"]
    text = " ".join("".join(text_of(pdf(sheet(layout), "a4")[0])).split())
    front, order = text.index("No order was found in which all goes in (one, two)"), text.index("NO ORDER")
    assert front < text.index("Before you begin") < order
    assert "two in the way" in text[order:]


# Files


def test_without_typst_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    layout = blocks()
    with pytest.raises(RequestError, match=r"needs typst.*pip install '\.\[sheet\]'"):
        write_sheet(layout, check(layout), tmp_path / "sheet.pdf")
    assert list(tmp_path.iterdir()) == []
    assert write_sheet(layout, check(layout), tmp_path / "sheet.html") == ""
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_only_kinds_and_papers_it_knows(tmp_path: Path) -> None:
    layout = blocks()
    with pytest.raises(RequestError, match=r"ends in \.pdf or \.html"):
        write_sheet(layout, check(layout), tmp_path / "sheet.txt")
    with pytest.raises(RequestError, match="unknown paper 'a5'; known: a4, letter"):
        write_sheet(layout, check(layout), tmp_path / "sheet.pdf", "a5")


def test_the_command_writes_a_sheet_and_exits_by_the_verdict(tmp_path: Path) -> None:
    done = run("sheet", POSTS, "--to", str(tmp_path / "posts.pdf"), "--paper", "letter")
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "posts.pdf").read_bytes().startswith(b"%PDF")
    done = run("sheet", "scenes/broken/overlap.yaml", "--to", str(tmp_path / "overlap.html"))
    assert done.returncode == 1
    assert "NOT CLEAR" in " ".join(done.stderr.split())
    assert BANNER in (tmp_path / "overlap.html").read_text(encoding="utf-8")


def test_where_nothing_can_be_written_it_exits_2(tmp_path: Path) -> None:
    (tmp_path / "taken.pdf").mkdir()
    done = run("sheet", POSTS, "--to", str(tmp_path / "taken.pdf"))
    assert done.returncode == 2
    assert "it is a folder" in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr


def test_the_fonts_come_with_their_licence() -> None:
    fonts = ROOT / "layout3d" / "sheet" / "fonts"
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts / "OFL.txt").read_text(encoding="utf-8")
    assert {path.name for path in fonts.glob("*.ttf")} == {
        "LiberationSans-Regular.ttf",
        "LiberationSans-Bold.ttf",
    }


def test_drawings_are_whole_pixels_so_that_browsers_do_not_stretch_them(made: tuple[Sheet, bytes]) -> None:
    """CSS Values and Units 4, section 5.2: 96 px to the inch of 25.4 mm."""
    for plan in (*made[0].rulers, *plans(made[0])):
        for size, told in zip((plan.width_mm, plan.height_mm), ("width", "height"), strict=True):
            assert size * 96.0 / 25.4 == pytest.approx(round(size * 96.0 / 25.4), abs=1e-9)
            assert float(re.findall(rf'<svg[^>]* {told}="([\d.]+)mm"', plan.svg)[0]) == pytest.approx(
                size, abs=1e-5
            )
