"""The list of tihais: what an address asks for is what is listed, page by page."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.marking import record_tihai
from dashboard import tihai_list
from dashboard.library import Library
from dashboard.routes import page_at
from dashboard.tihai_list import address, find
from tests.dashboard.conftest import SLUG
from tests.dashboard.test_pages import text_of
from theory.errors import LayakoshError, UnknownName


@pytest.fixture(scope="module")
def archive(finished_archive: Path) -> Archive:
    return Archive.open(finished_archive)


def keys(archive: Archive, **wanted: str) -> list[str]:
    return find(archive, wanted).rows["tihai"].tolist()


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ({}, ["t01", "t02"]),
        ({"verdict": "late"}, ["t02"]),
        ({"raga": "Des", "tala": "roopak", "palla": "4..6", "dam": "0", "start": "1"}, ["t01", "t02"]),
        ({"palla": "11/2.."}, []),
        ({"swaras": "R * S'"}, ["t01", "t02"]),
        ({"swaras": "R * P"}, []),
        ({"played_by": "Mandolin", "find": "trial RUPAK"}, ["t01", "t02"]),
        ({"find": "trial jhaptal"}, []),
        ({"rule": "after"}, []),
        ({"rule": "nonsense", "paper": "lands"}, ["t01", "t02"]),
        ({"laya": "119..121"}, ["t01", "t02"]),
        ({"sort": "played", "down": "1"}, ["t02", "t01"]),
        ({"sort": "verdict"}, ["t01", "t02"]),
        ({"page": "99"}, ["t01", "t02"]),
    ],
)
def test_all_that_an_address_asks_holds_at_once(archive: Archive, wanted: dict[str, str], expected: list[str]) -> None:
    assert keys(archive, **wanted) == expected


@pytest.mark.parametrize("sort", tihai_list.SORTS)
def test_every_heading_sorts_there_and_back(archive: Archive, sort: str) -> None:
    there, back = keys(archive, sort=sort), keys(archive, sort=sort, down="1")
    assert sorted(there) == sorted(back) == ["t01", "t02"]


def test_a_count_that_cannot_be_read_is_told_with_its_field(archive: Archive) -> None:
    with pytest.raises(LayakoshError, match=r"Dam, matras: Expected a count"):
        find(archive, {"dam": "some"})


def test_a_name_that_nothing_carries_is_told_with_the_nearest(archive: Archive) -> None:
    with pytest.raises(UnknownName, match="Desh"):
        find(archive, {"raga": "dxsh"})
    text = text_of(page_at(Library(archive), "/tihais", "?raga=dxsh").content)
    assert "Did you mean Desh?" in text
    assert "Show all tihais" in text


def test_verdicts_are_counted_as_if_none_had_been_chosen(archive: Archive) -> None:
    assert find(archive, {"verdict": "late"}).by_verdict == {"lands": 1, "late": 1}


def test_a_long_list_comes_in_pages_and_each_tihai_stands_on_one_of_them(
    own_archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    archive = Archive.open(own_archive)
    for start_s in (5.0, 6.0, 9.0):
        record_tihai(
            archive,
            SLUG,
            palla_s=[start_s, start_s + 1, start_s + 2],
            landing_s=start_s + 2.5,
            dam=Fraction(1),
            who="test",
        )
    monkeypatch.setattr(tihai_list, "PAGE", 2)
    pages = [keys(archive, page=str(number)) for number in (1, 2, 3)]
    assert [len(each) for each in pages] == [2, 2, 1]
    assert sorted(key for each in pages for key in each) == ["t01", "t02", "t03", "t04", "t05"]
    text = text_of(page_at(Library(archive), "/tihais", "?page=2&sort=at").content)
    assert "5 tihais, page 2 of 3" in text


def test_an_address_keeps_what_is_asked_and_begins_at_the_first_page() -> None:
    wanted = {"raga": "desh", "page": "3", "sort": "dam", "elsewhere": "x"}
    assert address(wanted, verdict="late") == "/tihais?raga=desh&verdict=late&sort=dam"
    assert address({"raga": "desh"}, raga=None) == "/tihais"
