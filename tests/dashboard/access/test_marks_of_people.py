"""Marks where people log in: readers write none, annotators sign theirs and take back only their own."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.marking import mark_sams
from tests.dashboard.access.conftest import ANNOTATOR, FROM_OUR_PAGE, HERE, READER, Client
from tests.dashboard.conftest import SLUG

MARKS = f"/marks/{SLUG}"
WRITING = {
    "sam": {"to_s": 11.05},
    "row": {"table": "tihais", "key": "t01", "seen": 1, "fields": {"dam": "1"}},
    "phrase": {"fields": {"from": "21", "to": "22", "swaras": "R m P", "role": ""}},
    "take-out": {"table": "tihais", "key": "t01", "seen": 1},
    "split": {"key": "gat", "at_s": 14.5},
    "join": {"key": "alap"},
    "undo": {},
    "redo": {},
    "as-of": {"revision": 2, "table": "", "key": "", "seen": 1},
}


@pytest.mark.parametrize("what", WRITING)
def test_a_reader_is_refused_whatever_writes_marks(shared: Path, client: Client, what: str) -> None:
    before = Archive.open(shared).state(SLUG).revision
    answer = client(READER).post(f"{MARKS}/{what}", base_url=HERE, json=WRITING[what], headers=FROM_OUR_PAGE)
    assert answer.status_code == 403
    assert "you are logged in to look and listen" in answer.get_data(as_text=True)
    assert Archive.open(shared).state(SLUG).revision == before


def test_a_reader_sees_what_is_marked_and_nothing_to_undo(client: Client) -> None:
    told = client(READER).get(MARKS, base_url=HERE).json
    assert len(told["tihais"]) == 2
    assert "undo" not in told


def test_an_annotators_marks_bear_their_name_and_undo_leaves_others_alone(shared: Path, client: Client) -> None:
    annotator = client(ANNOTATOR)
    told = annotator.post(f"{MARKS}/sam", base_url=HERE, json={"to_s": 11.05}, headers=FROM_OUR_PAGE)
    assert told.status_code == 200, told.text
    archive = Archive.open(shared)
    assert archive.history(SLUG)[-1].who == ANNOTATOR
    mark_sams(archive, SLUG, [18.03], who="somebody else")
    undone = annotator.post(f"{MARKS}/undo", base_url=HERE, json={}, headers=FROM_OUR_PAGE)
    assert undone.json["said"] == "Undone: sam marked at 0:11.05."
    marked_s = [each.sam_s for each in Archive.open(shared).state(SLUG).marked_sams]
    assert (11.0 in marked_s, 18.03 in marked_s) == (True, True)
