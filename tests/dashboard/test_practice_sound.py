"""The practice sound of a piece on its page: chosen by links, made when asked for, kept a while, refused in words."""

from __future__ import annotations

import json

import pytest
import soundfile

from annotate.archive import Archive
from annotate.practice.pieces import piece
from annotate.practice.sounds import parts_planned
from dashboard.app import make_app
from dashboard.library import Library
from dashboard.pages import practice_sound
from dashboard.sounds.asked import CHOICES, asked_of, page_address, sound_address, wishes_of
from dashboard.sounds.made import MadeSounds
from tests.dashboard.conftest import SLUG


@pytest.fixture(scope="module")
def client(finished_archive):
    return make_app(finished_archive).server.test_client()


def shown(finished_archive, key="t01", **wanted):
    page = practice_sound.page(Library(Archive.open(finished_archive)), SLUG, key, wanted)
    return json.dumps([part.to_plotly_json() for part in page.content], default=lambda part: part.to_plotly_json())


def test_every_choice_of_an_address_can_be_wished_for(finished_archive):
    archive = Archive.open(finished_archive)
    for key in ("t01", "p02"):
        of = piece(archive, f"{SLUG}/{key}")
        for name, known in CHOICES.items():
            for each in known:
                for source in CHOICES["from"]:
                    parts, _ = parts_planned(archive, of, wishes_of(asked_of({"from": source, name: each}), of))
                    assert parts[-1].end_s > 1


def test_an_address_says_only_what_is_not_usual():
    asked = asked_of({"speed": "65", "rounds": "nonsense"})
    assert page_address("a b", "t01", asked) == "/practice/sound/a%20b/t01?speed=65"
    assert sound_address("a", "t01", asked | {"as": "mp3"}) == "/practice-sound/a/t01.mp3?speed=65&as=mp3"


def test_the_page_offers_the_sound_its_parts_and_its_choices(finished_archive):
    page = shown(finished_archive, speed="65")
    assert f'"src": "/practice-sound/{SLUG}/t01.opus?speed=65"' in page
    assert "round 2 at 65 %" in page
    assert "palla 3 at 65 %" in page
    assert "keep=1" in page
    assert "Each palla alone" in page
    assert "Each palla alone" not in shown(finished_archive, key="p02")
    assert '"Laya"' not in page
    assert "closing sam" in shown(finished_archive, **{"from": "notation"})


def test_a_sound_is_made_once_sent_in_pieces_and_kept_as_a_file(client, tmp_path, monkeypatch):
    address = f"/practice-sound/{SLUG}/t03x.flac"
    assert client.get(address).status_code == 404
    asked = "speed=100&rounds=1&as=flac"
    whole = client.get(f"/practice-sound/{SLUG}/t01.flac?{asked}&keep=1")
    assert whole.status_code == 200
    assert f"{SLUG}-t01.flac" in whole.headers["Content-Disposition"]
    (tmp_path / "sound.flac").write_bytes(whole.data)
    # count-in, three avartans of seven matras, two matras to close; half a second each
    assert soundfile.info(tmp_path / "sound.flac").frames == round((7 + 21 + 2) * 0.5 * 48000)
    monkeypatch.setattr(MadeSounds, "_made", lambda *_: pytest.fail("it was made again"))
    piece_of = client.get(f"/practice-sound/{SLUG}/t01.flac?{asked}", headers={"Range": "bytes=0-99"})
    assert piece_of.status_code == 206
    assert piece_of.data == whole.data[:100]


@pytest.mark.parametrize(
    ("address", "status", "says"),
    [
        ("t01.wav", 404, ".opus, .mp3, .flac"),
        ("t99.opus", 404, "t99"),
        ("p01.opus?under=theka", 400, "No theka is known"),
    ],
)
def test_what_cannot_be_made_is_told(client, address, status, says):
    answer = client.get(f"/practice-sound/{SLUG}/{address}")
    assert answer.status_code == status
    assert says in answer.text


def test_what_was_made_last_is_kept_within_bounds(finished_archive, monkeypatch):
    sounds = MadeSounds(Archive.open(finished_archive).store)
    monkeypatch.setattr("dashboard.sounds.made.KEPT_BYTES", 10)

    class Written:
        def __init__(self, _function, _place, _address, _wishes, path):
            path.write_bytes(b"a sound")

        def result(self):
            return None

    monkeypatch.setattr("dashboard.sounds.made.Beside", Written)
    of = piece(Archive.open(finished_archive), f"{SLUG}/t01")
    first, second = (sounds.get("a/t01", revision, wishes_of(asked_of({}), of), "opus") for revision in (1, 2))
    assert second.exists()
    assert not first.exists()
    assert sounds.get("a/t01", 2, wishes_of(asked_of({}), of), "opus") == second
