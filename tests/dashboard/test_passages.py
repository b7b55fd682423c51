"""The routes that the player fetches passages and the theka from."""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator
from pathlib import Path

import flask
import numpy as np
import pytest
import soundfile
from flask.testing import FlaskClient

from annotate.archive import Archive
from dashboard import passages
from dashboard.library import Library
from dashboard.listening import listening_routes
from dashboard.passages import LONGEST_MS, passage_routes
from dashboard.theka import LOWEST_SA_HZ, SA_HZ, SOUNDS, dayan_hz, theka_strokes
from tests.dashboard.conftest import SLUG
from theory.talas import all_talas, get_tala


@pytest.fixture(scope="module")
def client(finished_archive: Path) -> Iterator[FlaskClient]:
    archive = Archive.open(finished_archive)
    app = flask.Flask("test")
    app.register_blueprint(passage_routes(lambda slug: archive.sound_path(slug) if slug in archive else None))
    app.register_blueprint(listening_routes(Library(archive)))
    yield app.test_client()
    passages._aside().shutdown()
    passages._aside.cache_clear()


def asked(from_ms: object, to_ms: object, speed: object, slug: str = SLUG) -> str:
    return f"/passage/{slug}?from_ms={from_ms}&to_ms={to_ms}&speed={speed}"


def test_a_passage_comes_as_flac_of_the_length_asked_for(client: FlaskClient) -> None:
    answer = client.get(asked(4000, 6000, 50))
    assert answer.content_type == "audio/flac"
    sound, rate_hz = soundfile.read(io.BytesIO(answer.data))
    assert len(sound) == 4 * rate_hz
    assert np.abs(sound).max() > 0.05


def test_a_passage_that_has_not_changed_is_neither_made_nor_sent_again(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = client.get(asked(4000, 6000, 100))
    monkeypatch.setattr(passages, "_made", lambda *_: pytest.fail("made again"))
    assert client.get(asked(4000, 6000, 100)).data == first.data
    again = client.get(asked(4000, 6000, 100), headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_what_was_made_longest_ago_is_dropped_when_there_is_too_much(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    made: list[int] = []
    monkeypatch.setattr(passages, "KEPT_BYTES", 250)
    monkeypatch.setattr(passages, "_made", lambda _, wanted: made.append(wanted.from_ms) or bytes(100))
    kept = passages.Passages()
    for from_ms in (1, 2, 1, 3, 1, 2):
        kept.get(tmp_path, "", passages.Wanted(from_ms, 10, 100))
    assert made == [1, 2, 3, 2]


def test_a_process_that_was_killed_is_replaced(client: FlaskClient) -> None:
    client.get(asked(4000, 5000, 60))
    for process in passages._aside()._processes.values():
        process.kill()
        process.join()
    answer = client.get(asked(4000, 5000, 61))
    if answer.status_code != 200:  # the death was noticed only when something was asked of it
        assert (answer.status_code, answer.text[-11:]) == (503, "Try again.\n")
        answer = client.get(asked(4000, 5000, 61))
    assert answer.status_code == 200


def test_when_many_wait_for_passages_others_are_told_to_ask_again_and_the_rest_is_answered(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(passages, "_waiting", threading.BoundedSemaphore(1))
    with passages._waiting:
        answer = client.get(asked(4000, 5000, 70))
        assert (answer.status_code, answer.text[-23:]) == (503, "Try again in a moment.\n")
        assert client.get(asked(4000, 5000, 100)).status_code == 200
    assert client.get(asked(4000, 5000, 70)).status_code == 200


@pytest.mark.parametrize(
    "wrong",
    [
        (0, LONGEST_MS + 1, 100),
        (5, 5, 100),
        (6, 5, 100),
        (-1, 5, 100),
        (0, 5, 24),
        (0, 5, 101),
        ("x", 5, 100),
        (0, "", 100),
        (0, 5, "1.5"),
    ],
)
def test_what_is_asked_wrongly_is_told(client: FlaskClient, wrong: tuple[object, object, object]) -> None:
    answer = client.get(asked(*wrong))
    assert answer.status_code == 400
    assert "25 to 100 percent" in answer.text


@pytest.mark.parametrize("slug", ["no-such", "..", "%2e%2e%2fsecret", "..%2f..%2fetc%2fpasswd"])
def test_nothing_but_a_recording_of_the_archive_is_heard(client: FlaskClient, slug: str) -> None:
    assert client.get(asked(0, 1000, 100, slug)).status_code == 404
    assert client.get(f"/listening/{slug}").status_code == 404
    assert client.get(f"/listening/{slug}/rings-rim.flac").status_code == 404


def test_a_passage_after_the_end_and_a_sound_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    path = tmp_path / "sound.opus"
    path.write_text("Dha")
    app = flask.Flask("test")
    app.register_blueprint(passage_routes(lambda _: path))
    answer = app.test_client().get(asked(0, 1000, 100))
    assert (answer.status_code, answer.text) == (404, "The sound of this recording cannot be read.\n")


def test_a_passage_after_the_end_is_told(client: FlaskClient) -> None:
    answer = client.get(asked(60_000, 61_000, 100))
    assert (answer.status_code, answer.text) == (404, "The recording ends before this passage.\n")


def test_the_player_learns_thekas_tihais_and_phrases(client: FlaskClient) -> None:
    answer = client.get(f"/listening/{SLUG}")
    assert list(answer.json["theka"]) == ["rupak"]
    assert answer.json["tihais"][0] == {"from_s": 7.5, "to_s": 14.512, "words": "tihai t01"}
    assert answer.json["phrases"][1] == {"from_s": 4.0, "to_s": 5.5, "words": "phrase R m P"}
    again = client.get(f"/listening/{SLUG}", headers={"If-None-Match": answer.headers["ETag"]})
    assert again.status_code == 304


def test_the_theka_of_rupak_has_no_bass_before_its_fourth_matra() -> None:
    # rupak: Tin Tin Na | Dhin Na | Dhin Na; its first vibhag is khali, where the bass is left out: common practice
    strokes = theka_strokes(get_tala("rupak"))
    assert [x for x, sound, _ in strokes if sound.startswith("rings")] == [3, 5]
    assert [x for x, _, level in strokes if level == 1] == [0]


def test_every_theka_is_struck_within_its_avartan_by_sounds_there_are() -> None:
    for tala in all_talas():
        for x, sound, level in theka_strokes(tala):
            assert 0 <= x < tala.matras
            assert sound in SOUNDS
            assert 0 < level <= 1


@pytest.mark.parametrize("sound", ["rings-rim", "none-dead"])
def test_a_stroke_sounds_at_once_and_dies_away(client: FlaskClient, sound: str) -> None:
    answer = client.get(f"/listening/{SLUG}/{sound}.flac")
    samples, rate_hz = soundfile.read(io.BytesIO(answer.data))
    assert samples.ndim == 1
    assert np.abs(samples[: rate_hz // 200]).max() > 0.1  # within 5 ms
    assert np.abs(samples[-rate_hz // 100 :]).max() < 0.01


@pytest.mark.parametrize("sound", ["rings-loud", "none-none", "..%2f..%2fsecret"])
def test_there_are_no_other_sounds(client: FlaskClient, sound: str) -> None:
    assert client.get(f"/listening/{SLUG}/{sound}.flac").status_code == 404


def test_the_dayan_is_tuned_to_sa_in_the_octave_of_dayans() -> None:
    assert dayan_hz(None) == SA_HZ
    assert dayan_hz(138.6) == 277.2
    assert dayan_hz(440.0) == 220.0
    assert dayan_hz(LOWEST_SA_HZ) == LOWEST_SA_HZ
