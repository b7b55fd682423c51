"""Searching tihais: by exact arithmetic, names in any spelling, landing, laya; and the same tihai elsewhere."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.errors import BadAnnotation, BadPattern, NoSuchRecording, NoSuchTihai
from annotate.search.spans import Span, parse_span
from annotate.search.tihais import FOUND, TihaiSearch, find_tihais, like_tihai
from tests.annotate.desk import SLUG
from theory.errors import UnknownName
from theory.numbers import stored

COUNTS = st.fractions(min_value=0, max_value=64, max_denominator=96)


def keys(archive: Archive, **asked: Any) -> list[str]:
    found = find_tihais(archive, TihaiSearch(**asked))
    assert tuple(found.columns) == FOUND
    return [f"{row.recording}/{row.tihai}" for row in found.itertuples()]


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        ({}, ["evening/t01", "evening/t02", "evening/t03", "noon/t01", "noon/t02"]),
        ({"status": "rejected"}, ["evening/t04"]),
        ({"palla": parse_span("5")}, ["evening/t01", "evening/t03", "noon/t01"]),
        ({"palla": parse_span("..4")}, ["evening/t02"]),
        ({"dam": parse_span("3/2"), "status": "rejected"}, ["evening/t04"]),
        ({"dam": parse_span("1.5..2")}, ["evening/t02"]),
        ({"rule": "after"}, ["evening/t02"]),
        ({"verdict": "late"}, ["evening/t02"]),
        ({"verdict": "lands", "raga": "Desh"}, ["evening/t01", "evening/t03"]),
        ({"on_paper": True, "raga": "bhoopali"}, ["noon/t01"]),
        ({"played_by": "asha"}, ["evening/t01"]),
        ({"kind": "Bol Tihai"}, ["evening/t03"]),
        ({"kind": "damdar"}, ["evening/t01", "evening/t02", "evening/t03", "noon/t01"]),
        ({"tala": "Teen Taal", "start": parse_span("1"), "recording": "noon"}, ["noon/t01"]),
        ({"target": parse_span("1"), "swaras": "S R G ?*", "recording": "evening"}, ["evening/t01", "evening/t02"]),
        ({"laya": parse_span("100..130"), "recording": "evening", "palla": parse_span("4")}, ["evening/t02"]),
        ({"laya": parse_span("121..")}, []),
    ],
)
def test_a_search_finds_what_holds(season: Archive, asked: dict[str, Any], wanted: list[str]) -> None:
    assert keys(season, **asked) == wanted


@pytest.mark.parametrize(
    ("asked", "error", "says"),
    [
        ({"tala": "tental"}, UnknownName, "Teental"),
        ({"raga": "Bhupalee of"}, UnknownName, "raga"),
        ({"raga": "moonrise of our"}, UnknownName, "Moonrise of ours"),
        ({"kind": "chakardar"}, UnknownName, "chakradar"),
        ({"played_by": "Devakant"}, UnknownName, "Devkant"),
        ({"recording": "evenin"}, NoSuchRecording, "evening"),
        ({"swaras": "S x"}, BadPattern, "Expected swaras"),
    ],
)
def test_a_mistyped_name_is_refused_with_the_nearest(
    season: Archive, asked: dict[str, Any], error: type[Exception], says: str
) -> None:
    with pytest.raises(error, match=says):
        find_tihais(season, TihaiSearch(**asked))


@given(COUNTS, st.lists(COUNTS, min_size=1, max_size=5), st.booleans(), st.booleans())
def test_a_span_holds_exactly_what_its_fractions_hold(
    low: Fraction, counts: list[Fraction], open_low: bool, open_high: bool
) -> None:
    high = low + Fraction(1, 3)
    span = Span(None if open_low else low, None if open_high else high)
    values = [*counts, low, high]
    written = pd.Series([stored(count) for count in values])
    held = span.of_counts(written, pd.Series([float(count) for count in values]))
    assert held.tolist() == [(open_low or low <= count) and (open_high or count <= high) for count in values]


@given(COUNTS)
def test_a_single_count_is_compared_exactly(count: Fraction) -> None:
    near = count + Fraction(1, 10**18)
    written = pd.Series([stored(count), stored(near)])
    held = parse_span(stored(count)).of_counts(written, pd.Series([float(count), float(near)]))
    assert held.tolist() == [True, False]


@pytest.mark.parametrize("text", ["", "..", "five", "4..x", "6..4", "1..2..3"])
def test_what_is_no_count_and_no_range_is_refused(text: str) -> None:
    with pytest.raises(BadPattern):
        parse_span(text)


def test_the_same_tihai_elsewhere_tells_arithmetic_and_swaras_apart(season: Archive) -> None:
    likes = like_tihai(season, SLUG, "t01")
    told = likes.set_index(["recording", "tihai"])[["same_arithmetic", "same_swaras", "same_octaves"]]
    assert told.to_dict("index") == {
        ("evening", "t02"): {"same_arithmetic": True, "same_swaras": False, "same_octaves": False},
        ("evening", "t03"): {"same_arithmetic": True, "same_swaras": False, "same_octaves": False},
        ("noon", "t01"): {"same_arithmetic": True, "same_swaras": False, "same_octaves": False},
    }
    other = like_tihai(season, SLUG, "t04").iloc[0]  # the same swaras an octave lower, another dam
    assert (other["tihai"], other["same_arithmetic"], other["same_swaras"], other["same_octaves"]) == (
        "t01", False, True, False,
    )  # fmt: skip


def test_a_tihai_of_which_nothing_is_written_has_no_like(season: Archive) -> None:
    with pytest.raises(BadAnnotation, match="no palla written"):
        like_tihai(season, "noon", "t02")
    with pytest.raises(NoSuchTihai):
        like_tihai(season, "noon", "t99")
    with pytest.raises(NoSuchRecording):
        like_tihai(season, "noone", "t01")


def test_an_archive_without_tihais_has_none_to_find(archive: Archive) -> None:
    assert find_tihais(archive, TihaiSearch(tala="teental", laya=parse_span("1.."))).empty
