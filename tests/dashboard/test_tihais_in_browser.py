"""Searching tihais, comparing pallas by ear, and coming from a number to its sound, in a real browser."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import soundfile
from playwright.sync_api import expect

from annotate import levels_store
from annotate.archive import Archive
from ingest.levels import LevelMaker
from tests.dashboard.conftest import SLUG, Window, served

pytestmark = pytest.mark.browser

Open = Callable[..., Window]


def test_what_is_typed_becomes_an_address_that_can_be_kept(address: str, window: Open) -> None:
    page = window(f"{address}/tihais").page
    page.get_by_text("More to search by").click()
    page.get_by_label("Dam").fill("0")
    page.get_by_label("Played by").fill("mandolin")
    page.get_by_role("button", name="Find").click()
    page.wait_for_url("**/tihais?dam=0&played_by=mandolin")
    expect(page.locator("#tihai-list caption")).to_have_text("2 tihais")
    page.reload()
    expect(page.get_by_label("Dam")).to_have_value("0")
    page.get_by_role("link", name="Dam, matras: 0").click()
    page.wait_for_url("**/tihais?played_by=mandolin")


def test_the_pallas_are_heard_singly_and_one_after_the_other(address: str, window: Open) -> None:
    page = window(f"{address}/tihais/{SLUG}/t01").page
    page.wait_for_selector("#fold .avartan-drawing")
    second = page.get_by_role("button", name="Palla 2")
    second.click()
    expect(second).to_have_attribute("aria-pressed", "true")
    page.wait_for_function(
        "() => /^0:1[0-2]/.test(document.getElementById('clock').textContent)"
    )  # it begins at 10.0 s
    expect(second).to_have_attribute("aria-pressed", "false")  # it ends by itself, where the third begins
    in_turn = page.get_by_role("button", name="One after the other")
    in_turn.click()
    expect(in_turn).to_have_attribute("aria-pressed", "true")
    in_turn.click()
    expect(in_turn).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#play")).to_have_attribute("aria-label", "Play")


def test_from_a_number_one_comes_to_its_sound_and_to_the_very_place(address: str, window: Open) -> None:
    page = window(f"{address}/phrases?raga=desh").page
    page.get_by_role("row", name="R m P mukhra").get_by_role("link", name="2").first.click()
    expect(page.locator("h1")).to_have_text("R m P in Desh")
    hear = page.get_by_role("button", name="Hear Trial in rupak at 0:04.0")
    with page.expect_response(lambda answer: "/passage/" in answer.url) as sound:
        hear.click()
    assert sound.value.status == 200
    expect(hear).to_have_attribute("aria-pressed", "true")
    expect(hear).to_have_attribute("aria-pressed", "false")  # a phrase of 1.5 s ends by itself
    page.get_by_role("link", name="Trial in rupak").nth(1).click()
    page.wait_for_url(f"**/cycles/{SLUG}?at=14.500")


def test_a_raga_counts_aside_and_every_figure_says_what_it_shows(address: str, window: Open) -> None:
    page = window(f"{address}/ragas/desh", width=390, height=844, dark=True).page
    page.wait_for_function("() => document.querySelectorAll('[aria-busy=true]').length === 0")
    expect(page.locator("[role=img][aria-label]").first).to_be_visible()
    nameless = page.evaluate(
        "() => [...document.querySelectorAll('.figure')].filter(f => !f.getAttribute('aria-label')).length"
    )
    assert nameless == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.fixture
def waves_address(own_archive: Path) -> Iterator[str]:
    """The address of a dashboard whose recording has its waveform, as taking it in measures it."""
    maker = LevelMaker()
    samples, _rate_hz = soundfile.read(Archive.open(own_archive).sound_path(SLUG), dtype="float32")
    maker.add(samples)
    levels_store.save(own_archive / "recordings" / SLUG / "evidence", maker.finish())
    with served(own_archive) as url:
        yield url


def test_a_cursor_follows_the_sound_through_the_palla_that_is_heard(waves_address: str, window: Open) -> None:
    page = window(f"{waves_address}/tihais/{SLUG}/t01").page
    expect(page.locator(".wave-row")).to_have_count(3)
    page.evaluate(_WATCH_CURSORS)
    page.get_by_role("button", name="One after the other").click()
    page.wait_for_function("() => window.stood.length >= 3")
    expect(page.get_by_role("button", name="One after the other")).to_have_attribute("aria-pressed", "false")
    assert page.evaluate("window.stood") == [[0], [1], [2]]  # in one palla at a time, from the first to the last


def test_a_click_in_a_figure_plays_that_place(waves_address: str, window: Open) -> None:
    page = window(f"{waves_address}/tihais/{SLUG}/t01").page
    second = page.locator(".wave-row").nth(1)
    second.scroll_into_view_if_needed()
    page.evaluate(_WATCH_CURSORS)
    box = second.locator(".ground").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.wait_for_function("() => window.stood.length > 0")
    expect(page.locator("#play")).to_have_attribute("aria-label", "Play")  # at the palla's end it stops
    assert page.evaluate("window.stood[0]") == [1]
    expect(page.locator("#clock")).to_have_text(re.compile(r"^0:12\.5"))
    landing = page.locator(".drawing[data-kind=deviations] .place").last
    landing.scroll_into_view_if_needed()
    landing.locator(".sign").click()
    expect(page.locator("#clock")).to_have_text(re.compile(r"^0:15\.1"))  # it landed at 14.512 s; 0.6 s more are heard


def test_plotly_is_fetched_when_somebody_comes_to_a_figure_and_nothing_moves_when_it_is_drawn(
    address: str, window: Open
) -> None:
    page = window(f"{address}/tihais/{SLUG}/t01").page
    page.wait_for_selector(".drawing svg")
    page.wait_for_load_state("networkidle")
    assert not page.evaluate(_FETCHED)
    page.goto(f"{address}/phrases?raga=desh")
    chart = page.locator(".chart").first
    before = chart.bounding_box()
    chart.scroll_into_view_if_needed()
    expect(chart.locator(".main-svg").first).to_be_visible()
    assert page.evaluate(_FETCHED)
    after = chart.bounding_box()
    assert before is not None
    assert after is not None
    assert after["height"] == before["height"]


_FETCHED = "() => performance.getEntriesByType('resource').some(({ name }) => name.includes('plotly.min.js'))"

_WATCH_CURSORS = """() => {
  window.stood = []; // the rows that had a cursor at once, whenever that changed
  const look = () => {
    const rows = [...document.querySelectorAll(".wave-row:has(.cursor[visibility=visible])")]
      .map((row) => Number(row.dataset.row));
    if (rows.length && String(window.stood.at(-1)) !== String(rows)) window.stood.push(rows);
    requestAnimationFrame(look);
  };
  look();
}"""
