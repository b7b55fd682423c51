"""The server as it is started, killed without warning and started again: no edit is lost, sessions go on."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from annotate.archive import Archive
from tests.dashboard.access.callbacks import called, writing_to
from tests.dashboard.access.conftest import ANNOTATOR, PASSWORDS, READER
from tests.dashboard.conftest import SLUG
from tests.dashboard.test_server import free_port


@contextmanager
def running(archive: Path, port: int, *options: str) -> Iterator[subprocess.Popen[str]]:
    """Run ``layakosh serve``; gives its process, once it answers."""
    command = [sys.executable, "-m", "layakosh", "serve", "--archive", str(archive), "--port", str(port), *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        assert "The dashboard is at" in process.stdout.readline()
        yield process
    finally:
        process.kill()
        process.communicate(timeout=60)


class Browser:
    """What keeps cookies and says where it comes from."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.cookies = CookieJar()
        self._opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.cookies))

    def ask(self, path: str, body: bytes | None = None, kind: str = "", **headers: str) -> tuple[int, bytes]:
        told = {"Sec-Fetch-Site": "same-origin", "Content-Type": kind or "application/x-www-form-urlencoded"}
        told |= {name.replace("_", "-"): value for name, value in headers.items()}
        request = urllib.request.Request(self.url + path, data=body, headers=told)
        try:
            with self._opener.open(request, timeout=60) as answer:
                return answer.status, answer.read()
        except urllib.error.HTTPError as error:
            with error:
                return error.code, error.read()

    def log_in(self, name: str, **headers: str) -> int:
        form = urlencode({"name": name, "password": PASSWORDS[name], "to": "/_dash-layout"}).encode()
        return self.ask("/login", form, **headers)[0]

    def call(self, callback: dict[str, Any]) -> tuple[int, bytes]:
        return self.ask("/_dash-update-component", json.dumps(called(callback)).encode(), "application/json")

    def callback(self, pressed: str) -> dict[str, Any]:
        return writing_to(json.loads(self.ask("/_dash-dependencies")[1]), pressed)


def test_an_edit_that_was_answered_and_whoever_was_logged_in_outlive_a_server_that_is_killed(shared: Path) -> None:
    port = free_port()
    browser = Browser(f"http://127.0.0.1:{port}")
    with running(shared, port) as process:
        assert browser.log_in(ANNOTATOR) == 200
        save = browser.callback("save-tihai")
        status, answer = browser.call(save)
        os.kill(process.pid, signal.SIGKILL)
        assert (status, b"Saved as t03" in answer) == (200, True)
        process.wait(timeout=60)
    state = Archive.open(shared).state(SLUG)
    assert state.tihai("t03").landing_s == 18.02
    assert state.tihai("t03").who == ANNOTATOR
    assert Archive.open(shared).history(SLUG)[-1].who == ANNOTATOR
    with running(shared, port):
        assert browser.ask("/_dash-layout")[0] == 200
        assert b"Saved as t04" in browser.call(save)[1]


def test_an_address_that_others_reach_is_refused_without_people_and_says_what_to_do(finished_archive: Path) -> None:
    command = [sys.executable, "-m", "layakosh", "serve", "--archive", str(finished_archive), "--host", "0.0.0.0"]
    told = subprocess.run(
        [*command, "--port", str(free_port())], capture_output=True, text=True, check=False, timeout=60
    )
    assert told.returncode == 2
    assert "layakosh people add" in told.stderr
    assert "Traceback" not in told.stderr


def test_served_to_others_it_says_that_passwords_are_not_encrypted_and_asks_for_one(shared: Path) -> None:
    port = free_port()
    with running(shared, port, "--host", "0.0.0.0") as process:
        browser = Browser(f"http://127.0.0.1:{port}")
        assert browser.ask("/_dash-layout", Accept="application/json")[0] == 403
        assert browser.log_in(READER) == 200
        process.terminate()
        assert "unencrypted" in process.communicate(timeout=60)[1]


def test_the_word_of_a_proxy_is_believed_from_the_proxy_alone(shared: Path) -> None:
    port = free_port()
    how = ("--name", "x.example", "--https")
    told = {"Host": "x.example", "X_Forwarded_For": "192.0.2.7", "X_Forwarded_Proto": "https"}
    with running(shared, port, "--behind-proxy", "127.0.0.1", *how) as process:
        browser = Browser(f"http://127.0.0.1:{port}")
        form = urlencode({"name": READER, "password": "not the right one"}).encode()
        assert browser.ask("/login", form, Origin="https://x.example", **told)[0] == 403
        process.terminate()
        assert "login from 192.0.2.7 failed" in process.communicate(timeout=60)[1]
    with running(shared, port, "--behind-proxy", "192.0.2.99", *how) as process:
        browser = Browser(f"http://127.0.0.1:{port}")
        form = urlencode({"name": READER, "password": "not the right one"}).encode()
        assert browser.ask("/login", form, Origin="https://x.example", **told)[0] == 403
        process.terminate()
        assert "login from 127.0.0.1 failed" in process.communicate(timeout=60)[1]


@pytest.mark.parametrize("length", [17 << 20, 1 << 40])
def test_a_body_that_is_too_long_is_refused_before_it_is_kept(shared: Path, length: int) -> None:
    port = free_port()
    with running(shared, port), socket.create_connection(("127.0.0.1", port), timeout=60) as connection:
        head = f"PUT /sent/x?from=0 HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: {length}\r\n\r\n"
        connection.sendall(head.encode() + b"x" * 1000)
        assert re.match(rb"HTTP/1.1 413", connection.recv(1000))
