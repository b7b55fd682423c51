"""A recording folded at sam, and the routes by which the page fetches it: what is sent first, later, and anew."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import flask.testing
import numpy as np
import pytest

from annotate import evidence_store, melody_store
from annotate.archive import Archive
from annotate.marking import mark_sams, record_phrase
from annotate.revisions import change
from dashboard.app import make_app
from dashboard.figures.fold import TICKS_IN_S
from dashboard.folded import CELLS
from dashboard.library import FOLDS_KEPT, Library
from ingest.melody import Melody
from tests.dashboard.conftest import DURATION_S, SAMS_S, SLUG, play_tihai

HOP_S = 0.02


@pytest.fixture(scope="module")
def library(finished_archive: Path) -> Library:
    return Library(Archive.open(finished_archive))


@pytest.fixture
def own_library(own_archive: Path) -> Library:
    return Library(Archive.open(own_archive))


@pytest.fixture
def browser(own_archive: Path) -> flask.testing.FlaskClient:
    client: flask.testing.FlaskClient = make_app(own_archive).server.test_client()
    return client


def sing(archive: Archive, semitones: float) -> None:
    """Let the melody hold one pitch above the recording's Sa of 220 Hz throughout."""
    frames = round(DURATION_S / HOP_S)
    pitch_hz = np.full(frames, 220.0 * 2 ** (semitones / 12), dtype=np.float32)
    ones = np.ones(frames, dtype=np.float32)
    melody_store.save(archive.evidence_folder(SLUG), Melody(HOP_S, pitch_hz, ones, ones))


def times_s(row: dict[str, Any]) -> list[float]:
    return [round(tick / TICKS_IN_S, 4) for tick in np.cumsum(row["ticks"])]


def test_the_outline_is_plain_data_and_every_sam_opens_a_row(library: Library) -> None:
    outline = library.fold(SLUG).outline
    assert json.loads(json.dumps(outline))["slug"] == SLUG
    rows = [row for row in outline["rows"] if row["stretch"] == 1]
    assert [times_s(row)[0] for row in rows] == SAMS_S
    assert all(row["marked"] for row in rows)
    assert [each["id"] for each in outline["tihais"]] == ["t01", "t02"]


def test_the_outline_tells_the_room_that_each_row_needs(library: Library) -> None:
    rows = library.fold(SLUG).outline["rows"]
    assert [row["tihais"] for row in rows] == [0, 0, 1, 1, 1, 1, 1, 1]
    assert [row["landings"] for row in rows] == [0, 0, 0, 0, 1, 0, 0, 1]
    assert [row["phrases"] for row in rows] == [1, 1, 0, 0, 1, 0, 0, 0]
    assert {row["range"] for row in rows} == {None}  # this recording's melody was not followed


def test_a_melody_asks_for_room_around_its_swara_and_is_sent_with_the_rows(own_library: Library) -> None:
    sing(own_library.archive, semitones=7.0)
    fold = own_library.fold(SLUG)
    low, high = fold.outline["rows"][2]["range"]
    assert low < 7 < high
    melody = fold.details(2, 3, 64)[0]["melody"]
    assert set(melody["cents"]) == {700}
    assert melody["from_s"] == pytest.approx(SAMS_S[1], abs=2 * HOP_S)
    assert [each["letter"] for each in fold.outline["swaras"] if each["used"]] == list("SRGmPDnN")


def test_where_no_sa_is_known_there_are_rows_but_no_melody(own_library: Library) -> None:
    sing(own_library.archive, semitones=7.0)
    recording = own_library.archive.state(SLUG).recording
    own_library.archive.commit(SLUG, [change(replace(recording, sa_hz=None))], "test", "no Sa")
    fold = own_library.fold(SLUG)
    assert {row["range"] for row in fold.outline["rows"]} == {None}
    assert fold.details(2, 3, 64)[0]["melody"] is None


def test_a_moved_sam_changes_only_the_rows_beside_it(own_library: Library) -> None:
    before = own_library.fold(SLUG).outline["rows"]
    sam = own_library.archive.state(SLUG).marked_sams[2]
    own_library.archive.commit(SLUG, [change(replace(sam, sam_s=sam.sam_s + 0.02))], "test", "moved")
    after = own_library.fold(SLUG).outline["rows"]
    changed = [row["label"] for row, earlier in zip(after, before, strict=True) if row["key"] != earlier["key"]]
    # the avartans on both sides of it; and where its tihai lands, of which the verdict is said in all its rows
    assert "2" in changed
    assert set(changed) <= {"2", "3", "4"}


def test_a_new_phrase_changes_only_the_row_it_stands_in(own_library: Library) -> None:
    before = {row["key"] for row in own_library.fold(SLUG).outline["rows"]}
    record_phrase(own_library.archive, SLUG, start_s=11.2, end_s=12.0, swaras="R m P", role="tan")
    rows = own_library.fold(SLUG).outline["rows"]
    assert [row["label"] for row in rows if row["key"] not in before] == ["3"]


def test_evidence_made_anew_changes_every_row(own_library: Library) -> None:
    sing(own_library.archive, semitones=7.0)
    before = {row["key"] for row in own_library.fold(SLUG).outline["rows"]}
    sing(own_library.archive, semitones=9.0)
    after = own_library.fold(SLUG)
    assert before.isdisjoint(row["key"] for row in after.outline["rows"])
    assert set(after.details(2, 3, 64)[0]["melody"]["cents"]) == {900}


def test_a_fold_is_made_once_for_a_revision(own_library: Library) -> None:
    first = own_library.fold(SLUG)
    assert own_library.fold(SLUG) is first
    play_tihai(own_library.archive, start_s=11.0, late_s=0.0)
    second = own_library.fold(SLUG)
    assert second is not first
    assert second.heard is first.heard  # the sound is not read again for an edit
    assert len(own_library._folds) == 1 <= FOLDS_KEPT


def test_after_an_edit_only_verdicts_are_made_anew_that_something_has_changed_for(own_library: Library) -> None:
    first, second = own_library.verdicts(SLUG)
    record_phrase(own_library.archive, SLUG, start_s=11.2, end_s=12.0, swaras="R m P", role="tan")
    assert own_library.verdicts(SLUG)[0] is first
    assert own_library.verdicts(SLUG)[1] is second
    landing = next(sam for sam in own_library.archive.state(SLUG).marked_sams if sam.sam_s == SAMS_S[3])
    own_library.archive.commit(SLUG, [change(replace(landing, sam_s=landing.sam_s + 0.05))], "test", "moved")
    moved = own_library.verdicts(SLUG)[0]
    assert first.landing_dev_ms == pytest.approx(12.0)
    assert moved.landing_dev_ms == pytest.approx(12.0 - 50.0)
    own_library.archive.withdraw(SLUG, "tihais", "t02", who="test")
    assert [each.tihai for each in own_library.verdicts(SLUG)] == ["t01"]


def test_the_passage_of_a_tihai_brings_its_rows_along_and_nothing_of_other_tihais(library: Library) -> None:
    data = library.fold(SLUG).passage(library.archive.state(SLUG).tihai("t02"))
    assert [row["label"] for row in data["rows"]] == ["5", "6", "7"]
    assert [row["key"] for row in data["rows"]] == [detail["key"] for detail in data["details"]]
    assert {palla["id"] for detail in data["details"] for palla in detail["pallas"]} == {"t02"}
    assert [aim["x"] for detail in data["details"] for aim in detail["aims"]] == [0.0]
    assert data["passage"] == {"from_s": 16.5, "to_s": pytest.approx(26.7)}


def test_the_routes_answer_with_the_outline_and_with_the_rows_asked_for(browser: flask.testing.FlaskClient) -> None:
    outline = browser.get(f"/outline/{SLUG}")
    assert outline.status_code == 200
    assert outline.json is not None
    rows = browser.get(f"/rows/{SLUG}?from=2&to=4&cells=64").json
    assert rows is not None
    assert rows["version"] == outline.json["version"]
    assert [row["key"] for row in rows["rows"]] == [row["key"] for row in outline.json["rows"][2:4]]
    beyond = browser.get(f"/rows/{SLUG}?from=6&to=30&cells=4").json
    assert beyond is not None
    assert [row["key"] for row in beyond["rows"]] == [row["key"] for row in outline.json["rows"][6:]]


@pytest.mark.parametrize("encoding", ["identity", "gzip", "br"])
def test_what_the_browser_has_already_is_not_sent_again_until_there_is_a_new_revision(
    own_archive: Path, browser: flask.testing.FlaskClient, encoding: str
) -> None:
    headers = {"Accept-Encoding": encoding}
    first = browser.get(f"/outline/{SLUG}", headers=headers)
    assert first.headers.get("Content-Encoding", "identity") == encoding
    again = browser.get(f"/outline/{SLUG}", headers=headers | {"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    mark_sams(Archive.open(own_archive), SLUG, [25.02], who="somebody else")
    renewed = browser.get(f"/outline/{SLUG}", headers=headers | {"If-None-Match": first.headers["ETag"]})
    assert renewed.status_code == 200
    assert renewed.headers["ETag"] != first.headers["ETag"]


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/outline/no-such-concert", 404),
        ("/outline/..", 404),
        ("/outline/archive.toml", 404),
        ("/rows/no-such-concert?from=0&to=1&cells=4", 404),
        (f"/rows/{SLUG}", 400),
        (f"/rows/{SLUG}?from=a&to=1&cells=4", 400),
        (f"/rows/{SLUG}?from=0&to=100000&cells=4", 400),
        (f"/rows/{SLUG}?from=5&to=1&cells=4", 400),
        (f"/rows/{SLUG}?from=0&to=1&cells=5", 400),
    ],
)
def test_what_cannot_be_answered_is_told_and_no_path_is_made_of_it(
    browser: flask.testing.FlaskClient, address: str, status: int
) -> None:
    answer = browser.get(address)
    assert answer.status_code == status
    assert answer.json is not None
    assert len(answer.json["error"]) > 20


def test_a_browser_that_asks_before_it_knows_of_the_recording_is_not_told_of_a_fault(
    browser: flask.testing.FlaskClient,
) -> None:
    assert browser.get("/outline/no-such-concert?early").status_code == 204
    assert browser.get(f"/outline/{SLUG}?early").status_code == 200


@pytest.mark.parametrize("route", ["outline", "rows"])
def test_a_slug_with_a_slash_in_it_is_an_address_like_any_other_that_names_nothing(
    browser: flask.testing.FlaskClient, route: str
) -> None:
    answer = browser.get(f"/{route}/%2e%2e%2farchive.toml")
    assert answer.mimetype == "text/html"  # the shell, which says that there is no such page
    assert b"schema" not in answer.data


def test_rows_can_be_asked_for_in_all_closenesses(own_library: Library) -> None:
    sing(own_library.archive, semitones=7.0)
    counts = [len(own_library.fold(SLUG).details(2, 3, cells)[0]["melody"]["cents"]) for cells in CELLS]
    assert counts == sorted(counts)
    # seven matras in four steps each, a step of 125 ms being six whole frames; one step more on either side
    assert counts[0] == pytest.approx(7 * 0.5 / 0.12, abs=3)
    assert counts[-1] == pytest.approx(7 * 0.5 / HOP_S, abs=3)


def test_a_recording_without_evidence_has_rows_without_strokes(library: Library) -> None:
    assert not evidence_store.is_there(library.archive.evidence_folder(SLUG))
    fold = library.fold(SLUG)
    assert fold.outline["strokes"] is False
    assert fold.details(1, 2, 64)[0]["treble"] is None
