"""The live view as a builder uses it: the program runs, a real browser looks, the file is edited."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.browser import CHROMIUM, ROOT, in_browser, needs_npm, once, workshop

__all__ = ["workshop"]

pytestmark = [needs_npm, in_browser]
#: Ctrl-C as the system sends it; on Windows it would reach the tests too, Ctrl-Break only a group of its own.
INTERRUPT = signal.SIGINT if os.name != "nt" else signal.CTRL_BREAK_EVENT  # type: ignore[attr-defined]
GROUP = 0 if os.name != "nt" else subprocess.CREATE_NEW_PROCESS_GROUP  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def seen(workshop: Path) -> dict[str, Any]:
    """What the browser saw; see preview_page/test/live.mjs."""
    found: dict[str, Any] = json.loads((once(workshop / "live", _drive) / "seen.json").read_text("utf-8"))
    return found


def _drive(folder: Path) -> None:
    scene = folder / "posts.yaml"
    scene.write_bytes((ROOT / "scenes" / "two_posts.yaml").read_bytes())
    command = [sys.executable, "-m", "layout3d", "watch", str(scene), "--no-open"]
    errors = folder / "driver.txt"
    with (
        errors.open("w") as log,
        subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        ) as program,
    ):
        try:
            address = (program.stdout or pytest.fail("no output")).readline().split()[0]
            driving = ["node", "test/live.mjs", str(CHROMIUM), address, str(scene)]
            page = folder.parent / "preview_page"
            with subprocess.Popen(driving, cwd=page, stdout=subprocess.PIPE, stderr=log, text=True) as driver:
                found = _seen(driver, errors)
                program.send_signal(INTERRUPT)
                said, complaints = program.communicate(timeout=20.0)
                found |= _seen(driver, errors)
        finally:
            program.kill()
    found["program"] = {"status": program.returncode, "said": said.splitlines(), "complaints": complaints}
    (folder / "seen.json").write_text(json.dumps(found), "utf-8")


def _seen(driver: subprocess.Popen[str], errors: Path) -> dict[str, Any]:
    """The driver's next line; every wait in it has an end of its own."""
    line = driver.stdout.readline() if driver.stdout is not None else ""
    assert line, f"the browser did not come to its end: {errors.read_text()}"
    seen: dict[str, Any] = json.loads(line)
    return seen


def test_nothing_but_the_three_routes_is_asked_for_and_nothing_refused(seen):
    routes = {request.split("/", 3)[3] for request in seen["requests"]}
    assert routes == {"", "events", "models/KEY"}
    assert all(request.startswith("http://127.0.0.1:") for request in seen["requests"])
    assert seen["complaints"] == []


def test_it_opens_with_the_verdict_and_the_build(seen):
    first = seen["first"]
    assert first["verdict"] == "✓ Everything fits"
    assert first["title"] == "✓ Two posts"
    assert first["parts"] == ["left", "right", "over"]
    assert first["at"]["right"] == [200, 0, 0]
    assert "posts.yaml" in first["follow"]


def test_a_file_saved_by_renaming_another_over_it_is_seen(seen):
    # By hand: posts 40 mm wide whose middles are 30 mm apart overlap by 10 mm.
    moved = seen["moved"]
    assert seen["saidFirst"] == "✗ Does not fit: 1 error"
    assert "overlap by 10 mm" in moved["lists"]
    assert moved["at"]["right"] == [30, 0, 0]
    assert moved["pins"] == ["!1"]
    assert moved["title"] == "✗ Two posts"


def test_how_it_is_looked_at_stays(seen):
    before, moved, last = seen["before"], seen["moved"], seen["last"]
    for state in (moved, seen["broken"], seen["mended"], last):
        assert state["eye"] == before["eye"]
        assert state["section"] is True
        assert state["chosen"] == "right"
    assert moved["focus"] == "right"
    assert moved["ticks"] == {"other parts": True, "tubes": False}


def test_what_is_new_in_a_hidden_group_is_hidden_with_it(seen):
    assert seen["before"]["shown"] == {"left": True, "right": True, "over": False}
    assert seen["moved"]["shown"] == {"left": True, "right": True, "second": False}


def test_only_what_changed_is_sent_again(seen):
    # Two posts and a tube; then the same posts, one of them elsewhere, and another tube.
    assert (seen["models"], seen["modelsAfter"]) == (3, 4)


def test_nothing_is_left_behind_of_earlier_states(seen):
    assert seen["last"]["children"] == seen["first"]["children"]


def test_problems_are_told_with_file_line_and_choices_beside_the_last_good_view(seen):
    broken = seen["broken"]
    assert broken["verdict"] == "! Cannot be read: 2 problems"
    assert broken["stale"] is True
    for words in ("posts.yaml, line 11", "rigid14: {kind: rigged", "did you mean rigid?", "line 21"):
        assert words in broken["lists"]
    assert broken["shown"] == seen["moved"]["shown"]
    assert broken["at"]["right"] == [30, 0, 0]


def test_who_opens_the_page_late_sees_the_last_good_view_and_the_problems(seen):
    assert seen["late"]["verdict"] == "! Cannot be read: 2 problems"
    assert seen["late"]["at"]["right"] == [30, 0, 0]


def test_a_file_that_goes_and_comes_back_is_followed(seen):
    assert "there is no file" in seen["gone"]["lists"]
    assert seen["mended"]["verdict"] == "✓ Everything fits"
    assert seen["mended"]["stale"] is False
    assert seen["mended"]["at"]["right"] == [200, 0, 0]


def test_half_a_file_is_not_told(seen):
    assert seen["pieces"][0] == "✗ Does not fit: 1 error"


def test_names_do_nothing(seen):
    hostile, images, heading, lists = seen["hostile"]
    assert hostile is None
    assert images == 0
    assert heading == "<img src=x onerror=window.hostile=1>"
    assert "cannot be a name" in lists


def test_a_scene_without_parts_shows_an_empty_stage(seen):
    assert seen["empty"][1] == "bare"
    assert seen["last"]["parts"] == ["left", "right", "over"]


def test_a_phone_shows_it_without_scrolling_aside(seen):
    assert seen["wide"] <= 0


def test_no_accessibility_rule_is_broken(seen):
    # axe-core 4.14, all its default rules; WCAG contrast included.
    assert seen["axe"] == {"light": [], "broken": [], "brokenDark": [], "phone": []}


def test_an_interrupt_stops_it_and_the_page_says_so(seen):
    assert seen["program"]["status"] == 0
    assert seen["program"]["complaints"] == ""
    assert seen["program"]["said"][-1] == "stopped"
    assert "stopped" in seen["stopped"]


def test_the_terminal_is_told_each_state(seen):
    said = [line.split("  ", 1)[1] for line in seen["program"]["said"][:-1]]
    assert said[0] == "clear"
    assert said[1] == "not clear: 1 error"
    assert said[2].startswith("cannot be read: posts.yaml:11: tubings.rigid14.kind:")
