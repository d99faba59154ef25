"""The review on the loopback address: one page, three things to be told, nothing else.

Only this machine can reach it. The address has a secret in it; requests that come from another page
(another `Origin`, or a name that was made to point here) are refused.
"""

from __future__ import annotations

import hmac
import json
import logging
import secrets
import threading
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from framecheck.errors import FramecheckError
from framecheck.review.answers import BadAnswerError
from framecheck.review.session import ReviewSession

LOG = logging.getLogger(__name__)
HOST = "127.0.0.1"
_LONGEST_BODY = 65_536
_SILENCE_S = 20.0
_HEADERS = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class ReviewServer(ThreadingHTTPServer):
    """Serves one review until it is ended.

    Attributes:
        address: what to open in a browser.
    """

    daemon_threads = True

    def __init__(self, session: ReviewSession) -> None:
        super().__init__((HOST, 0), _Handler)
        self.token = secrets.token_urlsafe(24)
        self.session = session
        self.lock = threading.Lock()
        self.hosts = {f"{name}:{self.server_port}" for name in (HOST, "localhost")}
        self.address = f"http://{HOST}:{self.server_port}/{self.token}/"

    def end(self) -> None:
        """Stop serving, from any thread; what was said is in the catalog already."""
        threading.Thread(target=self.shutdown, daemon=True).start()

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that goes away in the middle of an answer is nothing to tell."""
        LOG.debug("request %s of %s broken off", request, client_address, exc_info=True)


class _Handler(BaseHTTPRequestHandler):
    server: ReviewServer
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "framecheck", ""
    timeout = _SILENCE_S

    def do_GET(self) -> None:
        """The page."""
        if self._is_for_us() and self._named() == "":
            with self.server.lock:
                page = self.server.session.page()
            self._answer(HTTPStatus.OK, "text/html; charset=utf-8", page)
        else:
            self._refuse(HTTPStatus.NOT_FOUND)

    def do_POST(self) -> None:
        """What a person says, takes back, or that the review is over."""
        body = self._read_body()
        told = {"say": self._say, "undo": self._undo, "end": self._end}
        named = self._named()
        if not self._is_for_us() or named not in told or not self._is_own_page():
            self._refuse(HTTPStatus.NOT_FOUND)
        elif body is None:
            self._refuse(HTTPStatus.BAD_REQUEST)
        else:
            self._tell(told[named], body)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  # its own name
        """Nothing on the terminal: the address holds the secret."""

    def _tell(self, told: Callable[[dict[str, Any]], object], body: dict[str, Any]) -> None:
        try:
            with self.server.lock:
                answer = told(body)
            self._answer_json(HTTPStatus.OK, answer)
        except BadAnswerError as error:
            self._answer_json(HTTPStatus.BAD_REQUEST, {"why": str(error)})
        except FramecheckError as error:
            self._answer_json(HTTPStatus.INTERNAL_SERVER_ERROR, {"why": str(error)})

    def _say(self, body: dict[str, Any]) -> object:
        return self.server.session.say(str(body.get("key")), body.get("fields"))

    def _undo(self, _body: dict[str, Any]) -> object:
        return self.server.session.undo()

    def _end(self, _body: dict[str, Any]) -> object:
        self.server.end()
        return {"seen": len(self.server.session.seen)}

    def _is_for_us(self) -> bool:
        """The right name and the right secret: another name may have been made to point here."""
        if self.headers.get("Host", "") not in self.server.hosts:
            return False
        token = self.path.split("/")[1] if self.path.count("/") >= 2 else ""
        return hmac.compare_digest(token.encode(), self.server.token.encode())

    def _is_own_page(self) -> bool:
        origin, kind = self.headers.get("Origin", ""), self.headers.get("Content-Type", "")
        same = origin in {f"http://{host}" for host in self.server.hosts}
        return same and kind.split(";")[0].strip() == "application/json"

    def _named(self) -> str:
        parts = self.path.split("/")
        return parts[2] if len(parts) == 3 else "-"

    def _read_body(self) -> dict[str, Any] | None:
        try:
            length = int(self.headers.get("Content-Length", ""))
        except ValueError:
            length = -1
        if not 0 <= length <= _LONGEST_BODY:
            self.close_connection = True
            return None
        try:
            body = json.loads(self.rfile.read(length) or b"{}")
        except (ValueError, RecursionError):
            return None
        return body if isinstance(body, dict) else None

    def _answer_json(self, status: HTTPStatus, content: object) -> None:
        self._answer(status, "application/json", json.dumps(content).encode("ascii"))

    def _refuse(self, status: HTTPStatus) -> None:
        self.close_connection = True
        self._answer(status, "text/plain; charset=utf-8", f"{status.phrase}\n".encode())

    def _answer(self, status: HTTPStatus, kind: str, content: bytes) -> None:
        self.send_response(status)
        for name, value in _HEADERS.items():
            self.send_header(name, value)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        if self.close_connection:
            self.send_header("Connection", "close")
        self.end_headers()
        self.wfile.write(content)
