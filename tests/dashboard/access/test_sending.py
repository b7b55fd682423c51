"""Recordings sent from the browser: in pieces, bounded, known by their content, each person's own."""

from __future__ import annotations

import io
import os
import shutil
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import av
import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from annotate.errors import CannotWrite
from dashboard.access import sending
from dashboard.access.at_hand import Person, Role
from dashboard.access.sending import AGE_S, AT_ONCE, LONGEST_PIECE, Sendings
from dashboard.access.sound_kinds import begins_as_sound
from dashboard.app import make_app
from dashboard.errors import MayNotEdit, SendingRefused
from tests.dashboard.access.conftest import ANNOTATOR, FROM_OUR_PAGE, HERE, PASSWORDS, READER, Client, log_in
from tests.dashboard.conftest import SLUG

ASHA, DEVKANT = Person("Asha", Role.ANNOTATOR), Person("Devkant", Role.ANNOTATOR)
ID3 = b"ID3\x04\x00\x00\x00\x00\x00\x00"
MPD = b'<?xml version="1.0"?><MPD profiles="urn:mpeg:dash:profile:isoff-on-demand:2011"></MPD>'


@pytest.fixture(scope="module")
def flac(shared_once: Path) -> bytes:
    return (shared_once / "recordings" / SLUG / "sound" / "listening.flac").read_bytes()


@pytest.fixture
def sendings(tmp_path: Path) -> Sendings:
    return Sendings(tmp_path, largest=1_000_000)


def send(client: FlaskClient, content: bytes, name: str = "evening.flac", pieces: int = 3) -> str:
    """Send a file as a page does; return its number."""
    begun = client.post("/sent", base_url=HERE, json={"name": name, "size": len(content)}, headers=FROM_OUR_PAGE)
    assert begun.status_code == 201
    number = str(begun.json["number"])
    step = -(-len(content) // pieces)
    for at in range(0, len(content), step):
        answer = put(client, number, at, content[at : at + step])
        assert answer.json == {"received": min(at + step, len(content))}
    return number


def put(client: FlaskClient, number: str, at: int, piece: bytes) -> object:
    return client.put(f"/sent/{number}?from={at}", base_url=HERE, data=piece, headers=FROM_OUR_PAGE)


def whole(client: FlaskClient, number: str) -> object:
    return client.post(f"/sent/{number}/whole", base_url=HERE, headers=FROM_OUR_PAGE)


def test_a_file_sent_in_pieces_arrives_as_it_was_and_is_known_by_its_content(
    shared: Path, client: Client, flac: bytes
) -> None:
    annotator = client(ANNOTATOR)
    number = send(annotator, flac, name="../../etc/evening.txt")
    told = whole(annotator, number).json
    assert told == {"number": number, "name": "evening.txt", "container": "flac", "duration_s": 28.0}
    (folder,) = (shared / "unfinished" / "sent").iterdir()
    assert (folder / "sound").read_bytes() == flac
    assert folder.name == number
    assert annotator.delete(f"/sent/{number}", base_url=HERE, headers=FROM_OUR_PAGE).status_code == 204
    assert list((shared / "unfinished" / "sent").iterdir()) == []


def test_sending_goes_on_where_it_was_after_a_restart(shared: Path, client: Client, flac: bytes) -> None:
    half = len(flac) // 2
    begun = client(ANNOTATOR).post(
        "/sent", base_url=HERE, json={"name": "e.flac", "size": len(flac)}, headers=FROM_OUR_PAGE
    )
    number = begun.json["number"]
    put(client(ANNOTATOR), number, 0, flac[:half])
    again = make_app(shared).server.test_client()
    log_in(again, ANNOTATOR, PASSWORDS[ANNOTATOR])
    assert again.get(f"/sent/{number}", base_url=HERE).json["received"] == half
    refused = put(again, number, 0, flac[:half])
    assert (refused.status_code, refused.json["received"]) == (409, half)
    put(again, number, half, flac[half:])
    assert whole(again, number).json["container"] == "flac"


def test_what_is_not_whole_is_not_looked_at(client: Client, flac: bytes) -> None:
    annotator = client(ANNOTATOR)
    body = {"name": "e.flac", "size": len(flac)}
    number = annotator.post("/sent", base_url=HERE, json=body, headers=FROM_OUR_PAGE).json["number"]
    put(annotator, number, 0, flac[:100])
    answer = whole(annotator, number)
    assert answer.status_code == 409
    assert f"100 of {len(flac)} bytes" in answer.json["error"]


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (b"just some text", "evening.flac"),
        (b"#EXTM3U\nhttp://127.0.0.1/secret.mp3\n", "evening.mp3"),
        (b"ffconcat version 1.0\nfile note.json\n", "evening.wav"),
        (ID3 + b"ffconcat version 1.0\nfile note.json\n", "evening.mp3"),
        (MPD, "evening.m4a"),
        (ID3 + MPD, "evening.mp3"),
        (b"RIFF\x00\x00\x00\x00WAVE" + MPD, "evening.wav"),
        (b"fLaC" + b"\x00" * 2000, "evening.flac"),
        (b"\x7fELF" + b"\x00" * 100, "evening.wav"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "evening.ogg"),
        (b"ID3\xff\xff\xff\xff\xff\xff\xff" + b"\x00" * 100, "evening.mp3"),
    ],
)
def test_what_is_no_sound_is_refused_whatever_it_is_called_and_removed(
    shared: Path, client: Client, content: bytes, name: str
) -> None:
    annotator = client(ANNOTATOR)
    answer = whole(annotator, send(annotator, content, name, pieces=1))
    assert answer.status_code == 415
    assert name in answer.json["error"]
    assert str(shared) not in answer.json["error"]
    assert list((shared / "unfinished" / "sent").iterdir()) == []


@pytest.mark.parametrize(
    ("container", "codec"),
    [
        ("wav", "pcm_s16le"),
        ("mp3", "mp3"),
        ("ogg", "libopus"),
        ("mp4", "aac"),
        ("matroska", "libopus"),
        ("adts", "aac"),
    ],
)
def test_the_kinds_that_are_taken_begin_as_sound(tmp_path: Path, container: str, codec: str) -> None:
    """Files as FFmpeg's writers make them, which are outside this project."""
    path = tmp_path / "sound"
    with av.open(str(path), "w", format=container) as out:
        stream = out.add_stream(codec, rate=48000)
        stream.layout = "stereo"
        frame = av.AudioFrame(format="s16", layout="stereo", samples=4800)
        frame.sample_rate = 48000
        for plane in frame.planes:
            plane.update(bytes(plane.buffer_size))
        resampler = av.AudioResampler(stream.codec_context.format.name, "stereo", 48000, stream.frame_size or 0)
        for packet in (packet for each in resampler.resample(frame) for packet in stream.encode(each)):
            out.mux(packet)
        out.mux(stream.encode(None))
    assert begins_as_sound(path)


@given(content=st.binary(max_size=64))
def test_no_content_breaks_the_look_at_its_beginning(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any"
    path.write_bytes(content)
    assert begins_as_sound(path) in (True, False)


def test_a_reader_cannot_send(client: Client) -> None:
    answer = client(READER).post("/sent", base_url=HERE, json={"name": "e.flac", "size": 9}, headers=FROM_OUR_PAGE)
    assert answer.status_code == 403
    assert "look and listen" in answer.json["error"]


def test_a_reader_is_refused_by_the_sendings_too(sendings: Sendings) -> None:
    with pytest.raises(MayNotEdit):
        sendings.begin(Person("Obeyan", Role.READER), "e.flac", 9)


@pytest.mark.parametrize(
    "body", [None, [], {}, {"name": 3, "size": 9}, {"name": "e", "size": "9"}, {"name": "e", "size": True}]
)
def test_a_request_that_says_no_name_or_length_is_refused(client: Client, body: object) -> None:
    answer = client(ANNOTATOR).post("/sent", base_url=HERE, json=body, headers=FROM_OUR_PAGE)
    assert answer.status_code == 400


def test_one_persons_sending_is_nobody_elses(sendings: Sendings) -> None:
    number = sendings.begin(ASHA, "e.flac", 9).number
    for job in (
        lambda: sendings.find(DEVKANT, number),
        lambda: sendings.add(DEVKANT, number, 0, io.BytesIO(b"x"), 1),
        lambda: sendings.drop(DEVKANT, number),
        lambda: sendings.find(ASHA, "0" * 32),
        lambda: sendings.find(ASHA, "../" + number),
    ):
        with pytest.raises(SendingRefused) as refused:
            job()
        assert refused.value.status == 404
    assert sendings.find(ASHA, number).received == 0


def refusal(job: Callable[[], object]) -> SendingRefused:
    with pytest.raises(SendingRefused) as refused:
        job()
    return refused.value


def test_a_recording_that_is_too_large_or_empty_is_refused_before_it_is_sent(sendings: Sendings) -> None:
    assert refusal(lambda: sendings.begin(ASHA, "e.flac", 1_000_001)).status == 413
    assert refusal(lambda: sendings.begin(ASHA, "e.flac", 0)).status == 400
    assert refusal(lambda: sendings.begin(ASHA, "e.flac", -1)).status == 400


def test_one_person_sends_a_few_at_once_and_others_are_not_kept_waiting(sendings: Sendings) -> None:
    numbers = [sendings.begin(ASHA, f"{i}.flac", 9).number for i in range(AT_ONCE)]
    assert refusal(lambda: sendings.begin(ASHA, "e.flac", 9)).status == 429
    assert sendings.begin(DEVKANT, "e.flac", 9)
    sendings.drop(ASHA, numbers[0])
    assert sendings.begin(ASHA, "e.flac", 9)


def test_a_disk_without_room_is_said_before_anything_is_sent(
    sendings: Sendings, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil.disk_usage("/")._replace(free=sending.KEPT_FREE + 1000)
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: usage)
    sendings.begin(ASHA, "first.flac", 600)
    refused = refusal(lambda: sendings.begin(ASHA, "second.flac", 600))  # the first has room that is promised
    assert refused.status == 507
    assert "no room for second.flac" in str(refused)
    assert sendings.begin(ASHA, "third.flac", 400)


def test_pieces_are_bounded_in_order_and_never_longer_than_the_file(sendings: Sendings) -> None:
    number = sendings.begin(ASHA, "e.flac", 10).number
    assert sendings.add(ASHA, number, 0, io.BytesIO(b"01234"), 5) == 5
    for at, length, status in ((0, 5, 409), (6, 2, 409), (5, 6, 409), (5, 0, 413), (5, LONGEST_PIECE + 1, 413)):
        assert (
            refusal(lambda at=at, length=length: sendings.add(ASHA, number, at, io.BytesIO(b"x" * 20), length)).status
            == status
        )  # type: ignore[misc]
    assert refusal(lambda: sendings.add(ASHA, number, 5, io.BytesIO(b"56"), 5)).status == 400  # it broke off
    assert sendings.find(ASHA, number).received == 5
    assert sendings.add(ASHA, number, 5, io.BytesIO(b"56789"), 5) == 10
    assert sendings.find(ASHA, number).sound.read_bytes() == b"0123456789"


def test_what_nobody_goes_on_with_for_a_day_is_swept_away(sendings: Sendings) -> None:
    old, young = sendings.begin(ASHA, "old.flac", 9), sendings.begin(ASHA, "young.flac", 9)
    os.utime(old.sound, (time.time() - AGE_S - 60,) * 2)
    sendings.begin(ASHA, "another.flac", 9)
    assert not old.folder.exists()
    assert young.folder.exists()


def test_memory_does_not_grow_with_the_recording(tmp_path: Path) -> None:
    sendings = Sendings(tmp_path, largest=1 << 30)
    size, piece = 32 << 20, 4 << 20
    number = sendings.begin(ASHA, "e.wav", size).number
    source = tmp_path / "piece"
    source.write_bytes(bytes(piece))
    tracemalloc.start()
    for at in range(0, size, piece):
        with source.open("rb") as file:
            sendings.add(ASHA, number, at, file, piece)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 1 << 20


def test_a_disk_that_takes_nothing_is_said_in_plain_words(shared: Path, client: Client) -> None:
    (shared / "unfinished").write_text("a file stands where the folder should")
    body = {"name": "e.flac", "size": 9}
    answer = client(ANNOTATOR).post("/sent", base_url=HERE, json=body, headers=FROM_OUR_PAGE)
    assert answer.status_code == 507
    assert "e.flac" in answer.json["error"]


def test_what_somebody_removed_from_the_disk_is_begun_anew(sendings: Sendings) -> None:
    gone = sendings.begin(ASHA, "e.flac", 9)
    shutil.rmtree(gone.folder)
    assert gone.received == 0
    with pytest.raises(CannotWrite):
        sendings.add(ASHA, gone.number, 0, io.BytesIO(b"x"), 1)
    assert sendings.begin(ASHA, "e.flac", 9).received == 0
    assert refusal(lambda: sendings.find(ASHA, gone.number)).status == 404
