"""The commands as a user runs them: output, exit status, bad requests."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
POSTS = "scenes/two_posts.yaml"
TOWER = "scenes/editing_tower.yaml"


def run(*arguments: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "layout3d", *arguments]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, encoding="utf-8", check=False)


def told(*arguments: str) -> dict[str, Any]:
    done = run(*arguments)
    assert done.stderr == ""
    result: dict[str, Any] = json.loads(done.stdout)
    return result


def test_check_tells_the_verdict_and_the_cut_list() -> None:
    done = run("check", TOWER)
    assert done.returncode == 0
    assert done.stdout.startswith("CLEAR  Editing tower (editing_tower.yaml)")
    assert "front_gpu" in done.stdout
    assert done.stderr == ""


def test_the_json_result_has_every_key_of_the_contract() -> None:
    result = told("check", POSTS, "--json")
    assert list(result) == [
        "layout3d", "scene", "title", "verdict", "counts", "findings", "tubes", "stats", "odds",
    ]  # fmt: skip
    assert result["odds"] is None
    assert result["verdict"] == "clear"
    assert result["scene"] == "two_posts.yaml"
    assert set(result["counts"]) == {"error", "warning", "note"}
    [tube] = result["tubes"]
    assert list(tube) == [
        "name", "from", "to", "kind", "path_mm", "cut_mm", "insertion_mm", "least_bend_radius_mm", "ends_mm",
        "corners_mm", "bends", "last_straight_mm", "search",
    ]  # fmt: skip
    assert list(tube["bends"][0]) == ["straight_mm", "turn_deg", "bend_deg", "radius_mm", "mark_mm"]
    assert set(result["stats"]) == {"parts", "solids", "pairs_near", "pairs_measured", "seconds"}


def test_findings_have_every_key_of_the_contract() -> None:
    done = run("check", "scenes/broken/overlap.yaml", "--json")
    assert done.returncode == 1
    result = json.loads(done.stdout)
    assert result["verdict"] == "not-clear"
    assert list(result["findings"][0]) == [
        "rule", "severity", "parts", "solids", "measured_mm", "required_mm", "at_mm", "direction", "move_mm",
        "depth_is", "message", "remedy", "where", "doubt_mm",
    ]  # fmt: skip
    assert result["findings"][0]["where"] == "overlap.yaml:9"


def test_the_same_scene_gives_the_same_json_but_for_the_seconds() -> None:
    first, second = told("check", TOWER, "--json"), told("check", TOWER, "--json")
    for result in (first, second):
        result["stats"].pop("seconds")
    assert first == second
    assert "-0.0" not in json.dumps(first).replace("-0.00", "")


def test_warnings_alone_exit_0() -> None:
    done = run("check", "scenes/broken/port_open.yaml")
    assert done.returncode == 0
    assert "warning: port-open" in done.stdout


def test_an_unreadable_scene_exits_2_with_file_and_line() -> None:
    done = run("check", "scenes/broken/unreadable/decimal_comma.yaml")
    assert done.returncode == 2
    assert done.stdout == ""
    assert "decimal_comma.yaml:" in " ".join(done.stderr.split())
    as_json = run("check", "scenes/broken/unreadable/decimal_comma.yaml", "--json")
    assert as_json.returncode == 2
    result = json.loads(as_json.stdout)
    assert list(result) == ["layout3d", "scene", "verdict", "problems"]
    assert result["verdict"] == "unreadable"
    assert list(result["problems"][0]) == ["file", "line", "key", "message", "choices"]
    assert isinstance(result["problems"][0]["line"], int)


def test_tubes_as_table_json_and_csv() -> None:
    assert "straight mm" in run("tubes", TOWER).stdout
    result = told("tubes", TOWER, "--json")
    rows = list(csv.DictReader(io.StringIO(run("tubes", TOWER, "--csv").stdout)))
    assert {row["tube"] for row in rows} == {tube["name"] for tube in result["tubes"]}
    for tube in result["tubes"]:
        of_tube = [row for row in rows if row["tube"] == tube["name"]]
        # What the bench cuts and bends adds up to the path.
        straights = sum(float(row["straight_mm"]) for row in of_tube)
        arcs = sum(float(r["bend_deg"]) * float(r["radius_mm"]) for r in of_tube if r["bend_deg"])
        assert straights + arcs * 3.141592653589793 / 180 == pytest.approx(tube["path_mm"], abs=0.01)
        assert tube["cut_mm"] == pytest.approx(tube["path_mm"] + sum(tube["insertion_mm"]), abs=1e-5)


@pytest.mark.parametrize("command", ["tubes", "ports"])
@pytest.mark.parametrize("how", [(), ("--json",)])
def test_lists_of_a_layout_that_is_not_clear_warn_and_exit_1(command: str, how: tuple[str, ...]) -> None:
    done = run(command, "scenes/broken/gap.yaml", *how)
    assert done.returncode == 1
    told = "NOT CLEAR: 1 error stands (layout3d check scenes/broken/gap.yaml): do not cut by this list"
    assert told in " ".join(done.stderr.split())
    assert "NOT CLEAR" not in done.stdout
    if how:
        json.loads(done.stdout)
    assert "NOT CLEAR" not in run(command, POSTS).stderr


def test_ports_tell_place_facing_thread_and_user() -> None:
    assert "reservoir.bottom" in run("ports", TOWER).stdout
    rows = {row["port"]: row for row in told("ports", TOWER, "--json")["ports"]}
    assert rows["pump.out"]["facing"] == [1.0, 0.0, 0.0]
    assert rows["pump.out"]["thread"] == "G1/4"
    assert rows["pump.out"]["used_by"] == ["tube pump_front"]
    assert rows["pump.in"]["used_by"] == ["reservoir.bottom"]


def test_shapes_tell_unit_default_range_and_source() -> None:
    listed = run("shapes").stdout
    assert "radiator" in listed
    full = run("shapes", "radiator").stdout
    for word in ("thickness", "18 to 100 mm", "where the defaults come from", "opens to", "slides to"):
        assert word in full
    assert max(map(len, (listed + full).splitlines())) <= 100
    wrong = run("shapes", "radiater")
    assert wrong.returncode == 2
    assert "did you mean radiator?" in " ".join(wrong.stderr.split())


def test_new_writes_a_scene_that_is_clear_and_never_overwrites(tmp_path: Path) -> None:
    done = run("new", "mine.yaml", cwd=tmp_path)
    assert done.returncode == 0
    assert {path.name for path in tmp_path.iterdir()} >= {"mine.yaml"}
    assert len(list(tmp_path.iterdir())) == 2
    assert run("check", "mine.yaml", cwd=tmp_path).returncode == 0
    before = (tmp_path / "mine.yaml").read_bytes()
    again = run("new", "mine.yaml", cwd=tmp_path)
    assert again.returncode == 2
    assert "mine.yaml" in " ".join(again.stderr.split())
    assert (tmp_path / "mine.yaml").read_bytes() == before


def test_shapes_write_defaults_as_a_scene_would() -> None:
    plate = run("shapes", "distribution_plate").stdout
    assert "{in: {face: roof, at: [-120, 0]}, out: {face: roof, at: [120, 0]}}" in plate
    assert "{main: {joins: [in, out]}}" in plate


def test_schema_is_json() -> None:
    assert told("schema")["$schema"].startswith("https://json-schema.org/")


@pytest.mark.parametrize(
    ("arguments", "fragment"),
    [
        (("check", "missing.yaml"), "missing.yaml"),
        (("check", "scenes"), "folder"),
        (("check", "scenes/two_post.yaml"), "two_posts.yaml"),
        (("export", POSTS, "--to", "README.md"), "README.md"),
        (("export", POSTS, "--to", "out", "--as", "stepp"), "step"),
        (("tubes", "missing.yaml"), "missing.yaml"),
        (("ports", "missing.yaml"), "missing.yaml"),
        (("export", "missing.yaml", "--to", "out"), "missing.yaml"),
        (("new", "nowhere/at/all.yaml"), "nowhere"),
        (("chek", POSTS), "chek"),
        (("check", "x" * 300 + ".yaml"), "x" * 300),
        (("new", "x" * 300 + ".yaml"), "x" * 300),
        (("tubes", POSTS, "--json", "--csv"), "one of --json and --csv"),
    ],
)
def test_requests_that_make_no_sense_exit_2_in_words(arguments: tuple[str, ...], fragment: str) -> None:
    before = (ROOT / "out").exists()
    done = run(*arguments)
    assert done.returncode == 2
    assert fragment in " ".join(done.stderr.split())
    assert "Traceback" not in " ".join(done.stderr.split())
    assert (ROOT / "out").exists() is before


def test_export_writes_and_still_says_that_errors_stand(tmp_path: Path) -> None:
    done = run("export", "scenes/broken/gap.yaml", "--to", str(tmp_path / "out"), "--as", "glb")
    assert done.returncode == 1
    assert [path.suffix for path in (tmp_path / "out").iterdir() if path.suffix == ".glb"] == [".glb"]
    assert "error" in " ".join(done.stderr.split())


def test_help_names_every_command() -> None:
    done = run("--help")
    assert done.returncode == 0
    for command in ("check", "export", "tubes", "ports", "shapes", "new", "schema"):
        assert command in done.stdout
    assert run("--version").stdout.startswith("layout3d 0.")


def test_a_stranger_called_shapes_is_named_not_run(tmp_path: Path) -> None:
    (tmp_path / "shapes.py").write_text("raise SystemExit('the stranger ran')\n", encoding="utf-8")
    script = f"import sys; sys.path.insert(0, {str(tmp_path)!r}); from layout3d.cli import main; main()"
    command = [sys.executable, "-c", script, "check", POSTS]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "is not layout3d's" in " ".join(done.stderr.split())
    assert "the stranger ran" not in " ".join(done.stderr.split())


@pytest.mark.parametrize("command", ["check", "tubes", "ports"])
def test_with_json_an_unreadable_scene_is_an_answer_too(command: str) -> None:
    done = run(command, "scenes/broken/unreadable/decimal_comma.yaml", "--json")
    assert done.returncode == 2
    assert json.loads(done.stdout)["verdict"] == "unreadable"


def test_the_bench_plan_of_a_shipped_build(tmp_path: Path) -> None:
    text = (ROOT / TOWER).read_text(encoding="utf-8")
    scene = tmp_path / "tower.yaml"
    scene.write_text(f"{text}\nbench: {{rigid14: {{stock: 500, trim: 3}}}}\n", encoding="utf-8")
    done = run("bench", str(scene))
    assert (done.returncode, done.stderr) == (0, "")
    assert "fewer would not do" in done.stdout
    result = told("bench", str(scene), "--json")
    tubes = {tube["name"]: tube for tube in told("check", str(scene), "--json")["tubes"]}
    for tube in result["tubes"]:
        assert abs(tube["cut_mm"] - tubes[tube["name"]]["cut_mm"]) < 0.5
        assert tube["saw_mm"] == tube["cut_mm"] + 3.0
        assert len(tube["marks"]) == len(tubes[tube["name"]]["bends"])
        assert (tube["findings"], tube["blocked"]) == ([], [])
    pieces = [name for length in result["cuttings"]["rigid14"]["lengths"] for name in length["pieces"]]
    assert sorted(pieces) == sorted(tubes)


def test_the_lengths_a_hose_may_have(tmp_path: Path) -> None:
    text = (ROOT / "scenes/broken/kink.yaml").read_text(encoding="utf-8")
    scene = tmp_path / "hose.yaml"
    scene.write_text(text.replace("{cut: 265}", "auto"), encoding="utf-8")
    result = told("bench", str(scene), "--lengths", "--json")
    (low, high), *_ = result["windows_mm"]["over"]
    shortest = told("check", str(scene), "--json")["tubes"][0]["cut_mm"]
    assert abs(low - shortest) < 1.0
    for cut, status in ((low + 1.0, 0), (high - 1.0, 0), (low - 2.0, 1)):
        scene.write_text(text.replace("265", f"{cut:.2f}"), encoding="utf-8")
        assert run("check", str(scene)).returncode == status, cut
    assert "Lengths a soft tube may be cut to" in run("bench", str(scene), "--lengths").stdout


def test_the_bench_plan_as_rows() -> None:
    rows = {kind: list(csv.DictReader(io.StringIO(run("bench", POSTS, "--csv", kind).stdout))) for kind in
            ("marks", "points", "lra", "cuts")}  # fmt: skip
    # Two corners at 90 degrees, R 36: straights 20, 128, 70 between posts 200 apart.
    assert [row["length_mm"] for row in rows["lra"]] == ["20.0", "128.0", "70.0"]
    assert [row["angle_deg"] for row in rows["lra"]] == ["90.0", "90.0", ""]
    assert next((row["x_mm"], row["z_mm"]) for row in rows["points"]) == ("0.0", "70.0")
    assert next(row["mark_mm"] for row in rows["marks"]) == "20.0"
    assert [row["tube"] for row in rows["cuts"]] == ["over"]


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("--csv", "xyz"), "marks, points, lra, cuts"),
        (("--end", "left"), "from, to"),
        (("--csv", "lra", "--json"), "--json and --csv"),
    ],
)
def test_bench_requests_that_make_no_sense(arguments: tuple[str, ...], named: str) -> None:
    done = run("bench", POSTS, *arguments)
    assert done.returncode == 2
    assert named in " ".join(done.stderr.split())


DOUBT = "layout3d: 1\nparts:\n  a: {shape: custom, solids: [{box: [40, 40, 20]}]}\n" + (
    "  b: {shape: custom, at: [41.1 +- 0.2, 0, 0], solids: [{box: [40, 40, 20]}]}\n"
)


def test_check_tells_the_odds_when_asked(tmp_path: Path) -> None:
    scene = tmp_path / "doubt.yaml"
    scene.write_text(DOUBT, encoding="utf-8")
    done = run("check", scene, "--odds", "--draws", "400")
    assert done.returncode == 1
    assert "of 400 builds clear" in done.stdout
    assert "0.2 mm is measuring doubt" in " ".join(done.stdout.split())
    result = json.loads(run("check", scene, "--odds", "--draws", "400", "--json").stdout)
    assert result["odds"]["draws"] == 400
    assert result["odds"]["share_low"] < result["odds"]["share"] < result["odds"]["share_high"]
    assert result["findings"][0]["doubt_mm"] == pytest.approx(0.2)
    advice = "measure parts.b.at[0] to +- 0.1 mm; if what is written stands, it is settled"
    assert result["findings"][0]["remedy"] == advice


def test_odds_of_a_scene_without_tolerances_make_no_sense() -> None:
    done = run("check", POSTS, "--odds")
    assert done.returncode == 2
    assert "+- 0.5" in done.stderr
    assert run("check", POSTS, "--draws", "10").returncode == 2
