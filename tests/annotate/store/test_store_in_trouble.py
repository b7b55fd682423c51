"""An object store that throttles, refuses, does not answer or loses its answer: told in a line, and nothing lost."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from click.testing import CliRunner

from annotate.errors import CannotWrite, OutOfReach
from annotate.store.objects import ObjectStore
from layakosh import main
from tests.annotate.store.objects_server import environment

URL = "s3://institute/archive"
Answer = tuple[int, bytes]


def told(code: str) -> bytes:
    """An error as the protocol words it."""
    return f'<?xml version="1.0"?><Error><Code>{code}</Code><Message>no</Message></Error>'.encode()


@contextmanager
def a_store(answer: Callable[[str, str, bytes], Answer], monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A server that answers as the function says: called with method, path and content."""

    class Handler(BaseHTTPRequestHandler):
        def answer(self) -> None:
            length = int(self.headers.get("Content-Length") or 0)
            status, content = answer(self.command, self.path, self.rfile.read(length))
            self.send_response(status)
            self.send_header("Content-Length", str(len(content)))
            self.send_header("ETag", '"1"')
            self.send_header("Last-Modified", "Wed, 01 Jan 2020 00:00:00 GMT")
            self.end_headers()
            if self.command != "HEAD":
                self.wfile.write(content)

        do_GET = do_PUT = do_HEAD = answer  # noqa: N815 - names of the base class

        def log_message(self, format: str, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    endpoint = f"http://127.0.0.1:{server.server_address[1]}"
    for name, value in environment(endpoint).items():
        monkeypatch.setenv(name, value)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield endpoint
    finally:
        server.shutdown()
        server.server_close()


@pytest.mark.parametrize(
    ("status", "code", "says"),
    [
        (503, "SlowDown", "asks for fewer requests (503 SlowDown)"),
        (403, "AccessDenied", "refuses access to archive.toml (403 AccessDenied). Look at AWS_ACCESS_KEY_ID"),
        (404, "NoSuchBucket", "There is no bucket 'institute' at http"),
        (418, "Strange", "could not give or take archive.toml (418 Strange)"),
    ],
)
def test_what_a_store_says_is_told_with_what_to_do(
    status: int, code: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with a_store(lambda *_: (status, told(code)), monkeypatch):
        said = CliRunner().invoke(main, ["concerts", "--archive", URL])
    assert said.exit_code == 2
    assert says in said.stderr
    assert len(said.stderr.splitlines()) == 1


def test_a_store_that_nobody_keeps_is_out_of_reach(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in environment("http://127.0.0.1:9").items():
        monkeypatch.setenv(name, value)
    said = CliRunner().invoke(main, ["concerts", "--archive", URL])
    assert said.exit_code == 2
    assert "no answer from http://127.0.0.1:9. Look at the network" in said.stderr


def test_a_store_that_does_not_answer_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("annotate.store.objects.PATIENCE_S", 1)
    release = threading.Event()

    def never(*_: object) -> Answer:
        release.wait(20)
        return 200, b""

    with a_store(never, monkeypatch):
        store = ObjectStore(URL)
        with pytest.raises(OutOfReach, match="could not be reached"):
            store.read("a")
        release.set()


def test_a_put_whose_answer_was_lost_is_found_to_be_done(monkeypatch: pytest.MonkeyPatch) -> None:
    kept: dict[str, bytes] = {}

    def losing(method: str, path: str, content: bytes) -> Answer:
        if method == "PUT":
            kept.setdefault(path, content)
            return 500, told("InternalError")
        return (200, kept[path]) if path in kept else (404, told("NoSuchKey"))

    with a_store(losing, monkeypatch):
        ObjectStore(URL).create_exclusively("a", b"mine")
        with pytest.raises(OutOfReach):  # what is there is somebody else's, and the store is still broken
            ObjectStore(URL).create_exclusively("a", b"another's")
    assert list(kept.values()) == [b"mine"]


def test_a_put_of_which_nothing_can_be_known_is_not_called_undone(monkeypatch: pytest.MonkeyPatch) -> None:
    with a_store(lambda *_: (500, told("InternalError")), monkeypatch), pytest.raises(OutOfReach) as caught:
        ObjectStore(URL).create_exclusively("a", b"mine")
    assert caught.value.unsure
    assert "may have been written all the same" in str(CannotWrite("The edit", caught.value))
    assert "Nothing was changed" in str(CannotWrite("The edit", OutOfReach("No.")))
