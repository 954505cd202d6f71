"""What hoses do to the ports they end on: statics, closed forms, and the rules that read them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.findings import Finding
from layout3d.layout import Tube
from layout3d.scene.model import SoftTubing
from layout3d.scene.paths import AutoPath, CutPath
from layout3d.scene.reader import parse_scene
from layout3d.tubes.centreline import length_mm, part_of, start_of
from layout3d.tubes.hose import load, stiffness
from layout3d.tubes.job import TubeJob
from layout3d.tubes.soft import length_windows
from shapes.pose import Vec3
from tests.tubes.jobs import SOFT, End, mouth, scene_of, tube_of

START: End = ((0.0, 0.0, 0.0), "front")
NO_GAP = scene_of(tube_gap=0.0)
STIFF = SoftTubing(kind="soft", outside=16, inside=10, bend_radius=45, modulus=12)

places = st.tuples(*[st.integers(-250, 250)] * 3).map(lambda place: tuple(float(v) for v in place))
words = st.sampled_from(("front", "rear", "roof", "floor", "window", "tray"))


def balance(tube: Tube, tubing: SoftTubing) -> tuple[float, float]:
    """How far forces [N] and moments about the first mouth [N mm] are from holding the hose's weight."""
    assert tube.loads is not None
    assert tube.run is not None
    whole = length_mm(tube.run.pieces)
    count = 400
    middles = [
        start_of(part_of(tube.run.pieces, whole * (k + 0.499) / count, whole)[0])[0] for k in range(count)
    ]
    # The first and last straight are carried by the fittings: their weight is not the rod's.
    weight = np.array([0.0, 0.0, -load(tubing) * whole / count])
    first, last = tube.loads
    ends = [np.asarray(m.origin) for m in tube.mouths]
    forces = np.asarray(first.force) + np.asarray(last.force)
    moments = (
        np.asarray(first.moment)
        + np.asarray(last.moment)
        + np.cross(ends[1] - ends[0], np.asarray(last.force))
    )
    carried = sum(np.cross(np.asarray(point) - ends[0], weight) for point in middles)
    return float(np.linalg.norm(forces - count * weight)), float(np.linalg.norm(moments - carried))


@settings(max_examples=12, deadline=None)
@given(places, words, words)
def test_forces_and_moments_hold_the_weight_and_no_more(place: Vec3, leave: str, arrive: str) -> None:
    """Statics: what the hose does to its two ports together is its weight, in force and in moment."""
    start, end = ((0.0, 0.0, 0.0), leave), (place, arrive)
    if math.dist(place, (0.0, 0.0, 0.0)) < 30.0:
        return
    tube = tube_of(AutoPath(), start, end, SOFT, scene=NO_GAP)
    if tube.loads is None:
        return
    force, moment = balance(tube, SOFT)
    scale = max(math.hypot(*one.force) for one in tube.loads)
    assert force < 1e-9 + 1e-6 * scale
    assert moment < 0.02 * max(math.hypot(*one.moment) for one in tube.loads) + 1e-3 * scale * 300.0


def test_a_bend_of_constant_curvature_only_bends_its_ports() -> None:
    """A half-turn of the right length: moments E I / R at both ends, no force (light, stiff tubing)."""
    radius = 80.0
    tubing = SoftTubing(kind="soft", outside=16, inside=10, bend_radius=60, modulus=4000)
    end: End = ((0.0, 2.0 * radius, 0.0), "front")
    tube = tube_of(CutPath(math.pi * radius), START, end, tubing, scene=NO_GAP)
    assert tube.loads is not None
    wanted = stiffness(tubing) / radius
    for one in tube.loads:
        assert math.hypot(*one.moment) == pytest.approx(wanted, rel=2e-3)
        assert math.hypot(*one.force) < 0.01 * wanted / radius
    # The hose pushes the first port round against the way it bends: it bends to the tray, about +z.
    assert tube.loads[0].moment[2] == pytest.approx(wanted, rel=2e-3)
    assert tube.loads[1].moment[2] == pytest.approx(-wanted, rel=2e-3)


def test_a_level_hose_hangs_half_on_each_port() -> None:
    tube = tube_of(CutPath(310.0), START, ((300.0, 0.0, 0.0), "rear"), SOFT, scene=NO_GAP)
    assert tube.loads is not None
    first, last = tube.loads
    half = -load(SOFT) * 310.0 / 2.0
    assert (first.force[2], last.force[2]) == pytest.approx((half, half), rel=1e-3)
    # Slack pushes both ports apart: the last to the front.
    assert first.force[0] == pytest.approx(-last.force[0])


def test_a_taut_straight_hose_is_told_without_loads() -> None:
    tube = tube_of(AutoPath(), START, ((300.0, 0.0, 0.0), "rear"), SOFT)
    assert (tube.loads, tube.sag_mm) == (None, None)


def test_stiffer_tubing_loads_its_ports_in_proportion_and_sags_less() -> None:
    """Of a shape that weight hardly changes, forces are proportional to the stiffness."""
    end: End = ((150.0, 150.0, 0.0), "window")
    soft, stiff = (
        tube_of(
            CutPath(280.0), START, end, STIFF.model_copy(update={"modulus": m}), scene=scene_of(tube_gap=0.0)
        )
        for m in (400.0, 4000.0)
    )
    assert soft.loads is not None and stiff.loads is not None  # noqa: PT018
    assert math.hypot(*stiff.loads[0].force) == pytest.approx(10 * math.hypot(*soft.loads[0].force), rel=0.02)
    assert soft.sag_mm is not None and stiff.sag_mm is not None  # noqa: PT018
    assert stiff.sag_mm == pytest.approx(soft.sag_mm / 10.0, rel=0.05)


CARD = """layout3d: 1
rules: {{{rules}}}
tubings: {{soft16: {{kind: soft, inside: 10, outside: 16, bend_radius: 45, modulus: 12}}}}
parts:
  pump: {{shape: custom, solids: [{{box: [40, 40, 20], at: [0, 0, 10]}}],
    ports: {{out: {{at: [0, 0, 20], facing: roof}}}}}}
  card: {{shape: custom, at: [90, 0, 90], solids: [{{box: [20, 60, 60], at: [10, 0, 0]}}],
    ports: {{in: {{at: [0, 0, 0], facing: rear}}}}, {limits}}}
tubes: {{over: {{tubing: soft16, from: pump.out, to: card.in, fittings: [none, none], path: auto}}}}
"""


def findings(limits: str = "", rules: str = "") -> list[Finding]:
    return list(check(build(parse_scene(CARD.format(limits=limits, rules=rules), "c.yaml"))).findings)


def test_a_limit_is_kept_or_named() -> None:
    assert findings() == []
    assert findings("port_force: 50 N, port_moment: 2 Nm") == []
    (found,) = findings("port_force: 5 N, port_moment: 200 Nmm")
    assert (found.rule, found.severity, found.parts) == ("port-load", "error", ("card", "over"))
    assert "5 N allowed" in found.message
    assert "0.2 Nm allowed" in found.message
    (found,) = findings("port_moment: 0.2 Nm")
    assert "pulls" not in found.message


def test_the_sag_a_rule_allows() -> None:
    (found,) = findings(rules="tube_sag: 0")
    assert (found.rule, found.severity) == ("tube-sags", "warning")
    assert found.measured_mm is not None
    assert 0.0 < found.measured_mm < 1.0


def test_every_length_in_a_window_does_and_those_beside_it_do_not() -> None:
    start, end = START, ((120.0, 60.0, 0.0), "tray")
    ceiling = 75.0  # nothing of the hose's middle line may rise beyond it toward the tray

    def keeps_clear(run) -> bool:  # type: ignore[no-untyped-def]
        return all(start_of(piece)[0][0] < 120.0 + ceiling for piece in run.pieces)

    spec = tube_of(AutoPath(), start, end, SOFT, keeps_clear=keeps_clear)
    assert spec.cut_mm is not None
    from layout3d.scene.model import TubeSpec
    from layout3d.scene.values import PortRef

    job = TubeJob(
        spec=TubeSpec("over", "some", PortRef("left", "out"), PortRef("right", "in")),
        tubing=SOFT,
        mouths=(mouth(start), mouth(end)),
        insertions=(0.0, 0.0),
        near=(("left",), ("right",)),
        scene=scene_of(),
    )
    windows = length_windows(job, SOFT, keeps_clear)
    assert windows
    assert windows[0][0] == pytest.approx(spec.cut_mm, abs=0.5)
    for low, high in windows:
        for share in (0.05, 0.5, 0.95):
            cut = low + share * (high - low)
            tube = tube_of(CutPath(cut), start, end, SOFT, keeps_clear=keeps_clear)
            assert tube.findings == (), cut
    below = tube_of(CutPath(windows[0][0] - 1.0), start, end, SOFT, keeps_clear=keeps_clear)
    assert {finding.rule for finding in below.findings} <= {"kink", "tube-too-short"}
    assert below.findings
