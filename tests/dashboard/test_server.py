"""The server as it is started: it serves pages and sound, compressed where that helps; a taken port is said."""

from __future__ import annotations

import gzip
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.errors import NotAnArchive
from dashboard.errors import PortTaken
from dashboard.server import serve
from tests.dashboard.conftest import SLUG


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="module")
def running(finished_archive: Path) -> Iterator[str]:
    port = free_port()
    code = f"from dashboard.server import serve; serve({str(finished_archive)!r}, port={port})"
    process = subprocess.Popen([sys.executable, "-c", code])
    url = f"http://127.0.0.1:{port}"
    try:
        for _ in range(150):
            try:
                urllib.request.urlopen(url, timeout=5).close()
                break
            except urllib.error.URLError:
                time.sleep(0.2)
        yield url
    finally:
        process.terminate()
        process.wait(timeout=60)


def fetch(url: str, **headers: str) -> tuple[int, dict[str, str], bytes]:
    request = urllib.request.Request(url, headers={key.replace("_", "-"): value for key, value in headers.items()})
    with urllib.request.urlopen(request, timeout=60) as answer:
        return answer.status, dict(answer.headers), answer.read()


def test_any_address_of_a_page_is_answered_with_the_shell(running: str) -> None:
    for address in ("/", "/tihais", "/cycles/x", "/no/such/page"):
        status, _, body = fetch(running + address)
        assert status == 200
        assert b"<title>Layakosh</title>" in body


def test_sound_is_served_in_ranges_and_never_compressed(running: str) -> None:
    status, headers, body = fetch(f"{running}/sound/{SLUG}", Range="bytes=0-99", Accept_Encoding="gzip")
    assert status == 206
    assert headers["Content-Type"] == "audio/flac"
    assert "Content-Encoding" not in headers
    assert body.startswith(b"fLaC")
    assert len(body) == 100


def test_modules_and_style_sheets_have_the_type_that_browsers_insist_on(running: str) -> None:
    for name, kind in (("window/main.mjs", "javascript"), ("fold.mjs", "javascript"), ("10-ground.css", "css")):
        _, headers, _ = fetch(f"{running}/assets/{name}")
        assert kind in headers["Content-Type"]


def test_what_dash_sends_is_compressed(running: str) -> None:
    _, headers, body = fetch(f"{running}/_dash-layout", Accept_Encoding="gzip")
    assert headers["Content-Encoding"] == "gzip"
    assert len(gzip.decompress(body)) > len(body)


def test_twenty_players_that_stopped_reading_do_not_stop_the_server(running: str) -> None:
    host, port = running.removeprefix("http://").split(":")
    stalled = [socket.create_connection((host, int(port)), timeout=10) for _ in range(20)]
    try:
        for connection in stalled:
            connection.sendall(f"GET /sound/{SLUG} HTTP/1.1\r\nHost: {host}\r\nRange: bytes=0-\r\n\r\n".encode())
        assert fetch(running)[0] == 200
    finally:
        for connection in stalled:
            connection.close()


def test_a_port_that_is_taken_is_said_with_what_to_do(finished_archive: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(PortTaken, match="--port"):
            serve(finished_archive, port=int(taken.getsockname()[1]))


def test_a_folder_that_is_no_archive_is_not_served(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("something else")
    with pytest.raises(NotAnArchive):
        serve(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_an_archive_without_recordings_is_served(tmp_path: Path) -> None:
    from dashboard.app import make_app

    Archive.create(tmp_path / "new")
    assert make_app(tmp_path / "new").server.test_client().get("/").status_code == 200
