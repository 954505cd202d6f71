"""The server of the live page: three fixed routes, on this machine's own address and for it alone.

No file is ever served, nothing can be changed through it, and requests that name another host are
refused, so that no page of the web can read it by pointing its own name here (DNS rebinding).
"""

from __future__ import annotations

import contextlib
import os
import re
import socketserver
import sys
import threading
from collections.abc import Iterator
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler
from typing import Any

from layout3d.errors import RequestError
from layout3d.live.board import Board
from layout3d.live.models import Models
from layout3d.live.page import EVENTS, HEADER_POLICY, MODELS, live_page

HOME = "127.0.0.1"
_MODEL = re.compile(re.escape(MODELS) + "([0-9a-f]{64})")
#: A page that was closed is noticed by writing to it this often [s].
_BREATH_S = 10.0
#: Browsers keep connections open for the next request; this long without one closes it [s].
_IDLE_S = 60.0
_HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": HEADER_POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


@contextlib.contextmanager
def serving(file: str, board: Board, models: Models, port: int) -> Iterator[str]:
    """Serve while the block runs; gives the page's address. ``port`` 0: any free one.

    RequestError where the port cannot be had.
    """
    try:
        server = _Server((HOME, port), file, board, models)
    except (OSError, OverflowError) as error:
        why = error.strerror if isinstance(error, OSError) else None
        raise RequestError(
            f"port {port} cannot be had: {why or error}; give another, or leave out --port for any free one"
        ) from error
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield f"http://{HOME}:{server.port}/"
    finally:
        board.put("end")
        server.shutdown()
        server.server_close()
        thread.join()


class _Server(socketserver.ThreadingTCPServer):
    daemon_threads = True
    block_on_close = False
    # On Windows this would let two programs have one port.
    allow_reuse_address = os.name != "nt"
    request_queue_size = 64

    def __init__(self, address: tuple[str, int], file: str, board: Board, models: Models) -> None:
        super().__init__(address, _Handler)
        self.port: int = self.server_address[1]
        self.page = live_page(file).encode()
        self.board, self.models = board, models
        own = [f"{name}:{self.port}" for name in (HOME, "localhost")]
        self.hosts = frozenset([*own, HOME, "localhost"] if self.port == 80 else own)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A page that is closed in the middle of an answer is no fault."""
        if not isinstance(sys.exc_info()[1], ConnectionError | TimeoutError):
            super().handle_error(request, client_address)


class _Handler(BaseHTTPRequestHandler):
    server: _Server
    protocol_version = "HTTP/1.1"
    timeout = _IDLE_S

    def do_GET(self) -> None:
        """One of the routes, or why not."""
        if self.headers.get("Content-Length") or self.headers.get("Transfer-Encoding"):
            self.close_connection = True
        if self.headers.get("Host", "").lower() not in self.server.hosts:
            self._refuse(HTTPStatus.MISDIRECTED_REQUEST, "this server answers to its own address only")
        elif self.path == "/":
            self._answer(HTTPStatus.OK, "text/html; charset=utf-8", self.server.page)
        elif self.path == EVENTS:
            self._tell()
        elif (found := _MODEL.fullmatch(self.path)) and (model := self.server.models.glb(found[1])):
            self._answer(HTTPStatus.OK, "model/gltf-binary", model)
        else:
            self._refuse(HTTPStatus.NOT_FOUND, "there is nothing here")

    def _tell(self) -> None:
        """Events as they come (server-sent events, HTML Living Standard 9.2), until either side ends it."""
        self.close_connection = True
        self._head(HTTPStatus.OK, {"Content-Type": "text/event-stream", "Connection": "close"})
        number = 0
        while True:
            news = self.server.board.after(number, _BREATH_S)
            for message in news:
                number = message.number
                self.wfile.write(b"event: %s\ndata: %s\n\n" % (message.kind.encode(), message.text or b"-"))
                if message.kind == "end":
                    return
            if not news:
                self.wfile.write(b": still here\n\n")

    def _refuse(self, status: HTTPStatus, why: str) -> None:
        self._answer(status, "text/plain; charset=utf-8", f"{why}\n".encode())

    def _answer(self, status: HTTPStatus, kind: str, body: bytes) -> None:
        self._head(status, {"Content-Type": kind, "Content-Length": str(len(body))})
        self.wfile.write(body)

    def _head(self, status: HTTPStatus, headers: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in (_HEADERS | headers).items():
            self.send_header(name, value)
        self.end_headers()

    def version_string(self) -> str:
        """No more than the program's name."""
        return "layout3d"

    def log_message(self, format: str, *args: Any) -> None:
        """Requests are not the user's business."""
