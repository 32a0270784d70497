"""Real archives for tests, on this machine only, gone when the test is: Orthanc, dcmtk's storescp, ways to break them.

The packaged Orthanc binds to every interface: it is told to take HTTP from this machine only, and DIMSE from known
callers on it.
"""

from __future__ import annotations

import contextlib
import http.client
import itertools
import json
import os
import shutil
import signal
import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

ORTHANC = shutil.which("Orthanc") or "/usr/sbin/Orthanc"
PLUGIN = Path("/usr/share/orthanc/plugins/libOrthancDicomWeb.so")
HAS_ORTHANC = pytest.mark.skipif(
    not (Path(ORTHANC).exists() and PLUGIN.exists()),
    reason="Orthanc and its DICOMweb plugin are not installed",
)
PATIENCE_S = 60.0


def has_tool(name: str) -> pytest.MarkDecorator:
    """Return a mark that skips where a tool is not installed."""
    return pytest.mark.skipif(shutil.which(name) is None, reason=f"{name} is not installed")


_WORKER = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw")) % 6
_PORTS = itertools.cycle(20_000 + 2_000 * _WORKER + (os.getpid() + n) % 2_000 for n in range(2_000))
"""Below those that systems give to connections and to port 0 (from 32768 on, Linux; from 49152, IANA), other ones for
each process that tests: what is started on such a port a second later finds it free."""


def free_port() -> int:
    """Return a port that nobody listens on, another one at each call."""
    for port in itertools.islice(_PORTS, 2_000):
        with contextlib.suppress(OSError), socket.socket() as one:
            one.bind(("127.0.0.1", port))
            return port
    message = "no port is free"
    raise RuntimeError(message)


def wait_for(port: int, *, alive: subprocess.Popen[bytes] | None = None) -> None:
    """Wait until something listens."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if alive is not None and alive.poll() is not None:
            message = f"the server ended with {alive.returncode}"
            raise RuntimeError(message)
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        time.sleep(0.03)
    message = f"nothing listens on {port}"
    raise RuntimeError(message)


@dataclass
class Orthanc:
    """An Orthanc of a test."""

    folder: Path
    http: int
    dicom: int
    config: dict[str, Any]
    process: subprocess.Popen[bytes] | None = field(default=None, repr=False)

    @property
    def address(self) -> str:
        """Its DIMSE address."""
        return f"dicom://ORTHANC@127.0.0.1:{self.dicom}"

    @property
    def web(self) -> str:
        """Its DICOMweb address."""
        return f"http://127.0.0.1:{self.http}/dicom-web"

    def start(self) -> None:
        """Start it and wait until it listens."""
        file = self.folder / "orthanc.json"
        file.write_text(json.dumps(self.config))
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen([ORTHANC, str(file)], stdout=log, stderr=log)
        wait_for(self.dicom, alive=self.process)
        wait_for(self.http, alive=self.process)

    def kill(self) -> None:
        """End it at once."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait(PATIENCE_S)

    def get(self, place: str, headers: dict[str, str] | None = None) -> Any:
        """Return what its own REST interface says."""
        link = http.client.HTTPConnection("127.0.0.1", self.http, timeout=PATIENCE_S)
        try:
            link.request("GET", place, headers=headers or {})
            return json.loads(link.getresponse().read())
        finally:
            link.close()


@contextlib.contextmanager
def orthanc(folder: Path, **changes: Any) -> Iterator[Orthanc]:
    """Run an Orthanc; changes go into its configuration."""
    home = folder / "orthanc"
    home.mkdir()
    one = Orthanc(home, free_port(), free_port(), {})
    one.config = {
        "Name": "test",
        "StorageDirectory": str(home / "db"),
        "IndexDirectory": str(home / "db"),
        "Plugins": [str(PLUGIN)],
        "HttpPort": one.http,
        "DicomPort": one.dicom,
        "DicomAet": "ORTHANC",
        "DicomCheckCalledAet": True,
        "DicomCheckModalityHost": True,
        "DicomAlwaysAllowEcho": False,
        "DicomAlwaysAllowStore": False,
        "DicomAlwaysAllowFind": False,
        "DicomAlwaysAllowGet": False,
        "RemoteAccessAllowed": False,
        "AuthenticationEnabled": False,
        "DicomModalities": {"radlength": ["RADLENGTH", "127.0.0.1", free_port()]},
        "DicomWeb": {"Enable": True, "Root": "/dicom-web/"},
        **changes,
    }
    try:
        one.start()
        yield one
    finally:
        one.kill()


@contextlib.contextmanager
def storescp(folder: Path, *options: str) -> Iterator[int]:
    """Run dcmtk's receiver; yields its port."""
    port = free_port()
    folder.mkdir(exist_ok=True)
    process = subprocess.Popen(
        ["storescp", *options, "-od", str(folder), str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        wait_for(port, alive=process)
        yield port
    finally:
        process.kill()
        process.wait(PATIENCE_S)


class _Proxy(BaseHTTPRequestHandler):
    """Passes requests on; may ask for a token, and may lose an answer."""

    target: int
    token: str
    losses: list[int]
    seen: list[str]
    protocol_version = "HTTP/1.1"

    def _pass(self) -> None:
        length = int(self.headers.get("Content-Length", 0))
        body = self.rfile.read(length)
        self.seen.append(f"{self.command} {self.path}")
        if self.token and self.headers.get("Authorization") != f"Bearer {self.token}":
            self._say(401, b"", "text/plain")
            return
        link = http.client.HTTPConnection("127.0.0.1", self.target, timeout=PATIENCE_S)
        gone = {"host", "connection", "accept-encoding", *(("authorization",) if self.token else ())}
        headers = {k: v for k, v in self.headers.items() if k.lower() not in gone}
        link.request(self.command, self.path, body or None, headers)
        answer = link.getresponse()
        content = answer.read()
        link.close()
        if self.command == "POST" and self.losses:
            self.losses.pop()
            self.close_connection = True
            self.connection.shutdown(socket.SHUT_RDWR)
            return
        self._say(answer.status, content, answer.headers.get("Content-Type", ""))

    do_GET = do_POST = _pass  # noqa: N815 - the names that http.server looks for

    def _say(self, status: int, content: bytes, kind: str) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def handle(self) -> None:
        """Serve a connection; one that breaks off is none of ours."""
        with contextlib.suppress(OSError):
            super().handle()

    def finish(self) -> None:
        """Close a connection, also one that has gone."""
        with contextlib.suppress(OSError):
            super().finish()

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - as http.server calls it
        """Say nothing."""


@contextlib.contextmanager
def proxy(
    target: int, *, token: str = "", losses: int = 0, tls: ssl.SSLContext | None = None
) -> Iterator[tuple[int, list[str]]]:
    """Run a proxy before an HTTP server; yields its port and what was asked.

    It also speaks TLS for the packaged Orthanc, whose own HTTPS ends in a segmentation fault.
    """
    seen: list[str] = []
    handler = type(
        "Proxy", (_Proxy,), {"target": target, "token": token, "losses": [1] * losses, "seen": seen}
    )
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield int(server.server_address[1]), seen
    finally:
        server.shutdown()
        server.server_close()
        thread.join(PATIENCE_S)


@contextlib.contextmanager
def cutter(target: int, *, cut_after: int) -> Iterator[tuple[int, list[int]]]:
    """Run a TCP relay that cuts the first connection over which more bytes are answered; yields its port and cuts.

    Only the first: who knocks before, and hears nothing, is let through.
    """
    listener = socket.create_server(("127.0.0.1", 0))
    cuts: list[int] = []

    def over(passed: int) -> bool:
        if passed <= cut_after or cuts:
            return False
        cuts.append(passed)
        return True

    def relay() -> None:
        while True:
            try:
                client, _ = listener.accept()
            except OSError:
                return
            server = socket.create_connection(("127.0.0.1", target))
            threading.Thread(target=_pump, args=(client, server), daemon=True).start()
            threading.Thread(target=_pump, args=(server, client, over), daemon=True).start()

    thread = threading.Thread(target=relay, daemon=True)
    thread.start()
    try:
        yield int(listener.getsockname()[1]), cuts
    finally:
        with contextlib.suppress(OSError):
            listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join(PATIENCE_S)


def _pump(
    source: socket.socket, sink: socket.socket, over: Callable[[int], bool] = lambda _passed: False
) -> None:
    passed = 0
    with contextlib.suppress(OSError):
        while data := source.recv(65536):
            passed += len(data)
            if over(passed):
                break
            sink.sendall(data)
    for one in (source, sink):
        with contextlib.suppress(OSError):
            one.shutdown(socket.SHUT_RDWR)
        one.close()
