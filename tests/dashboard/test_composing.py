"""The page on which tihais are composed, asked by HTTP: addresses, what answers them, what sounds, and what is kept."""

from __future__ import annotations

import io
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import numpy as np
import pytest
import soundfile
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.compositions.shelf import Shelf
from annotate.verify import verify_recording
from dashboard.access.at_hand import Person, Role, acting_as
from dashboard.app import make_app
from dashboard.composing.asked import CHOICES, USUAL, address, paper_address, piece_fields, read, sa_hz, wanted_fields
from dashboard.composing.run import drawing_data, run_of, small_run
from dashboard.composing.score import score_of
from dashboard.composing.shown import carry_of, found_of
from dashboard.composing.sounds import sound_flac
from tests.dashboard.conftest import SLUG
from tests.theory.strategies import bol_passages, matra_of, not_negative, talas
from theory.composing import PLAIN_KINDS, ROUND_KINDS, Piece, Wanted, find
from theory.talas import get_tala
from theory.tihai import LandingRule, landing_offset

FIVES = {"plays": "Dha Ti Ta Ka Dha", "at": "1", "gap": "1"}


def chosen(href: str) -> dict[str, str]:
    return dict(parse_qsl(urlsplit(href).query))


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    return Archive.create(tmp_path / "archive")


@pytest.fixture
def client(archive: Archive) -> FlaskClient:
    return make_app(archive.path).server.test_client()


@pytest.fixture
def ask(client: FlaskClient) -> Callable[..., dict[str, Any]]:
    def asked(**choices: str) -> dict[str, Any]:
        answer = client.get("/compose/answer", query_string=choices)
        assert answer.status_code == 200
        return dict(answer.get_json())

    return asked


# -- addresses -------------------------------------------------------------------------------------------------------


@given(data=st.data())
@settings(max_examples=100, deadline=None)
def test_an_address_gives_back_what_was_wanted_and_the_piece_that_is_open(data: st.DataObject) -> None:
    tala = data.draw(talas)
    limit = st.none() | st.builds(Fraction, st.integers(1, 24), st.sampled_from((1, 2, 3)))
    wanted = Wanted(
        tala,
        start=data.draw(matra_of(tala)),
        target=data.draw(matra_of(tala)),
        rule=data.draw(st.sampled_from(LandingRule)),
        kind=data.draw(st.sampled_from(("", *PLAIN_KINDS, *ROUND_KINDS))),
        subdivision=data.draw(st.sampled_from((1, 2, 3, 4, 6, 8))),
        palla=data.draw(st.none() | bol_passages()),
        palla_least=data.draw(limit),
        dam_most=data.draw(limit),
        cycles_most=data.draw(st.none() | st.integers(0, 9)),
        syllables=data.draw(st.sampled_from(("bols", "sargam"))),
    )
    between = data.draw(st.none() | not_negative)
    piece = Piece(
        tala,
        data.draw(matra_of(tala)),
        wanted.target,
        wanted.counted,
        data.draw(bol_passages()),
        data.draw(not_negative),
        data.draw(st.none() | bol_passages()) if between is not None else None,
        between,
    )
    written = address({**wanted_fields(wanted), **piece_fields(piece)})
    asked = read(chosen(written))
    assert asked.wrong == {}
    assert (asked.wanted, asked.piece) == (wanted, piece)
    assert asked.address() == written


@given(st.dictionaries(st.sampled_from(sorted(USUAL)), st.text(max_size=30)))
@settings(max_examples=200, deadline=None)
def test_whatever_stands_in_an_address_is_read_or_told_beside_its_field(told: dict[str, str]) -> None:
    asked = read(told)
    assert set(asked.wrong) <= set(USUAL)
    assert all(asked.wrong.values())
    assert (asked.wanted is None) == bool(set(asked.wrong) & set(CHOICES))
    assert 20 <= asked.per_minute <= 480


def test_what_is_as_usual_does_not_stand_in_the_address() -> None:
    assert read({"tala": "teental", "from": "1"}).address() == "/compose"
    assert read({"tala": "rupak"}).address(cycles="2") == "/compose?tala=rupak&cycles=2"


def test_a_tihai_of_a_recording_opens_with_its_palla_start_and_target(finished_archive: Path) -> None:
    verdict = verify_recording(Archive.open(finished_archive), SLUG)[0]
    assert verdict.paper is not None
    piece = read(chosen(paper_address(verdict.paper))).piece
    assert piece is not None
    assert (piece.tala.key, piece.paper.sum) == ("rupak", verdict.paper.sum)


# -- what is found and shown -------------------------------------------------------------------------------------------


@given(
    tala=talas,
    kind=st.sampled_from(("", *PLAIN_KINDS, *ROUND_KINDS)),
    parts=st.sampled_from(("1", "2")),
    by=st.sampled_from(("within", "after")),
)
@settings(max_examples=60, deadline=None)
def test_each_solution_that_is_shown_opens_as_a_piece_that_lands(tala, kind, parts, by) -> None:
    found = found_of(read({"tala": tala.key, "kind": kind, "parts": parts, "by": by, "most": "12"}))
    assert found["error"] == ""
    for row in found["rows"]:
        piece = read(chosen(row.href)).piece
        assert piece is not None
        assert (piece.start + landing_offset(piece.tihai, piece.rule) - 1) % tala.matras == 0
        assert row.small.lands
        assert read(chosen(row.score)).piece == piece


def test_the_kind_that_is_asked_for_is_told_by_its_definition(ask: Callable[..., dict[str, Any]]) -> None:
    assert "half a matra or less" in ask(kind="bedam_half", parts="2")["found"]
    assert "(tablalegacy.com)" in ask(kind="damdar_half")["found"]


def test_more_than_are_shown_is_said_and_can_be_shown() -> None:
    found = found_of(read({"parts": "8", "most": "10"}))
    assert (len(found["rows"]), found["count"] - 10) == (10, found["rest"])
    assert len(found_of(read(chosen(found["more"])))["rows"]) > 10


def test_where_nothing_lands_the_changes_that_are_offered_land(ask: Callable[..., dict[str, Any]]) -> None:
    choices = {"kind": "bedam", "shortest": "7", "longest": "7"}
    offers = found_of(read(choices))["offers"]
    assert offers[0][0] == "from matra 13, 4 matras earlier"
    assert all(found_of(read(chosen(href)))["count"] == count > 0 for _, href, count in offers)
    assert "Nothing lands" in ask(**choices)["found"]


def test_a_field_that_cannot_be_read_is_told_by_its_name_and_the_opened_piece_stays(
    ask: Callable[..., dict[str, Any]],
) -> None:
    answer = ask(longest="five", **FIVES)
    assert "'five' is not a count of matras" in answer["wrong"]["longest"]
    assert "5 + 1 + 5 + 1 + 5" in answer["opened"]
    assert "outside Teental" in ask(**{"from": "17"})["wrong"]["from"]


def test_what_is_typed_is_never_markup(ask: Callable[..., dict[str, Any]]) -> None:
    answer = ask(longest="<script>x", palla="<img src=x>", **{"from": '"><b>'})
    for part in ("form", "found", "opened"):
        assert "<script" not in answer[part]
        assert "<img" not in answer[part]
        assert '"><b>' not in answer[part]


def test_a_hand_written_palla_that_misses_has_mends_that_land(ask: Callable[..., dict[str, Any]]) -> None:
    answer = ask(plays="R m P N S'", gap="2")
    assert "Overshoots sam by 2" in answer["opened"]
    assert "Make the dam 1 matra instead of 2." in answer["opened"]
    assert "lands" in ask(plays="R m P N S'", gap="1")["opened"]


def test_the_filler_is_said_to_be_one_until_it_is_written_over(ask: Callable[..., dict[str, Any]]) -> None:
    row = found_of(read({}))["rows"][0]
    assert "only a filler" in ask(**chosen(row.href))["opened"]
    assert "only a filler" not in ask(**FIVES)["opened"]


def test_carried_into_another_tala_every_choice_lands_and_can_be_heard() -> None:
    told = carry_of(read({**FIVES, "into": "rupak"}))
    assert told["choices"]
    for choice in told["choices"]:
        piece = read(chosen(choice["href"])).piece
        assert piece is not None
        assert piece.tala.key == "rupak"
        assert piece.paper.lands
        assert score_of(read(chosen(choice["score"])).piece)["avartan"] == 7  # type: ignore[arg-type]


def test_carried_where_its_target_is_not_it_aims_at_sam_and_says_so() -> None:
    told = carry_of(read({**FIVES, "to": "12", "into": "rupak"}))
    assert "aimed at sam there" in told["error"]
    assert told["choices"]


# -- the run and what sounds -------------------------------------------------------------------------------------------


def test_a_run_is_folded_at_sam_with_its_landing_in_the_next_avartan() -> None:
    piece = read(FIVES).piece
    assert piece is not None
    assert run_of(piece).landing == 16
    data = drawing_data(piece)
    assert [len(row["detail"]["pallas"]) for row in data["rows"]] == [3, 1]
    assert data["rows"][1]["detail"]["landings"][0]["x"] == 0
    assert small_run(piece).landing == (1, 0.0)


def test_of_a_chakradar_every_round_is_drawn_and_only_the_last_lands() -> None:
    piece = find(Wanted(get_tala("teental"), kind="farmaishi"))[0]
    rows = drawing_data(piece)["rows"]
    pallas = [each for row in rows for each in row["detail"]["pallas"] if each["begins"]]
    assert [each["n"] for each in pallas] == [1, 2, 3] * 3
    assert sum(len(row["detail"]["landings"]) for row in rows) == 1
    assert sum(each["begins"] for row in rows for each in row["detail"]["phrases"]) == 3


@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_what_sounds_lies_where_the_arithmetic_says(data: st.DataObject) -> None:
    tala = data.draw(talas)
    rule = data.draw(st.sampled_from(LandingRule))
    piece = Piece(
        tala, data.draw(matra_of(tala)), Fraction(1), rule, data.draw(bol_passages()), data.draw(not_negative)
    )
    score = score_of(piece)
    landing = tala.matras + piece.start - 1 + landing_offset(piece.tihai, rule)
    assert score["landing"] == float(landing)
    assert score["matras"] % tala.matras == 0
    assert landing <= score["matras"]
    begin = tala.matras + piece.start - 1
    expected = {float(begin + onset) for onset in piece.tihai.onsets} | {float(landing)}
    assert {event[0] for event in score["events"]} == expected
    assert {level for x, _, level, _ in score["events"] if x == float(landing)} <= {1.0}


def test_a_bol_that_no_table_knows_is_heard_as_a_plain_stroke_and_said(client: FlaskClient) -> None:
    score = client.get("/compose/score", query_string={"plays": "Dha Zrum", "gap": "1"}).get_json()
    assert score["plain"] == ["Zrum"]
    assert len(score["events"]) == 6


def test_a_tala_whose_theka_is_not_transcribed_is_ticked() -> None:
    unknown = next((tala for tala in map(get_tala, ("shikhar", "dobahar", "rudra/16")) if not tala.theka_known), None)
    if unknown is None:
        pytest.fail("every tala has its theka now: take this test away")
    piece = read({"tala": unknown.key, "plays": "Dha", "gap": "0"}).piece
    assert piece is not None
    score = score_of(piece)
    assert score["ticked"]
    assert [event[0] for event in score["theka"]] == list(map(float, range(unknown.matras)))


@pytest.mark.parametrize(("name", "sa"), [("pluck0", 4), ("pluck7", 9), ("pluck-5", 0), ("rings-rim", 4)])
def test_the_onset_of_every_sound_is_its_first_sample(name: str, sa: int) -> None:
    content = sound_flac(name, sa)
    assert content is not None
    sound, rate_hz = soundfile.read(io.BytesIO(content))
    loud = np.flatnonzero(np.abs(sound) > 0.1 * np.abs(sound).max())
    assert loud[0] / rate_hz < 0.003


def test_a_pluck_sounds_at_its_swara_above_the_chosen_sa() -> None:
    sound, rate_hz = soundfile.read(io.BytesIO(sound_flac("pluck7", 4) or b""))
    spectrum = np.abs(np.fft.rfft(sound[:rate_hz] * np.hanning(rate_hz)))
    lowest = np.argmax(spectrum[100:600]) + 100
    assert lowest == pytest.approx(sa_hz(4) * 3 / 2, abs=3)  # the pluck begins a few cents sharp


@pytest.mark.parametrize("name", ["pluck99", "pluck-25", "pluck", "..x", "rings-nothing", "pluck1e3"])
def test_other_sounds_are_not_made(client: FlaskClient, name: str) -> None:
    assert client.get(f"/compose/sound/{name}.flac").status_code == 404


def test_a_score_of_nothing_is_refused_in_words(client: FlaskClient) -> None:
    answer = client.get("/compose/score", query_string={"plays": "Dha Dhin", "at": "40"})
    assert (answer.status_code, "outside Teental" in answer.get_json()["error"]) == (400, True)
    long = client.get(
        "/compose/score", query_string={"plays": "Dha:120", "gap": "120", "lead": "Ti:120", "between": "120"}
    )
    assert "at most 2048" in long.get_json()["error"]


# -- keeping -----------------------------------------------------------------------------------------------------------


def test_a_piece_is_kept_opened_again_changed_taken_out_and_put_back(client: FlaskClient, archive: Archive) -> None:
    told = client.post(
        "/compose/keep", data={**FIVES, "laya": "90", "name": "Fives", "notes": "for the gat"}
    ).get_json()
    opened = client.get("/compose/answer", query_string=chosen(told["address"])).get_json()
    assert 'value="Fives"' in opened["opened"]
    assert "for the gat" in client.get("/compose/kept").get_json()["kept"]
    changed = {**chosen(told["address"]), "name": "Fives", "key": "fives", "seen": "1", "notes": ""}
    assert "revision 2" in client.post("/compose/keep", data=changed).get_json()["said"]
    late = client.post("/compose/keep", data=changed)
    assert (late.status_code, "after you looked at it" in late.get_json()["error"]) == (409, True)
    assert client.post("/compose/take-out", data={"key": "fives", "seen": "2"}).status_code == 200
    assert Shelf(archive).all() == []
    assert client.post("/compose/put-back", data={"key": "fives"}).status_code == 200
    assert Shelf(archive).get("fives").content.per_minute == 90


def test_what_cannot_be_kept_is_refused_in_words(client: FlaskClient, archive: Archive) -> None:
    assert "no name" in client.post("/compose/keep", data={**FIVES, "name": " "}).get_json()["error"]
    assert "choose one of the solutions" in client.post("/compose/keep", data={"name": "x"}).get_json()["error"]
    assert client.post("/compose/take-out", data={"key": "../x", "seen": "1"}).status_code == 404
    assert not (archive.path / "compositions").exists()


def test_a_reader_composes_and_hears_but_is_shown_no_way_to_keep(archive: Archive) -> None:
    from annotate.compositions.composition import Composition
    from dashboard.access.guarded import GuardedArchive
    from dashboard.composing.routes import parts_of
    from dashboard.errors import MayNotEdit

    server = make_app(archive.path).server
    shelf = Shelf(GuardedArchive(archive.store, lambda: True))
    with server.test_request_context("/compose"), acting_as(Person("Rea", Role.READER)):
        parts = parts_of(shelf, read(FIVES))
        assert 'id="keep"' not in parts["opened"]
        assert "5 + 1 + 5" in parts["opened"]
        with pytest.raises(MayNotEdit):
            shelf.keep(Composition("Fives", "teental", "Dha Ti"), who="dashboard")
    with acting_as(Person("Asha", Role.ANNOTATOR)):
        assert shelf.keep(Composition("Fives", "teental", "Dha Ti"), who="dashboard").latest.who == "Asha"
    assert len(Shelf(archive).all()) == 1
