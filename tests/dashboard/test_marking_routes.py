"""The routes of the marking panel: what they write ends in the archive, and nothing is overwritten unseen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient

from annotate import evidence_store
from annotate.archive import Archive
from annotate.marking import move_sam
from dashboard.app import make_app
from tests.annotate.desk import make_evidence
from tests.dashboard.conftest import DURATION_S, SLUG

MARKS = f"/marks/{SLUG}"


@pytest.fixture
def client(own_archive: Path) -> Iterator[FlaskClient]:
    with make_app(own_archive).server.test_client() as client:
        yield client


def got(client: FlaskClient, place: str, **query: Any) -> Any:
    answer = client.get(MARKS + place, query_string=query)
    assert answer.status_code == 200, answer.text
    return answer.json


def posted(client: FlaskClient, place: str, status: int = 200, **told: Any) -> Any:
    answer = client.post(MARKS + place, json=told)
    assert answer.status_code == status, answer.text
    return answer.json


def marked_s(folder: Path) -> list[float]:
    return [each.sam_s for each in Archive.open(folder).state(SLUG).marked_sams]


def test_what_is_marked_is_listed_in_order_of_time_and_sent_once_for_each_version(client: FlaskClient) -> None:
    answer = client.get(MARKS)
    told = answer.json
    assert [each["at_s"] for each in told["sams"]] == [4.0, 7.5, 11.0, 14.5, 18.0, 21.5, 25.0]
    assert [each["words"] for each in told["tihais"]] == [
        "0:07.5, R m P N S', lands",
        "0:18.0, R m P N S', late",
    ]
    assert client.get(MARKS, headers={"If-None-Match": answer.headers["ETag"]}).status_code == 304
    posted(client, "/sam", to_s=11.05)
    assert client.get(MARKS, headers={"If-None-Match": answer.headers["ETag"]}).status_code == 200


def test_a_sam_is_moved_and_undone_and_redone_and_each_says_what_it_did(client: FlaskClient, own_archive: Path) -> None:
    sam = got(client, "")["sams"][2]
    said = posted(client, "/sam", key=sam["key"], from_s=11.0, to_s=11.03)["said"]
    assert said == "Sam moved from 0:11 to 0:11.03 (+30 ms)."
    assert 11.03 in marked_s(own_archive)
    assert got(client, "")["undo"] == "sam moved from 0:11 to 0:11.03"
    assert posted(client, "/undo")["said"].startswith("Undone: sam moved from 0:11 to 0:11.03.")
    assert 11.0 in marked_s(own_archive)
    assert got(client, "")["redo"] == "sam moved from 0:11 to 0:11.03"
    assert posted(client, "/redo")["said"].startswith("Done again: sam moved")
    assert 11.03 in marked_s(own_archive)


def test_a_sam_that_somebody_else_has_moved_is_not_moved_again_unseen(client: FlaskClient, own_archive: Path) -> None:
    sam = got(client, "")["sams"][2]
    move_sam(Archive.open(own_archive), SLUG, 11.0, 11.1, who="asha")
    told = posted(client, "/sam", 409, key=sam["key"], from_s=11.0, to_s=11.03)
    assert told["conflict"]["who"] == "asha"
    assert told["conflict"]["rows"] == [
        {"word": "at", "label": "at", "theirs": "0:11.1", "mine": "0:11.03"},
    ]
    assert 11.1 in marked_s(own_archive)
    posted(client, "/sam", key=sam["key"], from_s=11.0, to_s=11.03, keep="mine")
    assert 11.03 in marked_s(own_archive)


def test_a_tihai_is_changed_field_by_field_beside_what_others_changed(client: FlaskClient, own_archive: Path) -> None:
    form = got(client, "/row", table="tihais", key="t01")
    told = {"table": "tihais", "key": "t01", "seen": form["seen"]}
    posted(client, "/row", **told, fields={"status": "proposed"})
    said = posted(client, "/row", **told, fields={"label": "first"})["said"]
    assert "somebody else changed meanwhile is kept too: status" in said
    answer = posted(client, "/row", 409, **told, fields={"status": "rejected"})
    assert answer["conflict"]["rows"] == [
        {"word": "status", "label": "Status", "was": "confirmed", "theirs": "proposed", "mine": "rejected"},
        {"word": "label", "label": "Label", "was": "-", "theirs": "first", "mine": "-"},
    ]
    posted(client, "/row", **told, fields={"status": "rejected"}, keep="mine")
    record = Archive.open(own_archive).state(SLUG).tihai("t01")
    assert (record.status, record.label) == ("rejected", "first")


def test_the_form_of_a_tihai_reads_back_what_it_shows(client: FlaskClient, own_archive: Path) -> None:
    before = Archive.open(own_archive).state(SLUG)
    form = got(client, "/row", table="tihais", key="t01")
    shown = {
        each["word"]: each["value"] if isinstance(each["value"], str) else ",".join(each["value"])
        for each in form["fields"]
    }
    said = posted(client, "/row", table="tihais", key="t01", seen=form["seen"], fields=shown)["said"]
    assert said == "Nothing was changed."
    assert Archive.open(own_archive).state(SLUG).revision == before.revision


def test_what_cannot_be_read_is_told_and_nothing_is_written(client: FlaskClient, own_archive: Path) -> None:
    before = Archive.open(own_archive).state(SLUG).revision
    told = {"table": "tihais", "key": "t01", "seen": before}
    assert "is not a time" in posted(client, "/row", 422, **told, fields={"landing": "soon"})["error"]
    caret = posted(client, "/row", 422, **told, fields={"palla": "R m X"})["error"].splitlines()
    assert caret[2].index("^") == caret[1].index("X")
    assert "Expected a time" in posted(client, "/sam", 422, to_s="now")["error"]
    assert "Expected texts" in posted(client, "/row", 422, **told, fields=["status"])["error"]
    assert (
        "no tihai 't99'" in posted(client, "/row", 404, table="tihais", key="t99", seen=1, fields={"dam": "1"})["error"]
    )
    assert "no row" in posted(client, "/row", 404, table="people", key="x", seen=1, fields={"dam": "1"})["error"]
    assert Archive.open(own_archive).state(SLUG).revision == before


def test_a_mark_is_taken_out_unless_somebody_has_changed_it_since(client: FlaskClient, own_archive: Path) -> None:
    seen = got(client, "")["revision"]
    posted(client, "/row", table="tihais", key="t02", seen=seen, fields={"label": "second"})
    assert "conflict" in posted(client, "/take-out", 409, table="tihais", key="t02", seen=seen)
    assert posted(client, "/take-out", table="tihais", key="t01", seen=seen)["said"].startswith(
        "Tihai t01 is taken out"
    )
    assert [each.tihai for each in Archive.open(own_archive).state(SLUG).tihais] == ["t02"]
    assert "join this one" in posted(client, "/take-out", 422, table="sections", key="gat", seen=seen)["error"]


def test_sections_are_changed_split_and_joined(client: FlaskClient, own_archive: Path) -> None:
    seen = got(client, "")["revision"]
    said = posted(client, "/split", key="gat", at_s=14.5)["said"]
    assert said == "gat is split at 0:14.5; the second part is called gat 2."
    told = posted(client, "/row", 409, table="sections", key="gat", seen=seen, fields={"kind": "madhya gat"})
    assert [row["word"] for row in told["conflict"]["rows"]] == ["kind", "to"]
    assert "now lasts from 0:04 to 0:28" in posted(client, "/join", key="gat")["said"]
    seen = got(client, "")["revision"]
    posted(client, "/row", table="sections", key="gat", seen=seen, fields={"kind": "madhya gat", "to": "0:27.5"})
    section = Archive.open(own_archive).state(SLUG).sections[-1]
    assert (section.kind, section.end_s, section.source) == ("madhya gat", 27.5, "person")


def test_history_tells_who_did_what_and_a_row_comes_back_as_it_was(client: FlaskClient, own_archive: Path) -> None:
    seen = got(client, "")["revision"]
    posted(client, "/row", table="tihais", key="t01", seen=seen, fields={"dam": "1"})
    newest, oldest = got(client, "/history", table="tihais", key="t01")["entries"]
    assert newest["changes"] == ["tihai 't01' changed: dam 0 -> 1"]
    assert oldest["why"] == "tihai written down"
    asked = {"revision": oldest["revision"], "table": "tihais", "key": "t01"}
    made = got(client, "/as-of", **asked)
    assert made["changes"] == ["tihai 't01' changed: dam 1 -> 0"]
    posted(client, "/sam", to_s=11.02)
    assert "Look again" in posted(client, "/as-of", 422, **asked, seen=made["seen"])["error"]
    posted(client, "/as-of", **asked, seen=got(client, "/as-of", **asked)["seen"])
    state = Archive.open(own_archive).state(SLUG)
    assert state.tihai("t01").dam == 0
    assert 11.02 in marked_s(own_archive)  # the rest stays


def test_a_palla_is_counted_with_its_bars_and_its_sum_as_it_is_typed(client: FlaskClient) -> None:
    told = got(client, "/count", of="tihai", palla="R m P N S'", start="1", dam="0", first="11", target="1")
    assert told["kind"] == "right"
    # rupak's vibhags are 3 + 2 + 2, so from sam a bar stands after three and after five matras (theory/data/talas.toml)
    assert told["lines"][0] == "The palla has 5 matras; from 1 in Rupak: R m P | N S'"
    assert "5 + 5 + 5 = 15" in told["lines"][1]
    wrong = got(client, "/count", of="tihai", palla="R m | P N S'", start="1", dam="0", first="11", target="1")
    first, second, caret = wrong["lines"][0].splitlines()
    assert (wrong["kind"], second.index("|")) == ("wrong", caret.index("^"))
    assert "vibhags begin on 1, 4, 6" in first


def test_a_phrase_is_counted_against_what_was_played(client: FlaskClient) -> None:
    told = got(client, "/count", of="phrase", swaras="R m P", **{"from": "11", "to": "12.5"})
    assert told["lines"] == ["Written: 3 matras. Played: 3.0, from matra 1 of Rupak: R m P"]
    assert got(client, "/count", of="phrase", swaras="", **{"from": "11"})["lines"] == []


def test_a_mark_snaps_to_the_nearest_stroke_within_half_a_second(client: FlaskClient, own_archive: Path) -> None:
    answer = client.get(f"{MARKS}/stroke?near_s=11")
    assert answer.status_code == 422
    assert "No strokes are known" in answer.json["error"]
    heard = make_evidence(DURATION_S)  # a stroke each half second
    quiet = replace(heard, treble=np.where(heard.treble > 10, heard.treble, 0), bass=np.zeros_like(heard.bass))
    evidence_store.save(Archive.open(own_archive).evidence_folder(SLUG), quiet)
    assert got(client, "/stroke", near_s=11.06)["time_s"] == pytest.approx(11.0, abs=0.005)  # half a frame
    told = client.get(f"{MARKS}/stroke?near_s={DURATION_S + 5}")
    assert (told.status_code, "nothing was moved" in told.json["error"]) == (422, True)


def test_a_phrase_is_written_down_and_without_a_melody_there_is_no_draft(
    client: FlaskClient, own_archive: Path
) -> None:
    fields = {"from": "0:21.5", "to": "0:23", "swaras": "n D P", "role": "pakad"}
    assert posted(client, "/phrase", fields=fields)["said"] == "Saved as phrase p04."
    assert Archive.open(own_archive).state(SLUG).phrases[-1].swaras == "n D P"
    answer = client.get(f"{MARKS}/draft?from_s=11&to_s=14")
    assert answer.status_code == 422
    assert "layakosh transcribe" in answer.json["error"]


def test_a_run_of_nudges_is_undone_in_one_step_and_seen_in_the_history(client: FlaskClient, own_archive: Path) -> None:
    sam = got(client, "")["sams"][2]
    at_s = sam["at_s"]
    for _ in range(5):
        to_s = round(at_s + 0.01, 4)
        posted(client, "/sam", to_s=to_s, key=sam["key"], from_s=at_s, nudged=True)
        at_s = to_s
    assert 11.05 in marked_s(own_archive)
    assert posted(client, "/undo")["said"] == "Undone: 5 nudges of a sam, which is at 0:11."
    assert 11.0 in marked_s(own_archive)
    assert posted(client, "/redo")["said"].startswith("Done again: 5 nudges of a sam")
    assert 11.05 in marked_s(own_archive)
    entries = got(client, "/history", table="sams", key=sam["key"])["entries"]
    assert len([each for each in entries if each["why"].startswith("sam nudged from 0:11")]) == 5


def test_a_nudge_from_a_window_that_shows_an_older_place_is_still_refused_with_both(
    client: FlaskClient, own_archive: Path
) -> None:
    sam = got(client, "")["sams"][2]
    move_sam(Archive.open(own_archive), SLUG, 11.0, 11.2, who="asha")
    told = posted(client, "/sam", 409, to_s=11.01, key=sam["key"], from_s=11.0, nudged=True)
    assert told["conflict"]["who"] == "asha"
    assert 11.2 in marked_s(own_archive)
