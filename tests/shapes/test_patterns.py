"""Fan hole patterns and threads against published tables."""

from __future__ import annotations

from itertools import pairwise

import pytest

from shapes.patterns import (
    FAN_HOLE_MM,
    FAN_HOLE_SPACING_MM,
    G_THREAD_MAJOR_MM,
    fan_faces,
    fan_holes,
    normalised_thread,
    row_centres,
    threaded_port,
)


@pytest.mark.parametrize(
    ("frame", "spacing"),
    [(80, 71.5), (92, 82.5), (120, 105.0), (140, 124.5), (200, 154.0), (220, 170.0)],
)
def test_fan_hole_spacing_is_the_usual_one(frame, spacing):
    # Wikipedia, "Computer fan", table of sizes and hole spacing; several fan tables agree.
    assert FAN_HOLE_SPACING_MM[frame] == spacing


def test_180_mm_fans_lie_in_the_range_makers_use():
    # Common practice, no source: 153 to 165 mm, there is no standard.
    assert 153 <= FAN_HOLE_SPACING_MM[180] <= 165


def test_fan_hole_lets_an_m4_screw_through():
    # ISO 273, fine series: 4.3 mm for M4. The frame's hole is that of Wikipedia's fan table.
    assert FAN_HOLE_MM == 4.3


@pytest.mark.parametrize(
    ("thread", "major"), [("G1/8", 9.728), ("G1/4", 13.157), ("G3/8", 16.662), ("G1/2", 20.955)]
)
def test_major_diameters_are_those_of_iso_228_1(thread, major):
    assert G_THREAD_MAJOR_MM[thread] == major


def test_g_quarter_agrees_with_the_whitworth_form():
    # ISO 228-1: 19 threads to the inch, 55 degrees, thread height 0.640327 P, minor 11.445.
    pitch = 25.4 / 19
    assert G_THREAD_MAJOR_MM["G1/4"] - 2 * 0.640327 * pitch == pytest.approx(11.445, abs=5e-4)


def test_three_fans_in_a_row_give_the_known_holes():
    # Geometry of flush 120 mm frames: 0, 105, 120, 225, 240, 345 from the first hole.
    holes = fan_faces(size=120, count=3, pitch=120, spacing=105, diameter=3, thickness=30)["a"].rows["120"]
    xs = sorted({hole.at[0] for hole in holes})
    assert [x - xs[0] for x in xs] == [0, 105, 120, 225, 240, 345]
    assert len(holes) == 12
    assert {hole.at[1] for hole in holes} == {-52.5, 52.5}


def test_two_flush_140_mm_fans_leave_15_5_mm_between_their_holes():
    holes = fan_faces(size=140, count=2, pitch=140, spacing=124.5, diameter=4, thickness=30)["b"].rows["140"]
    xs = sorted({hole.at[0] for hole in holes})
    assert [b - a for a, b in pairwise(xs)] == [124.5, 15.5, 124.5]


def test_faces_name_each_other_and_their_row():
    mounts = fan_faces(size=120, count=2, pitch=120, spacing=105, diameter=3, thickness=30)
    assert sorted(mounts) == ["a", "a1", "a2", "b", "b1", "b2"]
    for name, mount in mounts.items():
        other = mounts[mount.opposite]
        assert other.opposite == name
        assert mount.row_of == ("" if len(name) == 1 else name[0])
        apart = mount.mount2part.origin - other.mount2part.origin
        assert tuple(apart) == (0, 0, 30 if name.startswith("a") else -30)


def test_row_and_slots():
    assert row_centres(1, 120) == (0,)
    assert row_centres(4, 120) == (-180, -60, 60, 180)
    holes = fan_holes(105, 4.3, centre_x=60, slot=12)
    assert {hole.at for hole in holes} == {(7.5, -52.5), (112.5, -52.5), (112.5, 52.5), (7.5, 52.5)}
    assert {hole.slot for hole in holes} == {12}


@pytest.mark.parametrize("text", ["G1/4", "g1/4", "G 1/4", ' G  1/4" ', "G1/4 in"])
def test_one_spelling_for_pipe_threads(text):
    assert normalised_thread(text) == "G1/4"


def test_other_threads_keep_their_text():
    assert normalised_thread("G 1 1/2") == "G1 1/2"
    assert normalised_thread("M22 x 1") == "M22 x 1"
    assert normalised_thread("#6-32") == "#6-32"
    with pytest.raises(ValueError, match="write G1/4"):
        normalised_thread("  ")


@pytest.mark.parametrize(
    "text",
    # Designations of ISO 261 (metric), ASME B1.1 (unified), ASME B1.20.1 (NPT) and ISO 7-1 (R, Rp, Rc).
    ["M10", "M3.5", "M10x1.25", "#6-32 UNC", "#6-32 UNC-2B", "1/4-20 UNC", "1/4 NPT", "1/4-18 NPT", "Rp 1/2"],
)
def test_threads_of_other_standards_are_taken_as_written(text):
    assert normalised_thread(text) == text


def test_the_class_of_a_male_pipe_thread_is_no_other_thread():
    # ISO 228-1: A and B are tolerance classes of the external thread.
    assert normalised_thread("G1/4A") == normalised_thread("G 1/4 B") == "G1/4"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1/4", r"did you mean 'G1/4'\?"),
        ('1 1/2"', r"did you mean 'G1 1/2'\?"),
        ("bayonet", "unknown thread 'bayonet': write G1/4"),
        ("G", "unknown thread"),
        ("M", "unknown thread"),
        ("G1/4 x 3", "unknown thread"),
    ],
)
def test_what_is_no_thread_is_refused(text, message):
    with pytest.raises(ValueError, match=message):
        normalised_thread(text)


def test_threaded_port_opens_outward_and_bores_inward():
    port, bore = threaded_port((1.0, 2.0, 3.0), (0.0, -1.0, 0.0), depth=7, into=("tank",))
    assert (port.thread, port.depth) == ("G1/4", 7)
    assert tuple(port.port2part.z_axis) == (0, -1, 0)
    assert tuple(port.port2part.x_axis) == (0, 0, 1)
    assert (bore.diameter, bore.depth, bore.into) == (13.157, 7, ("tank",))
    assert bore.bore2part is port.port2part
