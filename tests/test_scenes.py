"""Every shipped scene gives the answer its name or first line promises."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from layout3d.build import build
from layout3d.checks.check import check
from layout3d.findings import Finding
from layout3d.scene.reader import read_scene

SCENES = Path(__file__).parent.parent / "scenes"
BROKEN = sorted((SCENES / "broken").glob("*.yaml"))


def found_in(path: Path) -> list[Finding]:
    return list(check(build(read_scene(path))).findings)


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_a_broken_scene_breaks_the_rule_it_is_named_after(path: Path) -> None:
    rules = {finding.rule for finding in found_in(path)}
    assert rules == {path.stem.replace("_", "-")}


def test_every_rule_the_findings_page_lists_has_a_broken_scene_and_the_other_way_round() -> None:
    page = (SCENES.parent / "docs" / "findings.md").read_text(encoding="utf-8")
    listed = {line.split("`")[1] for line in page.splitlines() if line.startswith("| [`")}
    assert listed == {path.stem.replace("_", "-") for path in BROKEN}
    for rule in listed:
        assert f"\n## {rule}\n" in page


@pytest.mark.parametrize("name", ["editing_tower", "editing_tower_auto", "two_posts"])
def test_shipped_scenes_are_clear_without_a_warning(name: str) -> None:
    assert found_in(SCENES / f"{name}.yaml") == []


@pytest.mark.parametrize("name", ["dual_card", "itx_box"])
def test_where_there_is_no_way_round_tubes_are_only_seen_to_cross(name: str) -> None:
    assert {finding.rule for finding in found_in(SCENES / f"{name}.yaml")} <= {"tube-crossing"}


def test_the_thick_radiator_fouls_and_the_thickest_stack_is_said() -> None:
    findings = found_in(SCENES / "thick_radiator.yaml")
    errors = [finding for finding in findings if finding.severity == "error"]
    assert any(finding.rule in ("keep-out", "overlap") and "board" in finding.parts for finding in errors)
    # By hand: the roof's inner face is 479 mm up and the power cable's room ends 12 mm above the
    # board's top edge at 411 mm: 479 - 423 = 56.
    assert any(finding.remedy is not None and "at most 56 mm fits" in finding.remedy for finding in errors)


def test_the_advice_for_a_stack_is_given_once_and_pointed_to() -> None:
    findings = found_in(SCENES / "thick_radiator.yaml")
    advised = [finding for finding in findings if "at most 56 mm fits" in (finding.remedy or "")]
    assert len(advised) == 1
    pointing = [finding for finding in findings if "a thinner stack, as for" in (finding.remedy or "")]
    assert len(pointing) == 6
    carrier = f"the {advised[0].rule} of {' and '.join(advised[0].parts)}"
    assert all((finding.remedy or "").endswith(carrier) for finding in pointing)


def test_height_limits_alone_warn_and_do_not_fail() -> None:
    limits = [f for f in found_in(SCENES / "thick_radiator.yaml") if "area" in "".join(f.solids)]
    assert limits
    assert {finding.severity for finding in limits} == {"warning"}


def test_the_automatic_tower_is_no_dearer_than_the_kept_paths() -> None:
    kept = build(read_scene(SCENES / "editing_tower.yaml"))
    found = build(read_scene(SCENES / "editing_tower_auto.yaml"))
    for by_hand, by_search in zip(kept.tubes, found.tubes, strict=True):
        assert by_search.search is not None
        assert by_hand.path_mm is not None
        assert by_search.search.cost_mm is not None
        assert by_hand.bends is not None
        cost = by_hand.path_mm + 40.0 * len(by_hand.bends)
        assert by_search.search.cost_mm <= cost + 0.01, by_hand.name


def test_scenes_name_no_schema_they_do_not_meet() -> None:
    jsonschema = pytest.importorskip("jsonschema")
    from layout3d.scene.document import read_document
    from layout3d.scene.schema import scene_schema

    validator = jsonschema.Draft202012Validator(json.loads(json.dumps(scene_schema())))
    for path in SCENES.glob("*.yaml"):
        document, _ = read_document(path.read_text(encoding="utf-8"), path.name)
        assert list(validator.iter_errors(json.loads(json.dumps(document.values)))) == [], path.name
