"""The server of a review: what it answers, and to whom it does not."""

import http.client
import json
import socket
import threading

import pytest

from framecheck.pipeline.pages import read_parts
from framecheck.report.page.pictures import make_pictures
from framecheck.review.server import HOST, ReviewServer
from framecheck.review.session import ReviewSession
from tests.report.catalogs import open_catalog, some_catalog


@pytest.fixture
def served(tmp_path):
    path = some_catalog(tmp_path, clip=False)
    parts = read_parts(path)
    session = ReviewSession(path, parts, make_pictures(parts.entries, lambda _done: None))
    with ReviewServer(session) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.02,))
        thread.start()
        server.catalog_file, server.thread = path, thread
        yield server
        server.shutdown()
        thread.join(5)
        assert not thread.is_alive()


def ask(server, method, where, body=None, **headers):
    connection = http.client.HTTPConnection(HOST, server.server_port, timeout=5)
    given = {"Host": f"{HOST}:{server.server_port}", **headers}
    connection.request(method, where, body, given)
    reply = connection.getresponse()
    content = reply.read()
    connection.close()
    return reply, content


def post(server, name, body, **changed):
    headers = {
        "Origin": f"http://{HOST}:{server.server_port}",
        "Content-Type": "application/json",
        **changed,
    }
    headers = {name: value for name, value in headers.items() if value is not None}
    text = body if isinstance(body, bytes) else json.dumps(body).encode()
    return ask(server, "POST", f"/{server.token}/{name}", text, **headers)


def key_of(server, name):
    return next(
        e.key for e in read_parts(server.catalog_file).entries if e.source.place.name == name
    )


def rows_of(server, name):
    with open_catalog(server.catalog_file) as catalog:
        source = next(one for one in catalog.sources() if one.place.name == name)
        return catalog.rows(source.measurement).frames[0]


def test_it_listens_on_this_machine_alone_at_a_free_port_with_a_secret(served):
    assert served.server_address[0] == "127.0.0.1"
    assert served.server_port > 1023
    assert served.address == f"http://127.0.0.1:{served.server_port}/{served.token}/"
    assert len(served.token) >= 32


def test_the_page_comes_with_headers_that_keep_it_to_itself(served):
    reply, page = ask(served, "GET", f"/{served.token}/")
    assert reply.status == 200
    assert page.startswith(b"<!doctype html>")
    assert reply.headers["Cache-Control"] == "no-store"
    assert reply.headers["X-Frame-Options"] == "DENY"
    assert reply.headers["Referrer-Policy"] == "no-referrer"
    assert "Access-Control-Allow-Origin" not in reply.headers
    assert b"connect-src &#39;self&#39;" in page


@pytest.mark.parametrize(
    ("method", "where"),
    [
        ("GET", "/"), ("GET", "/wrong/"), ("GET", "/{token}"), ("GET", "/{token}/say"),
        ("GET", "/{token}/../"), ("POST", "/say"), ("POST", "/wrong/say"), ("POST", "/{token}/"),
        ("POST", "/{token}/other"),
    ],
)  # fmt: skip
def test_other_addresses_find_nothing(served, method, where):
    where = where.format(token=served.token)
    origin = f"http://{HOST}:{served.server_port}"
    body = b"{}" if method == "POST" else None
    reply, content = ask(
        served, method, where, body, Origin=origin, **{"Content-Type": "application/json"}
    )
    assert reply.status == 404
    assert b"frame" not in content


def test_bytes_beyond_ascii_in_an_address_find_nothing(served):
    host = f"{HOST}:{served.server_port}"
    line = f"GET /{served.token}\u00e9/ HTTP/1.1\r\nHost: {host}\r\n\r\n".encode()
    with socket.create_connection((HOST, served.server_port), timeout=5) as connection:
        connection.sendall(line)
        assert connection.recv(100).startswith(b"HTTP/1.1 404 ")


@pytest.mark.parametrize(
    "changed",
    [
        {"Origin": None}, {"Origin": "http://evil.example"}, {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"}, {"Content-Type": "text/plain"}, {"Content-Type": None},
        {"Host": "evil.example"}, {"Host": "rebound.example:{port}"},
    ],
)  # fmt: skip
def test_no_other_page_can_say_anything(served, changed):
    changed = {
        name: value and value.format(port=served.server_port) for name, value in changed.items()
    }
    key = key_of(served, "02 knees.jpg")
    reply, _ = post(served, "say", {"key": key, "fields": {"people": 7}}, **changed)
    assert reply.status == 404
    assert rows_of(served, "02 knees.jpg")["people"] == 1


def test_what_is_said_is_in_the_catalog_when_the_answer_comes(served):
    key = key_of(served, "02 knees.jpg")
    reply, content = post(served, "say", {"key": key, "fields": {"people": 2, "size": "cowboy"}})
    assert reply.status == 200
    answer = json.loads(content)
    assert (answer["entry"]["people"], answer["entry"]["size"], answer["undo"]) == (2, "cowboy", 1)
    assert rows_of(served, "02 knees.jpg")["size"] == "cowboy"
    _, page = ask(served, "GET", f"/{served.token}/")
    assert b">confirmed</span>" in page
    reply, content = post(served, "undo", {})
    assert (reply.status, json.loads(content)["undo"]) == (200, 0)
    assert rows_of(served, "02 knees.jpg")["people"] == 1
    assert post(served, "undo", {})[0].status == 400


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"[]", b"\xff", b"[" * 60_000, {"key": "nobody", "fields": {"people": 1}},
        {"fields": {"people": 1}}, {"key": 5}, {"key": "x" * 60_000},
    ],
)  # fmt: skip
def test_nonsense_is_refused_and_the_server_goes_on(served, body):
    reply, _ = post(served, "say", body)
    assert reply.status == 400
    assert ask(served, "GET", f"/{served.token}/")[0].status == 200


def test_a_body_that_is_too_long_is_not_read(served):
    reply, _ = post(served, "say", b"{}", **{"Content-Length": "99999999"})
    assert reply.status == 400
    assert reply.headers["Connection"] == "close"


def test_it_ends_when_it_is_told_to(served):
    reply, content = post(served, "end", {})
    assert (reply.status, json.loads(content)) == (200, {"seen": 0})
    served.thread.join(5)
    assert not served.thread.is_alive()
