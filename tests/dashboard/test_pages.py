"""Pages as data: what they say of the archive, without a browser."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.records import Recording
from annotate.revisions import add
from dashboard import words
from dashboard.drafts import draft_of, on_paper, read_times
from dashboard.figures.deviation import Statement, deviation_drawing
from dashboard.figures.usage import position_figure, usage_figure
from dashboard.library import Library
from dashboard.pages import phrases
from dashboard.routes import page_at
from tests.dashboard.conftest import SLUG, play_tihai
from theory.errors import LayakoshError


@pytest.fixture(scope="module")
def library(finished_archive: Path) -> Library:
    return Library(Archive.open(finished_archive))


def text_of(part: Any) -> str:
    """All text of a component, as a reader would go through it."""
    if part is None:
        return ""
    if isinstance(part, str | int | float):
        return str(part)
    if isinstance(part, list | tuple):
        return " ".join(text_of(each) for each in part)
    parts = getattr(part, "data", None)
    if isinstance(parts, dict) and "parts" in parts:  # markup that the browser puts in
        return re.sub(r"<[^>]*>|\s+", " ", " ".join(parts["parts"].values()))
    return text_of(getattr(part, "children", None))


def test_concerts_say_what_is_known_of_a_performance(library: Library) -> None:
    text = text_of(page_at(library, "/", "").content)
    for expected in (
        "Trial in rupak",
        "Desh",
        "Rupak",
        "7 Mar 2026",
        "Nirvani Tolasar (mandolin)",
        "0:28",
        "1 of 2 land",
    ):
        assert expected in text


def test_the_arithmetic_of_a_tihai_is_told_line_by_line(library: Library) -> None:
    text = text_of(page_at(library, f"/tihais/{SLUG}/t01", "").content)
    assert "5 + 5 + 5 = 15 = 2 x 7 + 1" in text
    assert "Palla 3" in text
    assert "+12 ms" in text


@pytest.mark.parametrize(
    "address", ["/cycles/trial", "/tihais/trial/t01", f"/tihais/{SLUG}/t99", "/elsewhere", "/cycles/.."]
)
def test_an_address_that_names_nothing_gets_a_friendly_page(library: Library, address: str) -> None:
    page = page_at(library, address, "")
    assert page.title == "Not found"
    assert "Concerts" in text_of(page.content)


@pytest.mark.parametrize(
    ("address", "search"),
    [
        ("/tihais", "?sort=nonsense&verdict=nonsense"),
        (f"/cycles/{SLUG}", "?at=nonsense"),
        ("/phrases", "?raga=nonsense"),
    ],
)
def test_an_address_with_nonsense_after_the_question_mark_still_gets_its_page(
    library: Library, address: str, search: str
) -> None:
    assert page_at(library, address, search).title != "Not found"


def test_a_phrase_that_is_used_twice_is_counted_twice(library: Library) -> None:
    assert "R m P mukhra 2 1" in text_of(phrases.page(library, {"raga": "desh"}).content)
    text = text_of(phrases.USAGE.make(library, {"raga": "desh", "by": "performance"}, lambda _share: None))
    assert "R m P mukhra 2" in text


def test_a_verdict_is_read_again_after_the_recording_has_changed(own_archive: Path) -> None:
    library = Library(Archive.open(own_archive))
    assert [verdict.verdict for verdict in library.verdicts(SLUG)] == ["lands", "late"]
    play_tihai(Archive.open(own_archive), start_s=11.0, late_s=0.0)
    assert [verdict.verdict for verdict in library.verdicts(SLUG)] == ["lands", "lands", "late"]


def fields(**changed: str) -> list[str]:
    """The panel's fields in order, all empty but the rule and the target."""
    names = ("first", "second", "third", "landing", "palla", "dam", "start", "target", "rule", "by")
    values = {**dict.fromkeys(names, ""), "target": "1", "rule": "within", **changed}
    return [values[name] for name in names]


def test_empty_fields_mean_not_given() -> None:
    draft = draft_of(*fields(first="11", second="13.5", third="0:16"))
    assert draft.palla_s == (11.0, 13.5, 16.0)
    assert (draft.dam, draft.start, draft.target) == (None, None, Fraction(1))
    with pytest.raises(BadAnnotation, match="Where does it land"):
        _ = draft.landing_s


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"second": "soon"}, "Palla 2"),
        ({"dam": "much"}, "Dam"),
        ({"target": "sam?"}, "Aims at"),
        ({"landing": "-1"}, "Lands at"),
    ],
)
def test_a_field_that_cannot_be_read_is_named(changed: dict[str, str], named: str) -> None:
    with pytest.raises(LayakoshError, match=named):
        draft_of(*fields(**changed))


def test_the_sum_is_told_from_what_was_heard_before_anything_is_saved(library: Library) -> None:
    draft = draft_of(*fields(first="11.01", second="13.49", third="16.0", palla="R m P N S'"))
    paper = on_paper(library.archive, SLUG, draft)
    assert paper is not None
    assert paper.lands
    assert paper.sum.startswith("5 + 5 + 5 = 15")


def test_the_sum_needs_no_marks_when_start_and_dam_are_written(library: Library) -> None:
    paper = on_paper(library.archive, SLUG, draft_of(*fields(palla="R m P", dam="1", start="1")))
    assert paper is not None
    assert not paper.lands


def test_a_palla_that_does_not_parse_is_shown_also_when_there_is_too_little_for_a_sum(library: Library) -> None:
    with pytest.raises(BadAnnotation, match=r"Palla: Expected a swara(?s:.*)R m X\n +\^"):
        on_paper(library.archive, SLUG, draft_of(*fields(palla="R m X")))


def test_sams_are_read_in_any_order_and_with_any_separator() -> None:
    assert read_times("0:14.5, 11;7.5\n4") == [4.0, 7.5, 11.0, 14.5]
    with pytest.raises(BadAnnotation, match="No sam"):
        read_times("  ")


@pytest.mark.parametrize(
    ("dev_ms", "text"), [(12.4, "+12 ms"), (-3.0, "−3 ms"), (0.2, "0 ms"), (1530.0, "+1.53 s"), (None, "")]
)
def test_deviations_carry_their_sign_and_unit(dev_ms: float | None, text: str) -> None:
    assert words.amount_ms(dev_ms) == text


def test_a_matra_a_hair_before_sam_is_written_as_sam() -> None:
    assert words.played_matra(16.998, 16) == "1.00"
    assert words.played_matra(16.98, 16) == "16.98"


def test_every_figure_names_its_axes_with_their_units() -> None:
    figures = [
        usage_figure(["R m P"], {"one": [2], "two": [1]}, [0.1]),
        position_figure(["R m P"], [[2, 0, 0, 1]], "Rupak"),
    ]
    for figure in figures:
        for axis in (figure.layout.xaxis, figure.layout.yaxis):
            assert axis.title.text
    assert "(%)" in figures[0].layout.xaxis2.title.text
    assert "(count)" in figures[0].layout.xaxis.title.text
    assert "matra" in figures[1].layout.xaxis.title.text


def test_a_drawing_of_deviations_tells_them_in_ms_and_what_a_click_plays() -> None:
    told = deviation_drawing([Statement("palla 1", 3.04, 7.5), Statement("landing", -20.0)], 100.0)
    assert told["y_title"] == "played minus paper (ms), late is up"
    assert told["names"] == ["palla 1", "landing"]
    assert told["series"][0]["values"] == [3.0, -20.0]
    assert told["series"][0]["places"] == [(6.9, 8.1), None]  # where there is no sound, nothing is played


def test_a_figure_without_data_is_still_a_figure() -> None:
    assert position_figure([], [], "Rupak").layout.xaxis.title.text
    assert usage_figure([], {}, []).layout.xaxis.title.text


def test_of_many_concerts_some_are_shown_at_a_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dashboard.concerts.listed.MOST_SHOWN", 1)
    archive = Archive.create(tmp_path / "archive")
    for slug in ("one", "two", "three"):
        archive.commit(slug, [add(Recording(slug, slug))], "a", "")
    pages = [text_of(page_at(Library(archive), "/", f"?from={first}").content) for first in (1, 2, 3)]
    for first, page in enumerate(pages, start=1):
        assert f"3 performances; {first} to {first} are shown" in page
        assert ("Those before" in page, "Those after" in page) == (first > 1, first < 3)
    for foreign in ("0", "-3", "x", "1e3", "٣"):
        assert text_of(page_at(Library(archive), "/", f"?from={foreign}").content) == pages[0]


def links_of(part: Any) -> dict[str, str]:
    """Text and address of every link of a component."""
    if isinstance(part, list | tuple):
        return {text: href for each in part for text, href in links_of(each).items()}
    href = getattr(part, "href", None)
    here = {text_of(part): href} if isinstance(href, str) else {}
    return here | links_of(getattr(part, "children", None) or [])


@pytest.mark.parametrize(
    ("address", "meant"),
    [
        ("/cycles/trial-in-rupack", ("trial-in-rupak", f"/cycles/{SLUG}")),
        ("/proposals/trial-in-rupack", ("trial-in-rupak", f"/proposals/{SLUG}")),
        ("/ragas/bageshrx", ("Bageshri", "/ragas/Bageshri")),
    ],
)
def test_a_mistyped_address_offers_what_may_have_been_meant_as_a_link(
    library: Library, address: str, meant: tuple[str, str]
) -> None:
    page = page_at(library, address, "")
    assert meant in links_of(page.content).items()
    assert text_of(page.content).count("Did you mean") == 1


def test_an_empty_archive_offers_to_add_a_recording_once_and_says_how_a_phrase_is_written_down(tmp_path: Path) -> None:
    empty = Library(Archive.create(tmp_path / "archive"))
    concerts = page_at(empty, "/", "").content
    assert text_of(concerts).count("Add a recording") == 1
    assert "select a passage" in text_of(page_at(empty, "/phrases", "").content)


def test_a_whole_matra_is_written_without_a_decimal() -> None:
    assert words.about_matra(9.02, 16) == "9"
    assert words.about_matra(9.27, 16) == "9.3"
    assert words.about_matra(16.97, 16) == "1"
