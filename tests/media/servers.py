"""Servers on this machine that hold files of a folder: a web server and an object store."""

from __future__ import annotations

import base64
import contextlib
import os
import re
import sys
import threading
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

SECRET = "s3cr3t-signature"
_LOGIN = "Basic " + base64.b64encode(f"me:{SECRET}".encode()).decode()


class WebServer:
    """Gives the files of a folder, whole or in parts; `asked` lists (method, path, range).

    Of what it may do wrong: `moved` names to other addresses, `stumbles` over so many parts.
    """

    def __init__(self, folder, *, parts=True, head=True, sizes=True, marks=True, **more):
        self.folder, self.parts, self.head = Path(folder), parts, head
        self.sizes, self.marks = sizes, marks
        self.moved, self.stumbles = more.get("moved", {}), more.get("stumbles", 0)
        self.asked = []
        self._server = _Server(("127.0.0.1", 0), partial(_Answer, self))
        self._server.daemon_threads = True
        self._thread = threading.Thread(
            target=self._server.serve_forever, args=(0.02,), daemon=True
        )

    def at(self, name, *, signed=True):
        """The address of a file, with a signature that must not be seen anywhere."""
        port = self._server.server_address[1]
        return f"http://127.0.0.1:{port}/{name}" + (f"?signature={SECRET}" if signed else "")

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_):
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


class _Server(ThreadingHTTPServer):
    def handle_error(self, *_):
        """The other side hangs up when it has heard enough."""


class _Answer(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def __init__(self, server, *args):
        self._ours = server
        super().__init__(*args)

    def log_message(self, *_):
        """Say nothing."""

    def do_HEAD(self):
        self._answer(body=False)

    def do_GET(self):
        self._answer(body=True)

    def _answer(self, *, body):
        ours = self._ours
        name, _, query = self.path.lstrip("/").partition("?")
        asked = self.headers.get("Range")
        ours.asked.append((self.command, name, asked))
        if name in ours.moved:
            self._say(302, {"Location": ours.moved[name]})
        elif asked and ours.stumbles:
            ours.stumbles -= 1
            self._say(503)
        elif name.startswith("locked") and self.headers.get("Authorization") != _LOGIN:
            self._say(401)
        elif (name.startswith("private") and SECRET not in query) or not (body or ours.head):
            self._say(403)
        elif not (ours.folder / name).is_file():
            self._say(404)
        else:
            self._give((ours.folder / name).read_bytes(), asked if ours.parts else None, body)

    def _give(self, data, asked, body):
        ours, headers, code = self._ours, {}, 200
        if ours.marks:
            headers["ETag"] = f'"{hash(data):x}"'
        match = re.fullmatch(r"bytes=(\d+)-(\d*)", asked or "")
        if match:
            start, end = int(match[1]), int(match[2] or len(data) - 1)
            headers["Content-Range"] = f"bytes {start}-{min(end, len(data) - 1)}/{len(data)}"
            data, code = data[start : end + 1], 206
        if not ours.parts:
            headers["Accept-Ranges"] = "none"
        self._say(code, headers, data, body=body, size=ours.sizes)

    def _say(self, code, headers=None, data=b"", *, body=True, size=True):
        self.send_response(code)
        for name, value in (headers or {}).items():
            self.send_header(name, value)
        if size:
            self.send_header("Content-Length", str(len(data)))
        else:
            self.send_header("Connection", "close")
            self.close_connection = True
        self.end_headers()
        if body:
            with contextlib.suppress(OSError):  # the other side has seen enough
                self.wfile.write(data)


class ObjectStore:
    """An object store with one bucket, `rushes`; the environment tells its library how to reach it.

    Workers in processes of their own see it, too.
    """

    def __init__(self):
        from moto.server import ThreadedMotoServer

        self._server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)

    def start(self):
        """Start it, and return the environment."""
        _forget_stores()
        self._server.start()
        host, port = self._server.get_host_and_port()
        return {
            "AWS_ENDPOINT_URL_S3": f"http://{host}:{port}",
            "AWS_ACCESS_KEY_ID": "tester",
            "AWS_SECRET_ACCESS_KEY": SECRET,
            "AWS_DEFAULT_REGION": "us-east-1",
            "AWS_EC2_METADATA_DISABLED": "true",
            "AWS_CONFIG_FILE": os.devnull,
            "AWS_SHARED_CREDENTIALS_FILE": os.devnull,
        }

    def fill(self, files):
        """Put files (key to content) into the bucket; the environment must be set."""
        import boto3

        client = boto3.client("s3", endpoint_url=os.environ["AWS_ENDPOINT_URL_S3"])
        client.create_bucket(Bucket="rushes")
        for key, content in files.items():
            client.put_object(Bucket="rushes", Key=key, Body=content)
        client.close()

    def stop(self):
        """End it."""
        _forget_stores()
        self._server.stop()


def _forget_stores():
    """The library keeps its way to a store, whatever the environment says by then."""
    from s3fs import S3FileSystem

    S3FileSystem.clear_instance_cache()


if __name__ == "__main__":  # serves a folder from a process of its own until it is ended
    with WebServer(sys.argv[1]) as web:
        print(web.at("", signed=False), flush=True)
        threading.Event().wait()
