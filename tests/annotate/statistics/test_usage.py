"""Phrase usage: how often, for how much of the time, where in the avartan."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.records import MarkedSam, PhraseRecord, Recording, Section
from annotate.revisions import add, change
from annotate.statistics.usage import phrase_usage, positions, ragas_played, usage_by_performance
from tests.annotate.desk import SLUG, at
from theory.errors import UnknownName


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


def test_the_histograms_of_several_phrases_and_talas_do_not_mix(archive: Archive) -> None:
    rows = [phrase(f"p{matra:02d}", at(2, matra), 0.4, "S" if matra % 2 else "R") for matra in range(1, 17)]
    archive.commit(SLUG, [add(row) for row in rows], "a", "")
    short = [Recording("short", "Short", raga="desh"), Section("gat", "gat", 0, 60, "jhaptal")]
    sams = [MarkedSam(f"s{n}", "gat", 5.0 * n) for n in range(12)]
    short_phrases = [phrase(f"p{n}", 5.0 * n + 1, 0.4, "R") for n in range(1, 10)]
    archive.commit("short", [add(row) for row in (*short, *sams, *short_phrases)], "a", "")
    usage = phrase_usage(archive, "desh").set_index("swaras")
    assert usage.loc["S", "histogram"] == [1, 0] * 8
    assert usage.loc["R", "tala"] == "jhaptal"  # 9 times there, 8 in teental
    assert usage.loc["R", "histogram"] == [0, 0, 9, *[0] * 7]


def test_usage_is_split_by_year_instrument_and_musician(played: Archive) -> None:
    evening = replace(
        played.state(SLUG).recording,
        performed_on=date(2019, 5, 4),
        lead="mandolin",
        musicians=(("mandolin", "Asha"), ("tabla", "Devkant")),
    )
    played.commit(SLUG, [change(evening)], "a", "")
    morning = replace(played.state("morning").recording, performed_on=date(2021, 5, 4), lead="sarod")
    played.commit("morning", [change(morning)], "a", "")
    for by, counts in {"year": {2019: 2, 2021: 1}, "instrument": {"mandolin": 2, "sarod": 1}}.items():
        usage = phrase_usage(played, "desh", by)  # type: ignore[arg-type]
        mukhra = usage[(usage["swaras"] == "R m P") & (usage["role"] == "mukhra")]
        assert dict(zip(mukhra[by], mukhra["count"], strict=True)) == counts
    by_musician = phrase_usage(played, "desh", "musician")
    assert set(by_musician["musician"]) == {"Asha", "Devkant"}  # nobody is named for the morning
    assert by_musician.groupby("musician")["share_of_phrases"].sum().tolist() == pytest.approx([1, 1])
    assert by_musician["share_of_time"].max() == pytest.approx(8 / 100)


def test_positions_are_shares_of_each_role(played: Archive) -> None:
    found = positions(played, "desh").set_index(["role", "matra"])
    assert found["count"].to_dict() == {("mukhra", 9): 2, ("sthayi", 11): 1}
    assert found.loc[("mukhra", 9), "share"] == 1
    assert found.loc[("mukhra", 9), "performances"] == 1


def test_a_phrase_outside_any_tala_has_no_position(played: Archive) -> None:
    row = phrase_usage(played, "desh").iloc[2]
    assert row["tala"] == ""
    assert math.isnan(row["mean_matra"])


def test_a_raga_of_ones_own_is_found_by_its_text(played: Archive) -> None:
    assert phrase_usage(played, "Of My Own")["count"].tolist() == [1]
    assert phrase_usage(played, "Bhupali").empty  # a raga that nobody has played yet
    with pytest.raises(UnknownName, match="of my own"):
        phrase_usage(played, "nothing")
    assert len(phrase_usage(played)) == 4


def test_the_ragas_played_are_told_with_those_that_name_none(played: Archive) -> None:
    played.commit("dusk", [add(Recording("dusk", "Dusk")), add(phrase("p01", 1, 5, "S R"))], "a", "")
    assert ragas_played(played).to_dict() == {"desh": 5, "": 1, "of my own": 1}
    assert phrase_usage(played, "")["swaras"].tolist() == ["S R"]


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
