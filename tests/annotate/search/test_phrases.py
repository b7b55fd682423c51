"""Searching phrases: swaras with wildcards, contour, place in the avartan."""

from __future__ import annotations

from typing import Any

import pytest

from annotate.archive import Archive
from annotate.errors import BadPattern
from annotate.search.phrases import FOUND, PhraseSearch, find_phrases
from annotate.search.spans import parse_span
from theory.errors import UnknownName


def keys(archive: Archive, **asked: Any) -> list[str]:
    found = find_phrases(archive, PhraseSearch(**asked))
    assert tuple(found.columns) == FOUND
    return [f"{row.recording}/{row.phrase}" for row in found.itertuples()]


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        ({"swaras": "R m P"}, ["evening/p02"]),
        ({"swaras": "R m P *"}, ["evening/p01", "evening/p02"]),
        ({"swaras": "R m P *", "octaves": True}, ["evening/p01"]),
        ({"swaras": "[mM]?P"}, ["evening/p03"]),
        ({"swaras": "* .n *"}, ["evening/p04"]),
        ({"role": "Mukhra", "raga": "Desh", "matra": parse_span("1")}, ["evening/p01", "evening/p02"]),
        ({"matra": parse_span("8..10")}, ["evening/p03"]),
        ({"laya": parse_span("..130"), "tala": "teental", "swaras": "R*"}, ["evening/p01", "evening/p02"]),
        ({"contour": "up up"}, ["evening/p02"]),
        ({"contour": "same up"}, ["evening/p03"]),
        ({"contour": "+1 +1 +1"}, ["noon/p01", "noon/p02"]),  # G P is one step in Bhupali
        ({"contour": "+2 +2 +3", "by": "semitones"}, ["dawn/p01", "noon/p01"]),
        ({"like": "S' R' G' P'"}, ["dawn/p01", "noon/p01", "noon/p02"]),  # one line on each raga's own ladder
        ({"like": "S R G P", "by": "semitones"}, ["dawn/p01", "noon/p01"]),
        ({"like": "S R G P", "by": "direction"}, ["dawn/p01", "noon/p01", "noon/p02"]),
        ({"swaras": "R G", "anywhere": True}, ["dawn/p01", "noon/p01"]),
        ({"like": "n D P", "anywhere": True, "by": "semitones"}, ["evening/p01"]),
        ({"contour": "down down", "anywhere": True}, ["evening/p01"]),
        ({"raga": "moonrise OF ours"}, ["dawn/p01"]),
    ],
)
def test_a_search_finds_what_holds(season: Archive, asked: dict[str, Any], wanted: list[str]) -> None:
    assert keys(season, **asked) == wanted


def test_a_mistyped_role_or_contour_is_refused(season: Archive) -> None:
    with pytest.raises(UnknownName, match="mukhra"):
        find_phrases(season, PhraseSearch(role="mukra"))
    with pytest.raises(BadPattern, match="two at least"):
        find_phrases(season, PhraseSearch(like="S"))
    with pytest.raises(BadPattern):
        find_phrases(season, PhraseSearch(like="Dha Ti"))


def test_an_archive_without_phrases_has_none_to_find(archive: Archive) -> None:
    assert find_phrases(archive, PhraseSearch(swaras="S *", like="S R", matra=parse_span("1"))).empty
