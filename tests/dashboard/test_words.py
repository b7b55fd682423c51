"""What the trade's words mean: told on the marking panel, under the rows and in Compose, all from one source.

The meanings themselves are common practice, no source; here it is asked that they are there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from annotate.archive import Archive
from annotate.marking import record_phrase
from dashboard.app import make_app
from dashboard.glossary import _ALSO, MEANINGS, meaning
from dashboard.library import Library
from dashboard.pages import cycles, marking
from dashboard.routes import page_at
from tests.dashboard.conftest import SLUG, Window

Open = Callable[..., Window]


def parts_of(part: Any) -> Iterator[Any]:
    """Every component within a part, itself first."""
    yield part
    children = getattr(part, "children", None)
    for child in children if isinstance(children, list | tuple) else [children]:
        if child is not None:
            yield from parts_of(child)


def told_in(part: Any) -> dict[str, str]:
    """Return the words that tell their meaning, with what they tell."""
    props = [each.to_plotly_json()["props"] for each in parts_of(part) if hasattr(each, "to_plotly_json")]
    return {each["children"]: each["data-meaning"] for each in props if "data-meaning" in each}


def links_of(content: Any) -> list[str]:
    each = [part for block in content for part in parts_of(block)]
    return [part.href for part in each if getattr(part, "href", None)]


def test_every_other_spelling_of_a_word_leads_to_a_meaning() -> None:
    assert {word: meaning(word) for word in _ALSO if not meaning(word)} == {}
    assert [text for text in MEANINGS.values() if len(text) > 110 or "\n" in text] == []  # one line


def test_the_labels_of_the_marking_panel_tell_what_they_mean() -> None:
    told = told_in(marking.panel(sound=True))
    for label, word in {
        "Sams (s)": "sam", "Pallas begin at (s)": "palla", "Lands at (s)": "landing", "Dam": "dam",
        "Palla, one word a matra": "palla", "Starts on": "starts on", "Aims at": "aims at",
        "Landing rule": "landing rule",
    }.items():  # fmt: skip
        assert told[label] == MEANINGS[word]


def test_the_signs_under_the_rows_tell_what_they_mean() -> None:
    told = told_in(cycles.legend())
    assert told["treble (dayan)"] == MEANINGS["dayan"]
    assert set(told) == {word for _, word, _ in cycles.LEGEND if word}


def test_compose_tells_the_words_of_its_fields_and_the_names_of_kinds(tmp_path: Path) -> None:
    Archive.create(tmp_path / "archive")
    client = make_app(tmp_path / "archive").server.test_client()
    parts = client.get("/compose/answer?at=1&plays=Dha+Ti+Te+Ka+Dha&gap=1").get_json()
    form, opened = unescape(parts["form"]), unescape(parts["opened"])
    for word in ("tala", "palla", "dam", "avartan", "landing rule", "starts on", "aims at"):
        assert MEANINGS[word] in form
    for word in ("sa", "laya", "theka"):
        assert MEANINGS[word] in opened
    assert 'title="' not in form  # which neither the keyboard nor a finger comes to
    assert 'data-meaning="a gap between the pallas' in opened


def test_how_far_people_agree_is_linked_where_several_wrote_down_the_same(own_archive: Path) -> None:
    archive = Archive.open(own_archive)
    address = f"/agreement/{SLUG}"
    assert address not in links_of(page_at(Library(archive), f"/cycles/{SLUG}", "").content)
    for who in ("Asha", "Devkant"):
        record_phrase(archive, SLUG, start_s=4.0, end_s=5.5, swaras="R m P", role="mukhra", who=who)
    for pathname, search in ((f"/cycles/{SLUG}", ""), ("/tihais", f"?recording={SLUG}")):
        assert address in links_of(page_at(Library(archive), pathname, search).content)
    assert address not in links_of(page_at(Library(archive), "/tihais", "").content)


@pytest.mark.browser
def test_the_keyboard_hears_what_a_field_means_until_something_is_typed(address: str, window: Open) -> None:
    page = window(f"{address}/cycles/{SLUG}").page
    told = page.get_by_role("tooltip")
    page.locator("#mark-palla").focus()
    expect(told).to_be_hidden()  # a field that is pressed is to be written in
    page.keyboard.press("Tab")
    expect(page.locator("#mark-dam")).to_be_focused()
    expect(told).to_have_text(MEANINGS["dam"])
    page.keyboard.type("1")
    expect(told).to_be_hidden()
    expect(page.locator("#mark-dam")).to_have_value("1")


@pytest.mark.browser
def test_what_describes_a_field_already_goes_on_describing_it(address: str, window: Open) -> None:
    page = window(f"{address}/compose").page
    page.locator("#ask-tala").focus()
    page.keyboard.press("Tab")
    field = page.locator("#ask-from")
    expect(field).to_have_attribute("aria-describedby", "wrong-from meaning")
    page.keyboard.press("Tab")
    expect(field).to_have_attribute("aria-describedby", "wrong-from")


@pytest.mark.browser
def test_a_finger_on_the_word_of_a_label_asks_for_its_meaning(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page: Page = context.new_page()
    page.goto(f"{address}/compose")
    page.locator("label[for=ask-cycles] .term").tap()
    expect(page.get_by_role("tooltip")).to_contain_text(MEANINGS["avartan"])
    expect(page.locator("#ask-cycles")).not_to_be_focused()
    context.close()


@pytest.mark.browser
def test_a_meaning_lets_what_it_lies_over_be_pressed_and_a_press_puts_it_away(address: str, window: Open) -> None:
    page = window(f"{address}/tihais").page
    told = page.get_by_role("tooltip")
    page.locator("th", has_text="Starts on").hover()
    expect(told).to_be_visible()
    link = page.locator("tbody tr").first.get_by_role("link").first
    over, under = told.bounding_box(), link.bounding_box()
    assert over is not None
    assert under is not None
    centre = {"x": under["x"] + under["width"] / 2, "y": under["y"] + under["height"] / 2}
    told.evaluate("(box, at) => Object.assign(box.style, { left: `${at.x - 20}px`, top: `${at.y - 10}px` })", centre)
    is_link = "(at) => document.elementFromPoint(at.x, at.y).closest('a') !== null"
    assert page.evaluate(is_link, centre), "the meaning would catch the press"
    page.mouse.down()  # where the pointer rests: on the heading
    expect(told).to_be_hidden()
    page.mouse.up()


@pytest.mark.browser
def test_turning_the_page_puts_a_meaning_away(address: str, window: Open) -> None:
    page = window(f"{address}/tihais").page
    told = page.get_by_role("tooltip")
    page.locator("th", has_text="Starts on").hover()
    expect(told).to_be_visible()
    page.get_by_role("navigation", name="Pages").get_by_role("link", name="Ragas").press("Enter")
    expect(page.get_by_role("heading", level=1, name="Ragas")).to_be_visible()
    expect(told).to_be_hidden()
