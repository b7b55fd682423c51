"""Finding the like of a passage or a phrase in the dashboard: its page as data, and the way there in the browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from annotate.archive import Archive
from dashboard.library import Library
from dashboard.pages import alike
from dashboard.routes import page_at
from tests.annotate.alike.conftest import archive as archive  # the fixture: a phrase in two recordings
from tests.annotate.desk import SLUG, at
from tests.dashboard.conftest import Window, served
from tests.dashboard.test_pages import text_of
from tests.dashboard.test_raga_pages import components, made

PLAIN = {
    "slug": "",
    "from": "",
    "to": "",
    "phrase": "",
    "raga": "",
    "by": "melody",
    "transposed": "also",
    "laya": "any",
}
PASSAGE = {**PLAIN, "slug": SLUG, "from": str(at(3, 5)), "to": str(at(3, 10))}


def rows_of(part: Any) -> list[Any]:
    """Rows of the table's body."""
    return [each for each in components(part) if type(each).__name__ == "Tr"][1:]


def test_the_places_are_ranked_with_avartan_likeness_pitch_and_laya(archive: Archive) -> None:
    part = made(Library(archive), alike.LIKES, **PASSAGE)
    rows = [text_of(row) for row in rows_of(part)]
    again = next(row for row in rows[:3] if "avartan 7, matra 3 of Teental" in row)
    for expected in ("Evening", "melody", "at the same pitch", "the same pace"):
        assert expected in again
    assert any("Morning" in row and "higher" in row for row in rows[:3])
    assert "2 recordings" in text_of(part)


def test_what_may_differ_stands_in_the_address(archive: Archive) -> None:
    library = Library(archive)
    only = [text_of(row) for row in rows_of(made(library, alike.LIKES, **{**PASSAGE, "transposed": "only"}))]
    assert only
    assert all(("higher" in row) != ("lower" in row) for row in only)
    page = page_at(library, f"/like/{SLUG}", f"?from={at(3, 5)}&to={at(3, 10)}&by=tabla&transposed=nonsense")
    current = [text_of(each) for each in components(page.content) if getattr(each, "aria-current", None) == "true"]
    assert current == ["tabla", "at any pitch", "at any laya"]
    links = [each.href for each in components(page.content) if "laya=same" in str(getattr(each, "href", ""))]
    assert len(links) == 1
    assert "by=tabla" in links[0]


def test_a_typed_phrase_has_a_page_of_its_own_and_its_fault_is_shown_with_its_place(archive: Archive) -> None:
    library = Library(archive)
    assert "Type a phrase" in text_of(page_at(library, "/like", "").content)
    fault = text_of(page_at(library, "/like", "?phrase=m+P+H").content)
    assert "Expected a swara" in fault
    assert "^" in fault
    asked = {**PLAIN, "phrase": "m P N S' P", "raga": "Desh"}
    assert "avartan 7, matra 3" in " ".join(text_of(row) for row in rows_of(made(library, alike.LIKES, **asked))[:3])


@pytest.mark.parametrize("asked", ["", "?from=5&to=5.1", "?from=nan&to=inf", "?from=one&to=two", "?from=500&to=510"])
def test_a_passage_that_cannot_be_looked_for_is_told_in_words(archive: Archive, asked: str) -> None:
    text = text_of(page_at(Library(archive), f"/like/{SLUG}", asked).content)
    assert "cannot be shown" in text
    assert "passage" in text


def test_a_recording_that_is_not_there_leads_to_the_page_that_says_so(archive: Archive) -> None:
    assert page_at(Library(archive), "/like/nowhere", "?from=1&to=3").title == "Not found"


@pytest.mark.browser
def test_a_selected_passage_leads_by_a_key_or_the_button_to_its_like(
    archive: Archive, window: Callable[..., Window]
) -> None:
    with served(archive.path) as address:
        opened = window(f"{address}/cycles/{SLUG}?at={at(3, 5)}")
        page = opened.page
        page.wait_for_selector("#fold .avartan-drawing")
        button = page.locator("#find-like")
        assert button.is_hidden()
        page.keyboard.press("a")
        button.wait_for()
        page.keyboard.press("i")
        page.wait_for_selector("#likes table")
        assert f"/like/{SLUG}?from=26." in page.url
        assert "avartan" in page.inner_text("#likes")
        page.go_back()
        page.wait_for_selector("#fold .avartan-drawing")
        page.keyboard.press("a")
        page.locator("#find-like").click()
        page.wait_for_selector("#likes table")
        page.fill("#like-phrase", "m P N S' P")
        page.press("#like-phrase", "Enter")
        page.wait_for_selector("h1:has-text('Find by sound')")
        page.wait_for_selector("#likes caption:has-text('2 recordings')")
        assert "/like?phrase=m+P+N+S" in page.url
