"""Proposals as a musician uses them from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.proposals import learning
from ingest.finding import find
from tests.annotate.proposals.gats import FIRST_LANDING_S, SECOND_LANDING_S, make_gats
from tests.annotate.proposals.plain_judge import PlainJudge
from tests.test_command_line import Desk

FIRST, SECOND = f"p{FIRST_LANDING_S:.1f}", f"p{SECOND_LANDING_S:.1f}"


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """An archive with a recording of two gats, a tihai in each."""
    monkeypatch.setattr(find, "judge", PlainJudge)
    make_gats(Archive.create(tmp_path / "archive"))
    return Desk(tmp_path / "archive")


def words(text: str) -> str:
    return " ".join(text.split())


def test_proposals_are_listed_with_clock_times_the_sum_the_palla_and_why(desk: Desk) -> None:
    printed = words(desk.run("propose", "evening").stdout)
    assert f"{SECOND} 1:02.0 to 1:06.0" in printed
    assert "bedam of 3 from matra 9 to sam, tabla DhaNa KatTin Dhin" in printed
    assert "The tabla plays the same three times" in printed
    assert "layakosh accept evening KEY" in printed


def test_json_has_everything_that_another_program_needs(desk: Desk) -> None:
    every = desk.json("propose", "evening")
    assert isinstance(every, list)
    one = next(each for each in every if each["key"] == FIRST)
    assert one["start_s"] == one["palla_s"][0] == pytest.approx(22.0, abs=0.02)
    assert one["landing_s"] == pytest.approx(26.0, abs=0.02)
    told = {name: one[name] for name in ("palla", "palla_length", "dam", "start", "target", "kind", "played_by")}
    assert told == {
        "palla": "DhaNa KatTin Dhin",
        "palla_length": "3/1",
        "dam": "0/1",
        "start": "9/1",
        "target": "1/1",
        "kind": "bedam",
        "played_by": "tabla",
    }
    assert 0.9 < one["confidence"] <= 1
    assert one["reason"]
    assert (one["status"], one["tihai"], one["off"], one["misses"]) == ("waiting", "", "0/1", False)
    assert desk.json("propose", "evening", "--top", "2") == every[:2]


def test_what_is_accepted_or_rejected_no_longer_waits_and_undo_brings_it_back(desk: Desk) -> None:
    every = desk.json("propose", "evening")
    assert isinstance(every, list)
    printed = desk.run("accept", "evening", FIRST, "--who", "meera").stdout
    assert f"{FIRST} accepted as tihai t01." in printed
    assert "rejected, kept as t02" in desk.run("reject", "evening", SECOND, "--who", "meera").stdout
    waiting = desk.json("propose", "evening")
    assert isinstance(waiting, list)
    assert {FIRST, SECOND}.isdisjoint(each["key"] for each in waiting)
    assert (
        f"{len(every) - 2} waiting, 1 accepted or written down before, 1 rejected."
        in desk.run("propose", "evening").stdout
    )
    decided = {each["key"]: each["status"] for each in desk.json("propose", "evening", "--all")}  # type: ignore[attr-defined]
    assert (decided[FIRST], decided[SECOND]) == ("accepted", "rejected")
    assert "accepted: t01" in desk.run("propose", "evening", "--all").stdout
    for _ in range(2):
        assert desk.run("undo", "evening", "--who", "meera").exit_code == 0
    assert desk.json("propose", "evening") == every


def test_several_are_accepted_in_one_edit(desk: Desk) -> None:
    desk.run("propose", "evening")
    done = desk.json("accept", "evening", FIRST, SECOND)
    assert done == [
        {"key": FIRST, "tihai": "t01", "status": "confirmed"},
        {"key": SECOND, "tihai": "t02", "status": "confirmed"},
    ]
    (edit,) = [each for each in Archive.open(desk.archive).history("evening") if each.why.startswith("proposals")]
    assert edit.why == f"proposals accepted: {FIRST}, {SECOND}"
    verdicts = desk.json("verify", "evening")
    assert isinstance(verdicts, list)
    assert [each["verdict"] for each in verdicts] == ["lands", "lands"]


def test_a_mukhra_that_is_told_is_shown_and_holds(desk: Desk) -> None:
    told = "The mukhra of 'gat' is taken to begin on matra 13"
    assert told in desk.run("propose", "evening", "--mukhra", "13").stdout
    assert told in desk.run("propose", "evening").stdout
    assert told not in desk.run("propose", "evening", "--anew").stdout


def test_what_was_learnt_is_shown_with_its_decisions_weights_and_figures(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Not used yet: 0 accepted and 0 rejected" in desk.run("learnt").stdout
    monkeypatch.setattr(learning, "LEAST_OF_EACH", 5)
    learning.learn.cache_clear()
    archive = Archive.open(desk.archive)
    for seed, slug in enumerate(("second", "third"), start=1):
        make_gats(archive, slug, seed=seed)
    for slug in ("evening", "second", "third"):
        desk.run("propose", slug)
        assert desk.run("accept", slug, FIRST, SECOND).exit_code == 0
        others = [each["key"] for each in desk.json("propose", slug)[:3]]  # type: ignore[index]
        assert desk.run("reject", slug, *others).exit_code == 0
    printed = words(desk.run("learnt", "--decisions").stdout)
    assert "From 6 accepted and 9 rejected, leaving out one recording at a time" in printed
    assert "pairs in the right order" in printed
    assert "how alike the three pallas are" in printed
    assert f"evening {FIRST} t01 accepted" in printed
    told = json.loads(desk.run("learnt", "--json").stdout)
    assert (told["accepted"], told["rejected"], len(told["decisions"])) == (6, 9, 15)
    assert set(told["weights"]) == {"what is heard", *told["decisions"][0]["measures"]}
    assert told["used"] == (
        told["figures"]["order_learnt"] >= told["figures"]["order_finder"]
        and told["figures"]["loss_learnt"] <= told["figures"]["loss_finder"]
    )
    learning.learn.cache_clear()


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["propose", "morning"], "no recording 'morning'"),
        (["propose", "evening", "--mukhra", "17"], "cannot begin on matra 17: the tala has 16"),
        (["propose", "evening", "--top", "0"], "--top"),
        (["accept", "evening", "p1.0"], "has no proposal 'p1.0'"),
        (["accept", "evening"], "KEY"),
        (["reject", "morning", "p1.0"], "no recording 'morning'"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(desk: Desk, arguments: list[str], why: str) -> None:
    assert why in words(desk.refuses(*arguments))


def test_a_recording_without_sound_says_how_to_take_it_in(desk: Desk, tmp_path: Path) -> None:
    sections = tmp_path / "sections.csv"
    sections.write_text("start_s,end_s,section,kind,tala\n5,70,gat,gat,teental\n")
    assert desk.run("load", "morning", "--sections", str(sections), "--raga", "Desh").exit_code == 0
    assert "Nothing was measured of the sound of 'morning'" in words(desk.refuses("propose", "morning"))
