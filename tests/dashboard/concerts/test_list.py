"""The list of performances: what fits, in which order, and that its address says it all."""

from __future__ import annotations

from datetime import date

import pytest

from annotate.overview import Overview
from annotate.records import Recording
from dashboard.concerts.asked import Asked, read
from dashboard.concerts.listed import MOST_SHOWN, choices_of, list_of
from dashboard.concerts.markup import markup
from dashboard.concerts.next_steps import counted_words


def performance(slug: str, raga: str = "desh", on: date | None = None, **counts: object) -> Overview:
    title = slug.replace("-", " ")
    recording = Recording(
        slug,
        title,
        on,
        "an invented hall",
        raga,
        "teental",
        musicians=(("mandolin", "Nirvani Tolasar"),),
        duration_s=90.0,
    )
    return Overview(recording, **counts)  # type: ignore[arg-type]


EVENINGS = [
    performance(
        "first-evening", on=date(2025, 3, 7), talas=("rupak",), sams=10, sams_marked=5, tihais=4, measured=4, landing=1
    ),
    performance(
        "second-evening", "bageshri", date(2026, 1, 2), sams=10, sams_doubtful=3, tihais=2, measured=2, landing=2
    ),
    performance("third-evening", "a raga of mine", sams=10, sams_marked=10),
]


def slugs(address: str) -> list[str]:
    wanted = dict(pair.split("=") for pair in address.partition("?")[2].split("&") if pair)
    return [row["slug"] for row in list_of(EVENINGS, read(wanted))["rows"]]


@pytest.mark.parametrize(
    ("address", "expected"),
    [
        ("/", ["second-evening", "first-evening", "third-evening"]),  # the newest first, those without a day last
        ("/?raga=bageshri", ["second-evening"]),
        ("/?tala=rupak", ["first-evening"]),
        ("/?year=2026", ["second-evening"]),
        ("/?musician=tolasar&find=third", ["third-evening"]),
        ("/?find=BAGESHRI", ["second-evening"]),
        ("/?find=jhaptal", []),
        ("/?needs=1", ["second-evening"]),
        ("/?sort=title", ["first-evening", "second-evening", "third-evening"]),
        ("/?sort=marked&down=1", ["third-evening", "first-evening", "second-evening"]),
        ("/?sort=land&down=1", ["second-evening", "first-evening", "third-evening"]),
        ("/?sort=no-such-thing&from=x", ["second-evening", "first-evening", "third-evening"]),
    ],
)
def test_an_address_says_which_performances_are_listed_and_in_which_order(address: str, expected: list[str]) -> None:
    assert slugs(address) == expected


def test_an_address_made_of_choices_asks_for_them_again() -> None:
    asked = Asked(find="a b", raga="desh", needs=True, sort="length", down=True, first=60)
    wanted = {"find": "a b", "raga": "desh", "needs": "1", "sort": "length", "down": "1", "from": "61"}
    assert read(wanted) == asked
    assert asked.address(first=60) == "/?find=a+b&raga=desh&needs=1&sort=length&down=1&from=61"
    assert asked.address(raga="", find="", needs=False, sort="date") == "/"


def test_of_many_performances_a_page_is_shown_and_the_rest_is_linked() -> None:
    many = [performance(f"evening-{number:03}") for number in range(2 * MOST_SHOWN + 5)]
    second = list_of(many, Asked(sort="title", down=False, first=MOST_SHOWN))
    assert second["rows"][0]["slug"] == f"evening-{MOST_SHOWN:03}"
    assert len(second["rows"]) == MOST_SHOWN
    assert (second["before"], second["after"]) == ("/?sort=title", f"/?sort=title&from={2 * MOST_SHOWN + 1}")
    assert f"{len(many)} performances; {MOST_SHOWN + 1} to {2 * MOST_SHOWN} are shown" in second["caption"]


def test_there_is_to_choose_from_what_the_archive_holds_with_how_often() -> None:
    choices = choices_of(EVENINGS, Asked())
    assert ("bageshri", "Bageshri", 1) in choices["ragas"]
    assert choices["talas"] == [("rupak", "Rupak", 1), ("teental", "Teental", 3)]
    assert choices["years"] == [("2026", 1), ("2025", 1)]


def test_what_waits_is_told_in_a_few_words() -> None:
    waiting = performance("e", tihais=5, rejected=1, measured=3, proposed=1, sums_missing=2, sams_doubtful=1)
    assert counted_words(waiting) == "1 tihai to confirm, 2 sums that miss, 1 tihai not measured, 1 doubtful sam"
    assert counted_words(EVENINGS[2]) == ""


def test_what_people_write_stands_in_the_list_as_text_and_never_as_markup() -> None:
    made = markup("list", list_of([performance("<b>bold</b>")], Asked()))
    assert "<b>bold" not in made
    assert "&lt;b&gt;bold" in made
