"""Phrase usage: how often, for how much of the time, where in the avartan."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.records import PhraseRecord, Recording, Section
from annotate.revisions import add
from annotate.usage import phrase_usage, usage_by_performance
from tests.annotate.desk import SLUG, at


def phrase(key: str, start_s: float, length_s: float, swaras: str, role: str = "mukhra") -> PhraseRecord:
    return PhraseRecord(key, start_s, start_s + length_s, swaras, role)


@pytest.fixture
def played(archive: Archive) -> Archive:
    phrases = [
        phrase("p01", at(2, 9), 4, "R m P"),
        phrase("p02", at(4, 9), 4, "RmP"),
        phrase("p03", at(5, 11), 2, "R m P", "sthayi"),
        phrase("p04", 2, 3, "n D P"),
    ]
    archive.commit(SLUG, [add(each) for each in phrases], "a", "")
    other = [
        Recording("morning", "Morning", raga="desh", tala="teental"),
        Section("gat", "gat", 50, 150, "teental"),
        phrase("p01", 60, 10, "R m P"),
    ]
    archive.commit("morning", [add(each) for each in other], "a", "")
    archive.commit(
        "noon",
        [add(Recording("noon", "Noon", raga="of my own", duration_s=50)), add(phrase("p01", 1, 5, "R m P"))],
        "a",
        "",
    )
    return archive


def test_phrases_are_counted_by_their_swaras_whatever_the_rhythm(played: Archive) -> None:
    usage = phrase_usage(played, "Desh")
    assert usage[["raga", "swaras", "role", "count", "performances"]].values.tolist() == [
        ["desh", "R m P", "mukhra", 3, 2],
        ["desh", "R m P", "sthayi", 1, 1],
        ["desh", "n D P", "mukhra", 1, 1],
    ]


def test_the_share_of_time_is_of_all_performances_of_the_raga(played: Archive) -> None:
    """Evening lasts 100 s; morning has no sound, so its sections count: 100 s."""
    usage = phrase_usage(played, "Desh")
    assert usage["share_of_time"].tolist() == pytest.approx([18 / 200, 2 / 200, 3 / 200])
    alone = usage_by_performance(played, "Desh")
    shares = alone[alone["swaras"] == "R m P"].set_index(["recording", "role"])["share_of_time"]
    assert shares["evening", "mukhra"] == pytest.approx(8 / 100)
    assert shares["morning", "mukhra"] == pytest.approx(10 / 100)


def test_the_position_is_a_mean_on_the_circle_with_a_histogram_by_matra(archive: Archive) -> None:
    around_sam = [at(2, 16), at(4, 2), at(6, 1) - 0.02]
    archive.commit(SLUG, [add(phrase(f"p{n}", s, 1, "S")) for n, s in enumerate(around_sam)], "a", "")
    (row,) = phrase_usage(archive).to_dict("records")
    assert (row["mean_matra"] - 1 + 8) % 16 - 8 == pytest.approx(0, abs=0.02)
    assert row["tala"] == "teental"
    assert row["histogram"] == [1, 1, *[0] * 13, 1]


def test_a_phrase_outside_any_tala_has_no_position(played: Archive) -> None:
    row = phrase_usage(played, "desh").iloc[2]
    assert row["tala"] == ""
    assert math.isnan(row["mean_matra"])


def test_a_raga_of_ones_own_is_found_by_its_text(played: Archive) -> None:
    assert phrase_usage(played, "Of My Own")["count"].tolist() == [1]
    assert phrase_usage(played, "nothing").empty
    assert len(phrase_usage(played)) == 4


def test_usage_turns_into_plain_json(played: Archive) -> None:
    columns = ["raga", "swaras", "role", "count", "performances", "share_of_time"]
    rows = json.loads(json.dumps(phrase_usage(played)[columns].to_dict("records")))
    assert rows[0]["count"] == 3


def test_an_archive_without_phrases_has_no_usage(archive: Archive) -> None:
    assert phrase_usage(archive).empty
    assert usage_by_performance(archive).empty


def test_an_archive_without_recordings_has_no_usage(tmp_path: Path) -> None:
    nothing = Archive.create(tmp_path / "empty")
    assert phrase_usage(nothing).empty
    assert usage_by_performance(nothing, "Desh").empty
