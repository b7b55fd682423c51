"""The folded page in a real browser: what is near is drawn, closeness, selecting, jumping, edits of somebody else.

A recording of twenty minutes without sound stands beside the one with clicks: long enough that most of it is not drawn.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from annotate.archive import Archive
from annotate.marking import mark_sams
from annotate.records import Recording, Section
from annotate.revisions import add, change
from tests.dashboard.conftest import SAMS_S, SLUG, Window, build_archive, served

pytestmark = pytest.mark.browser

Open = Callable[..., Window]
LONG, LONG_S, SAM_EVERY_S = "long-rupak", 1204.0, 3.5


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    archive = build_archive(tmp_path_factory.mktemp("folded") / "archive")
    recording = Recording(LONG, "Long rupak", raga="desh", tala="rupak", sa_hz=220.0, duration_s=LONG_S)
    sections = [Section("alap", "alap", 0.0, 4.0), Section("gat", "gat", 4.0, LONG_S, "rupak")]
    archive.commit(LONG, [add(recording), *map(add, sections)], who="test", why="made for a test")
    mark_sams(archive, LONG, [4.0 + SAM_EVERY_S * cycle for cycle in range(343)], who="test")
    return archive


@pytest.fixture(scope="module")
def address(archive: Archive) -> Iterator[str]:
    with served(archive.path) as url:
        yield url


def shown(window: Open, url: str, **size: Any) -> Page:
    page = window(url, **size).page
    page.wait_for_selector("#fold .avartan-drawing")
    for name in ("folded", "desk"):
        page.evaluate(f"import('/assets/window/{name}.mjs').then(module => {{ window.{name} = module; }})")
    page.wait_for_function("() => window.folded?.isSettled() && window.desk")
    return page


def numbers(page: Page) -> list[str]:
    return [text for text in page.locator("#fold .avartan-number b").all_text_contents() if text]


def first_in_view(page: Page) -> float:
    return float(page.evaluate("folded.shown().from_s"))


def test_only_what_is_near_the_window_exists_however_long_the_concert(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{LONG}")
    assert len(numbers(page)) < 60
    page.evaluate("document.getElementById('fold').scrollTop = 1e9")
    page.wait_for_function(
        "() => [...document.querySelectorAll('.avartan-number b')].some(b => b.textContent === '342')"
    )
    page.wait_for_function("() => folded.isSettled()")
    assert len(numbers(page)) < 60
    assert "1" not in numbers(page)
    assert page.evaluate("document.querySelectorAll('#fold *').length") < 6000


def test_a_concert_without_sound_is_gone_through_by_keys(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{LONG}?at=4")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#place")).to_have_text("avartan 2, matra 1.00")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#place")).to_have_text("avartan 2, matra 2.00")
    page.keyboard.press("End")
    expect(page.locator("#place")).to_contain_text("avartan 34")
    page.wait_for_function("() => document.querySelector('.avartan.sounding') !== null")
    assert page.evaluate("folded.shown().to_s") > LONG_S - 10


def test_closer_and_farther_by_keys_and_buttons_keep_the_place(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{LONG}?at=600.5")
    place = page.locator("#place").text_content()
    for _ in range(3):
        page.keyboard.press("z")
    expect(page.locator("#reach")).to_have_text("a matra a row")
    assert first_in_view(page) <= 600.5 <= page.evaluate("folded.shown().to_s")
    assert page.evaluate("folded.spotOf(600.5) !== null")
    for _ in range(4):
        page.click("#farther")
    expect(page.locator("#reach")).to_have_text("2 avartans a row")
    assert first_in_view(page) <= 600.5 <= page.evaluate("folded.shown().to_s")
    page.keyboard.press("u")
    expect(page.locator("#reach")).to_have_text("40 s a row")
    expect(page.locator("#unfold")).to_have_attribute("aria-pressed", "true")
    assert page.locator("#place").text_content() == place


def test_a_drag_selects_a_passage_and_shift_and_click_moves_its_end(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{SLUG}")
    line = page.locator(".avartan", has=page.locator("b", has_text="3")).locator(".avartan-drawing")
    line.scroll_into_view_if_needed()
    box = line.bounding_box()
    assert box is not None
    y = box["y"] + box["height"] - 6
    matra_px = (box["width"] - 60) / 7

    def at(matras: float) -> float:
        return box["x"] + 30 + matras * matra_px

    page.mouse.move(at(1), y)
    page.mouse.down()
    page.mouse.move(at(2), y, steps=3)
    page.mouse.move(at(5), y, steps=3)
    page.mouse.up()
    selection = page.evaluate("desk.desk.selection")
    assert selection["from_s"] == pytest.approx(SAMS_S[2] + 0.5, abs=0.01)
    assert selection["to_s"] == pytest.approx(SAMS_S[2] + 2.5, abs=0.01)
    assert page.locator(".selected-piece").count() == 1
    page.keyboard.down("Shift")
    page.mouse.click(at(6), y)
    page.keyboard.up("Shift")
    assert page.evaluate("desk.desk.selection.to_s") == pytest.approx(SAMS_S[2] + 3.0, abs=0.01)
    assert page.evaluate("desk.desk.selection.from_s") == pytest.approx(SAMS_S[2] + 0.5, abs=0.01)
    page.keyboard.press("Escape")
    assert page.evaluate("desk.desk.selection") is None
    assert page.locator(".selected-piece").count() == 0


def test_an_avartan_is_selected_by_a_key_and_the_next_one_too(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{LONG}?at=8")
    page.keyboard.press("a")
    assert page.evaluate("desk.desk.selection") == {"from_s": 7.5, "to_s": 11.0}
    page.keyboard.press("a")
    assert page.evaluate("desk.desk.selection") == {"from_s": 7.5, "to_s": 14.5}
    page.click("#unselect")
    assert page.evaluate("desk.desk.selection") is None


def test_the_overview_jumps_by_click_and_by_arrow_keys_and_says_where_it_is(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{LONG}")
    box = page.locator("#overview").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + 30)
    assert first_in_view(page) <= LONG_S / 2 <= page.evaluate("folded.shown().to_s")
    assert page.locator("#overview").get_attribute("aria-valuenow") == pytest.approx(str(round(LONG_S / 2)))
    page.keyboard.press("ArrowRight")
    expect(page.locator("#overview")).to_have_attribute("aria-valuenow", str(int(LONG_S / 2 + LONG_S / 50)))
    expect(page.locator("#overview")).to_have_attribute("aria-valuetext", re.compile("10:26, avartan 178, matra 6"))


def test_what_somebody_else_edits_is_seen_without_a_reload_and_the_page_stays_where_it_is(
    own_archive: Path, own_address: str, window: Open
) -> None:
    page = shown(window, f"{own_address}/cycles/{SLUG}", height=520)
    archive = Archive.open(own_archive)
    sam = archive.state(SLUG).marked_sams[2]
    archive.commit(SLUG, [change(replace(sam, sam_s=sam.sam_s + 0.15))], "somebody else", "moved")
    page.evaluate("document.getElementById('fold').scrollTop = 140")
    scrolled = page.evaluate("document.getElementById('fold').scrollTop")
    assert scrolled > 0
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    changed = page.evaluate("folded.refresh()")
    page.wait_for_function("() => folded.isSettled()")
    assert 0 < changed < 6
    expect(page.locator(".avartan-number", has_text="3").locator("span")).to_have_text("0:11.1")
    assert page.evaluate("document.getElementById('fold').scrollTop") == scrolled
    about_rows = [url.split("/")[3] for url in asked if "/outline/" in url or "/rows/" in url]
    assert about_rows == ["outline", "rows"]
    assert page.evaluate("folded.refresh()") == 0  # nothing new: 304


def test_a_note_is_printed_as_small_as_the_drawing_asks_for(address: str, window: Open) -> None:
    note = shown(window, f"{address}/cycles/{SLUG}").locator(".note").first
    size = "(note, asked) => (note.setAttribute('font-size', asked), getComputedStyle(note).fontSize)"
    assert [note.evaluate(size, asked) for asked in ("9", "11.5")] == ["9px", "11.5px"]


def test_a_phone_shows_half_an_avartan_in_a_row(address: str, window: Open) -> None:
    page = shown(window, f"{address}/cycles/{LONG}", width=390, height=844, dark=True)
    expect(page.locator("#reach")).to_have_text("half an avartan a row")
    fold = "document.getElementById('fold')"
    assert page.evaluate(f"{fold}.scrollWidth <= {fold}.clientWidth")
