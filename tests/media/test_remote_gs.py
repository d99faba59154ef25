"""`gs://`: its library against a server that answers the few questions of its JSON interface.

https://cloud.google.com/storage/docs/json_api/v1/objects names the fields.
"""

import json
import re
import threading
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, unquote, urlsplit

import pytest

pytest.importorskip("gcsfs")

from framecheck.media.address import RemotePath
from framecheck.media.files import read_bytes
from framecheck.media.inputs import find_inputs
from framecheck.media.remote import open_remote, stat_remote

FILES = {"day/a.png": bytes(range(256)) * 40, "day/b.mp4": b"b" * 9, "day/n.txt": b"n"}


class _Answer(BaseHTTPRequestHandler):
    def log_message(self, *_):
        """Say nothing."""

    def do_GET(self):
        parts = urlsplit(self.path)
        asked = parse_qs(parts.query)
        match = re.fullmatch(r"(/download)?/storage/v1/b/rushes/o(?:/(.+))?", parts.path)
        key = unquote(match[2] or "") if match else ""
        if key in FILES:
            self._give(key) if match[1] else self._say(200, _told_of(key))
        elif match and not key:
            prefix = asked.get("prefix", [""])[0]
            items = [_told_of(name) for name in FILES if name.startswith(prefix)]
            self._say(200, {"kind": "storage#objects", "items": items})
        else:
            self._say(404, {"error": {"code": 404, "message": "No such object"}})

    def _give(self, key):
        first, last = re.fullmatch(r"bytes=(\d+)-(\d+)", self.headers["Range"]).groups()
        self._send(206, FILES[key][int(first) : int(last) + 1])

    def _say(self, code, content):
        self._send(code, json.dumps(content).encode())

    def _send(self, code, data):
        self.send_response(code)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)


class _Server(ThreadingHTTPServer):
    def handle_error(self, *_):
        """The library hangs up when it has heard enough."""


def _told_of(key):
    return {
        "kind": "storage#object", "name": key, "bucket": "rushes", "size": str(len(FILES[key])),
        "etag": f"tag of {key}", "generation": "1", "updated": "2026-01-01T00:00:00.000Z",
        "timeCreated": "2026-01-01T00:00:00.000Z",
    }  # fmt: skip


@pytest.fixture
def store(monkeypatch):
    server = _Server(("127.0.0.1", 0), _Answer)
    server.daemon_threads = True
    thread = threading.Thread(target=partial(server.serve_forever, 0.02), daemon=True)
    thread.start()
    monkeypatch.setenv("STORAGE_EMULATOR_HOST", f"http://127.0.0.1:{server.server_address[1]}")
    monkeypatch.setenv("GCE_METADATA_HOST", "127.0.0.1:1")  # nobody to sign in with
    yield "gs://rushes"
    server.shutdown()
    server.server_close()
    thread.join()


def test_a_folder_is_searched_and_its_files_are_read_whole_and_in_parts(store, capfd):
    found = find_inputs([f"{store}/day"])
    assert [(one.name, one.kind, one.why) for one in found] == [
        (f"{store}/day/a.png", "still", ""), (f"{store}/day/b.mp4", "clip", ""),
    ]  # fmt: skip
    path = RemotePath(f"{store}/day/a.png")
    assert stat_remote(path) == found[0].path.stat()
    assert read_bytes(path, 10**6) == FILES["day/a.png"]
    reader = open_remote(path)
    reader.seek(300)
    assert reader.read(9) == FILES["day/a.png"][300:309]
    reader.close()
    (gone,) = find_inputs([f"{store}/day/c.png"])
    assert gone.why == "there is no such file or folder"
    assert capfd.readouterr() == ("", "")
