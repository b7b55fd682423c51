"""Shares of phrases, runs, swaras and endings; what the raga allows; change over the years."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from annotate import melody_store
from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.revisions import add, change
from annotate.statistics.counted import KINDS
from annotate.statistics.ngrams import ngram_usage, runs_in
from annotate.statistics.shares import shares, trends
from ingest.melody import Melody
from tests.annotate.desk import SLUG, at, phrase
from theory.errors import UnknownName
from theory.ragas import all_ragas, get_raga
from theory.swaras import semitones_of


def test_phrases_have_their_share_of_all_performances(years: Archive) -> None:
    """55 times R m P, and 2 of each other in ten performances: 115 phrases."""
    found = shares(years, "Desh", "phrases").set_index("item")
    assert found["count"].to_dict() == {"R m P": 55, "n D P": 20, "m G R": 20, "N S'": 20}
    assert found.loc["R m P", "share"] == pytest.approx(55 / 115)
    assert set(found["performances"]) == set(found["of_performances"]) == {10}


def test_shares_are_split_by_instrument_musician_year_and_performance(years: Archive) -> None:
    by_instrument = shares(years, "desh", "phrases", "instrument").set_index(["instrument", "item"])
    assert by_instrument.loc[("sitar", "R m P"), "count"] == 25
    assert by_instrument.loc[("sarod", "R m P"), "share"] == pytest.approx(30 / 60)
    by_musician = shares(years, "desh", "phrases", "musician").set_index(["musician", "item"])
    assert by_musician.loc[("Devkant", "R m P"), "count"] == 55
    assert by_musician.loc[("Player 0", "R m P"), "count"] == 25
    by_year = shares(years, "desh", "phrases", "year").set_index(["year", "item"])
    assert by_year.loc[(2019, "R m P"), "share"] == pytest.approx(10 / 16)
    by_performance = shares(years, "desh", "phrases", "performance")
    assert by_performance.groupby("recording")["share"].sum().tolist() == pytest.approx([1] * 10)


def test_endings_are_counted_without_their_octave_and_the_leading_swaras_are_named(years: Archive) -> None:
    found = shares(years, "Desh", "endings").set_index("item")
    assert found["count"].to_dict() == {"P": 75, "R": 20, "S": 20}
    assert found["leading"].to_dict() == {"P": "samvadi", "R": "vadi", "S": ""}


def test_the_time_of_swaras_is_that_of_the_notation(years: Archive) -> None:
    found = shares(years, "bhupali", "swaras").set_index("item")
    assert found["sounding_s"].sum() == pytest.approx(12)
    assert found.loc["P", "sounding_s"] == pytest.approx(1 + 1 + 4 / 5)


def test_swaras_heard_are_told_apart_from_those_written(archive: Archive) -> None:
    """A melody on Re (a ninth part above 240 Hz Sa: 9/8) for 80 s and on Pa (3/2) for 20 s."""
    hop_s = 0.1
    hertz = np.where(np.arange(1000) < 800, 270.0, 360.0).astype(np.float32)
    melody_store.save(
        archive.folder(SLUG) / "evidence", Melody(hop_s, hertz, np.ones(1000, np.float32), np.ones(1000, np.float32))
    )
    archive.commit(SLUG, [change(replace(archive.state(SLUG).recording, sa_hz=240.0)), add(phrase())], "a", "")
    heard = shares(archive, "desh", "heard").set_index("item")
    assert heard["sounding_s"].to_dict() == pytest.approx({"R": 80, "P": 20})
    assert heard["leading"].to_dict() == {"R": "vadi", "P": "samvadi"}
    assert set(shares(archive, "desh", "swaras")["item"]) == {"R", "m", "P"}


def test_places_name_the_tala(archive: Archive) -> None:
    archive.commit(SLUG, [add(phrase("p01", at(2, 9) - 0.02, at(2, 12))), add(phrase("p02", 1, 2))], "a", "")
    assert shares(archive, "desh", "places")[["item", "count"]].values.tolist() == [["teental 9", 1]]


@pytest.mark.parametrize("of", KINDS)
def test_a_raga_that_nobody_has_played_has_no_shares(years: Archive, of: str) -> None:
    assert shares(years, "Yaman", of).empty  # type: ignore[arg-type]
    assert shares(years, "Yaman", of, "year").empty  # type: ignore[arg-type]
    with pytest.raises(UnknownName, match="Yaman"):
        shares(years, "Yamen", of)  # type: ignore[arg-type]


def test_runs_are_held_against_the_ragas_ascent_and_descent(archive: Archive) -> None:
    """Desh: N only ascends, n only descends (songsofyore.com, as in the raga table); P N S' is its ascent."""
    lines = ["P N S'", "S' n D P", "P n S'", "S' N D", "P g R"]
    archive.commit(SLUG, [add(phrase(f"p{n}", n, n + 1, line)) for n, line in enumerate(lines)], "a", "")
    runs = ngram_usage(archive, "desh", 3).set_index("item")
    assert runs["unusual"].dropna().to_dict().items() >= {
        "P N S'": False, "S' n D": False, "P n S'": True, "S .N .D": True, "P g R": True,
    }.items() - {("S' n D", False)}  # fmt: skip
    assert runs.loc["P N S'", "in_aroha"]
    assert runs.loc["S .n .D", "in_avaroha"]
    assert "descent" in runs.loc["P n S'", "why"]
    unplayed = runs[runs["count"] == 0]
    assert set(unplayed.index) >= {"S R m", "R m P"}
    assert not unplayed["unusual"].any()


def test_a_raga_of_ones_own_has_runs_and_no_judgement(archive: Archive) -> None:
    archive.commit(SLUG, [change(replace(archive.state(SLUG).recording, raga="of my own")), add(phrase())], "a", "")
    runs = ngram_usage(archive, "of my own", 2)
    assert runs["item"].tolist() == ["R m", "m P"]
    assert runs["unusual"].isna().all()


@pytest.mark.parametrize("raga", [raga.key for raga in all_ragas()])
def test_the_steps_of_a_scale_as_the_sources_write_it_are_its_own(raga: str) -> None:
    """The scales are those of the raga table, each with its published source there."""
    known = get_raga(raga)
    up, down = runs_in(known.aroha, 2), runs_in(known.avaroha, 2)
    assert up
    assert down
    first = up[0].split()
    assert semitones_of(first[0]) < semitones_of(first[1]) or known.aroha.startswith(".")


def test_a_change_over_the_years_is_found_with_its_interval(years: Archive) -> None:
    """The share of R m P is n / (n + 6): it grows from 1/7 to 10/16."""
    found = trends(years, "desh", "phrases").set_index("item")
    row = found.loc["R m P"]
    assert (row["performances"], row["first_year"], row["last_year"], row["note"]) == (10, 2010, 2019, "")
    assert 0.03 < row["low_per_year"] <= row["change_per_year"] <= row["high_per_year"] < 0.09
    assert (found.drop("R m P")["high_per_year"] < 0).all()
    assert found.index[0] == "R m P"


def test_too_few_years_are_refused_and_few_performances_are_said(years: Archive) -> None:
    with pytest.raises(BadAnnotation, match="three dated performances"):
        trends(years, "bhupali", "phrases")
    for number in range(6):
        moved = replace(years.state(f"y{number}").recording, raga="kafi")
        years.commit(moved.slug, [change(moved)], "a", "")
    assert set(trends(years, "desh", "phrases")["note"]) == {"only 4 performances"}
