"""The live view's server: who it answers to, and what it never gives."""

from __future__ import annotations

import http.client
import os
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from layout3d.errors import RequestError
from layout3d.exporters.contents import contents_of
from layout3d.exporters.glb import encoded
from layout3d.live.board import Board
from layout3d.live.models import Models
from layout3d.live.server import serving
from tests.checks.scenes import layout_of

PARTS = "left: {shape: custom, solids: [{box: [40, 40, 20]}]}"


@pytest.fixture(scope="module")
def models() -> Models:
    return Models()


@pytest.fixture(scope="module")
def board() -> Board:
    return Board()


@pytest.fixture(scope="module")
def port(board: Board, models: Models) -> Iterator[int]:
    with serving("posts.yaml", board, models, 0) as address:
        found = urlsplit(address).port
        assert found is not None
        yield found


def ask(port: int, path: str, method: str = "GET", **headers: str) -> tuple[int, bytes, dict[str, str]]:
    """Status, body and headers; the path goes out as it stands."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5.0)
    host = headers.pop("Host", f"127.0.0.1:{port}")
    connection.putrequest(method, path, skip_host=True)
    for name, value in {"Host": host, **headers}.items():
        if value:
            connection.putheader(name, value)
    connection.endheaders()
    answer = connection.getresponse()
    found = answer.status, answer.read(), {name.lower(): value for name, value in answer.getheaders()}
    connection.close()
    return found


def test_the_page_lets_in_nothing_but_itself(port: int):
    status, body, headers = ask(port, "/")
    assert status == 200
    assert b"posts.yaml" in body
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["cache-control"] == "no-store"
    assert headers["x-content-type-options"] == "nosniff"
    assert "access-control-allow-origin" not in headers


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "evil.example:{port}", ""])
def test_another_host_is_refused_on_every_route(port: int, host: str):
    for path in ("/", "/events", "/models/" + "0" * 64, "/nothing"):
        status, body, _ = ask(port, path, Host=host.format(port=port))
        assert status == 421  # RFC 9110, 15.5.20: misdirected request
        assert b"posts" not in body


def test_it_answers_to_localhost(port: int):
    assert ask(port, "/", Host=f"LocalHost:{port}")[0] == 200


@pytest.mark.parametrize(
    "path",
    [
        "/posts.yaml", "/../etc/passwd", "/models/../../../../etc/passwd", "/models/%2e%2e/%2e%2e/etc/passwd",
        "/models/", "/models/" + "0" * 64, "/models/" + "0" * 63, "/events/", "/?", "/index.html",
        "/favicon.ico", "http://evil.example/",
    ],
)  # fmt: skip
def test_there_is_nothing_else(port: int, path: str):
    status, body, _ = ask(port, path)
    assert (status, body) == (404, b"there is nothing here\n")


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
def test_nothing_can_be_done_to_it(port: int, method: str):
    assert ask(port, "/", method)[0] == 501


def test_it_listens_on_this_machine_alone(port: int):
    # On Linux every address of 127.0.0.0/8 is this machine; a server on all addresses would answer there.
    with pytest.raises(OSError, match=r"refused|timed out|assign"):
        socket.create_connection(("127.0.0.2", port), timeout=0.5).close()


def test_a_shape_is_the_parts_own_glb(port: int, models: Models):
    layout = layout_of(PARTS)
    (row,) = models.take(layout)
    status, body, headers = ask(port, f"/models/{row['key']}")
    assert status == 200
    assert headers["content-type"] == "model/gltf-binary"
    assert body[:4] == b"glTF"
    assert len(body) == pytest.approx(len(encoded(contents_of(layout))), rel=0.05)
    assert models.take(layout_of(PARTS.replace("left", "right"))) == [{**row, "name": "right"}]


def test_shapes_gone_for_two_states_are_forgotten(port: int, models: Models):
    (row,) = models.take(layout_of(PARTS))
    other = PARTS.replace("40, 40", "41, 41")
    for status in (200, 404):
        models.take(layout_of(other))
        other = other.replace("41, 41", "42, 42")
        assert ask(port, f"/models/{row['key']}")[0] == status


def test_events_come_as_they_happen_and_end_with_the_program():
    board = Board()
    heard: list[bytes] = []
    with serving("posts.yaml", board, Models(), 0) as address:
        board.put("state", b"1")
        port = urlsplit(address).port
        connection = http.client.HTTPConnection("127.0.0.1", port or 0, timeout=5.0)
        connection.request("GET", "/events")
        answer = connection.getresponse()
        assert answer.headers["content-type"] == "text/event-stream"
        reader = threading.Thread(target=lambda: heard.extend(answer))
        reader.start()
        _until(lambda: b"data: 1\n" in heard)
        board.put("busy")
        board.put("state", b"2")
        _until(lambda: b"data: 2\n" in heard)
    reader.join(5.0)
    assert heard[-3:-1] == [b"event: end\n", b"data: -\n"]


def test_a_page_that_comes_late_hears_the_latest_state_alone():
    board = Board()
    for number in (b"1", b"2"):
        board.put("state", number)
    board.put("busy")
    assert [(each.kind, each.text) for each in board.after(0, 0.0)] == [("state", b"2"), ("busy", b"")]
    assert board.after(3, 0.0) == ()


def test_a_port_that_is_taken_is_a_request_that_makes_no_sense(port: int):
    taken = pytest.raises(RequestError, match=f"port {port} cannot be had: .*; give another")
    with taken, serving("posts.yaml", Board(), Models(), port):
        pass


def test_many_pages_may_leave_without_a_word(port: int, board: Board, capfd):
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", port), timeout=5.0) as page:
            page.sendall(f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
            page.recv(1)
    board.put("state", b"x" * 100_000)
    board.put("state", b"y" * 100_000)
    assert ask(port, "/")[0] == 200
    assert capfd.readouterr().err == ""


def _until(holds, seconds: float = 5.0) -> None:
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_it_is_no_file_server(port: int, tmp_path: Path):
    assert ask(port, f"/{os.fspath(tmp_path)}")[0] == 404
