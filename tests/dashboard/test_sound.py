"""Serving sound in ranges (RFC 9110, section 14)."""

from __future__ import annotations

from pathlib import Path

import flask
import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from dashboard.sound import LONGEST_ANSWER, ByteRange, NotSatisfiableError, parse_range, sound_routes

SIZE = 3 * LONGEST_ANSWER + 17
SOUND = bytes(i * i % 251 for i in range(4096)) * (SIZE // 4096 + 1)


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    path = tmp_path / "listening.ogg"
    path.write_bytes(SOUND[:SIZE])
    app = flask.Flask("test")
    app.register_blueprint(sound_routes(lambda slug: path if slug == "desh" else None))
    return app.test_client()


def test_a_range_answer_is_never_longer_than_a_mebibyte(client: FlaskClient) -> None:
    answer = client.get("/sound/desh", headers={"Range": "bytes=0-"})
    assert answer.status_code == 206
    assert len(answer.data) == LONGEST_ANSWER
    assert answer.headers["Content-Range"] == f"bytes 0-{LONGEST_ANSWER - 1}/{SIZE}"
    assert answer.content_type == "audio/ogg"
    assert answer.headers["Accept-Ranges"] == "bytes"


def test_asking_piece_after_piece_gives_the_whole_file(client: FlaskClient) -> None:
    heard = b""
    while len(heard) < SIZE:
        heard += client.get("/sound/desh", headers={"Range": f"bytes={len(heard)}-"}).data
    assert heard == SOUND[:SIZE]


def test_the_last_bytes_are_given_when_asked_from_the_end(client: FlaskClient) -> None:
    answer = client.get("/sound/desh", headers={"Range": "bytes=-5"})
    assert answer.status_code == 206
    assert answer.data == SOUND[SIZE - 5 : SIZE]


def test_a_range_past_the_end_is_refused_with_the_size(client: FlaskClient) -> None:
    answer = client.get("/sound/desh", headers={"Range": f"bytes={SIZE}-"})
    assert answer.status_code == 416
    assert answer.headers["Content-Range"] == f"bytes */{SIZE}"


@pytest.mark.parametrize("header", ["bytes=1-2,5-6", "matras=1-2", "bytes=-", "bytes=9-2", ""])
def test_a_range_that_cannot_be_read_is_ignored_as_the_standard_asks(client: FlaskClient, header: str) -> None:
    answer = client.get("/sound/desh", headers={"Range": header})
    assert answer.status_code == 200
    assert len(answer.data) == SIZE


def test_an_unchanged_file_is_not_sent_again(client: FlaskClient) -> None:
    etag = client.get("/sound/desh", headers={"Range": "bytes=0-0"}).headers["ETag"]
    assert client.get("/sound/desh", headers={"If-None-Match": etag}).status_code == 304


def test_a_range_of_a_file_that_has_changed_since_gives_the_whole_file(client: FlaskClient) -> None:
    answer = client.get("/sound/desh", headers={"Range": "bytes=0-1", "If-Range": '"another"'})
    assert answer.status_code == 200


def test_a_head_request_tells_length_and_ranges_without_the_sound(client: FlaskClient) -> None:
    answer = client.head("/sound/desh")
    assert (answer.status_code, answer.content_length, answer.data) == (200, SIZE, b"")


@pytest.mark.parametrize("slug", ["no-such", "..", "%2e%2e%2fsecret", "..%2f..%2fetc%2fpasswd"])
def test_a_recording_that_does_not_exist_has_no_sound(client: FlaskClient, slug: str) -> None:
    assert client.get(f"/sound/{slug}").status_code == 404


@given(size=st.integers(1, 5000), first=st.integers(0, 6000), extra=st.integers(0, 6000), longest=st.integers(1, 700))
def test_every_range_lies_inside_the_file_and_is_as_long_as_asked_or_capped(
    size: int, first: int, extra: int, longest: int
) -> None:
    header = f"bytes={first}-{first + extra}"
    if first >= size:
        with pytest.raises(NotSatisfiableError):
            parse_range(header, size, longest)
        return
    piece = parse_range(header, size, longest)
    assert piece is not None
    assert piece.first == first
    assert piece.length == min(extra + 1, size - first, longest)
    assert piece == ByteRange(piece.first, piece.last)
