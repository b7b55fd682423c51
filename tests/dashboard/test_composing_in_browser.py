"""Composing in a real browser: choose, see, hear at the right times, write over, keep, find again, carry over.

The laya is 240 matras a minute, so that a matra lasts a quarter of a second.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from annotate.archive import Archive
from annotate.compositions.shelf import Shelf
from tests.dashboard.conftest import COMPLAINTS, Window, served
from tests.dashboard.hearing import listen_in

pytestmark = pytest.mark.browser

Open = Callable[..., Window]
MATRA_S = 0.25
PLACED = """(() => {
  window.placed = [];
  const start = AudioBufferSourceNode.prototype.start;
  AudioBufferSourceNode.prototype.start = function (at_s, ...rest) {
    window.placed.push([at_s, this.context.currentTime]);
    return start.call(this, at_s, ...rest);
  };
})()"""
ON_THE_SPOT_S = 0.002
_OUR_OUTPUT = 3  # the mixer's own three outputs come first (hearing.py)


@pytest.fixture
def compose(browser: Browser, own_archive: Path) -> Iterator[Callable[..., Page]]:
    """Open Compose in a browser that remembers nothing; the placing and the sound of strokes are recorded."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, bypass_csp=True)
    complaints: list[str] = []
    with served(own_archive) as url:

        def open_page(query: str = "") -> Page:
            page = context.new_page()
            page.on("console", lambda said: complaints.append(said.text) if said.type in COMPLAINTS else None)
            page.on("pageerror", lambda error: complaints.append(str(error)))
            page.add_init_script(PLACED)
            listen_in(page)
            page.goto(f"{url}/compose?laya=240&{query}")
            page.wait_for_selector("#compose-found h2")
            return page

        yield open_page
        context.close()
    assert complaints == []


def wait_for_strokes(page: Page, count: int) -> np.ndarray:
    page.wait_for_function("count => placed.length >= count", arg=count)
    return np.array(page.evaluate("placed"))


def test_a_solution_is_chosen_heard_written_over_kept_found_again_and_carried(
    compose: Callable[..., Page], own_archive: Path
) -> None:
    page = compose()
    page.keyboard.press("ArrowDown")
    expect(page.locator(".piece .taught-sum").first).to_have_text("5 + 1 + 5 + 1 + 5 = 17 = 16 + 1")
    expect(page.locator("#run .palla")).to_have_count(4)  # the third is cut at sam
    page.keyboard.press(" ")
    # an avartan of theka alone, then the theka and the fifteen strokes, three of them closing; then the lead-in again
    strokes = wait_for_strokes(page, 16 + 16 + 15 + 2)
    matras = (strokes[:, 0] - strokes[0, 0]) / MATRA_S
    silent = {5, 11}
    expected = [*range(16), *sorted([*range(16, 32), *(16 + x for x in range(17) if x not in silent)])]
    assert matras[: len(expected)] == pytest.approx(expected, abs=1e-6)
    assert (strokes[:, 0] >= strokes[:, 1]).all(), "a stroke was placed when its time had gone"
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#run .cursor")).to_be_visible()
    page.keyboard.press(" ")
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "false")

    page.fill("#keep-name", "Fives of Desh")
    page.fill("#own-plays", "R m P N S'")
    expect(page.locator("#own-counted")).to_contain_text("5 matras")
    expect(page.locator("#own-plays")).to_be_focused()
    page.fill("#own-gap", "2")
    expect(page.locator(".piece .sentence")).to_contain_text("Overshoots sam by 2")
    page.get_by_role("link", name="Do that").nth(1).click()
    expect(page.locator(".piece .sentence")).to_contain_text("Lands on sam")

    expect(page.locator("#keep-name")).to_have_value("Fives of Desh")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#keep-told")).to_have_text("Kept as 'Fives of Desh'.")
    assert "kept=fives-of-desh" in page.url
    kept = Shelf(Archive.open(own_archive)).get("fives-of-desh").content
    assert (kept.palla, kept.dam, kept.per_minute) == ("R m P N S'", 1, 240)

    page.reload()
    expect(page.locator("#compose-kept")).to_contain_text("Fives of Desh")
    expect(page.locator("#keep-name")).to_have_value("Fives of Desh")
    page.select_option("#carry-into", "rupak")
    page.locator(".carried li").nth(1).get_by_role("link", name="Open").click()
    expect(page.locator(".piece .sentence")).to_contain_text("Lands on sam")
    expect(page.locator("#ask-tala")).to_have_value("rupak")
    page.go_back()
    expect(page.locator("#ask-tala")).to_have_value("teental")
    expect(page.locator(".carried li").first).to_contain_text("Begin on matra 6")

    page.get_by_role("button", name="take out Fives of Desh").click()
    expect(page.locator("#compose-said")).to_have_text("Fives of Desh is taken out.")
    expect(page.locator("#compose-kept > .kept")).to_have_count(0)
    page.get_by_text("Taken out (1)").click()
    page.get_by_role("button", name="put back Fives of Desh").click()
    expect(page.locator("#compose-kept > .kept")).to_contain_text("Fives of Desh")
    assert [each.number for each in Shelf(Archive.open(own_archive)).get("fives-of-desh").revisions] == [1, 2, 3]


def test_what_is_heard_comes_when_the_arithmetic_says(compose: Callable[..., Page]) -> None:
    page = compose("tala=dadra&plays=S+_+P+_&gap=2&theka=off")
    page.locator("#sound").click()
    page.wait_for_function("() => placed.length > 0")
    page.evaluate("hearing.begin()")
    seconds = 8.0
    page.wait_for_function("blocks => hearing.blocks() > blocks", arg=seconds * 44100 / 128)
    told = page.evaluate("hearing.end()")
    rate_hz = told["rate_hz"]
    sound = np.frombuffer(base64.b64decode(told["channels"][2 * _OUR_OUTPUT]), np.float32)
    time_s = (np.asarray(told["frames"])[:, None] + np.arange(128)).ravel() / rate_hz
    loud_s = time_s[np.abs(sound) > 0.05]
    onsets_s = loud_s[np.append(True, np.diff(loud_s) > 0.08)]
    placed_s = np.array(page.evaluate("placed"))[:, 0]
    heard_s = [onset_s for onset_s in onsets_s[1:-1] if np.abs(placed_s - onset_s).min() < MATRA_S / 2]
    assert len(heard_s) >= 4
    matras = (np.array(heard_s) - placed_s[0]) / MATRA_S
    assert matras == pytest.approx(np.round(matras), abs=ON_THE_SPOT_S / MATRA_S)
    # a lead-in of 6; S and P of three pallas of four matras with two between; and again after four avartans
    assert set(np.round(matras).astype(int) % 24) <= {6, 8, 12, 14, 18, 20}


def test_another_laya_goes_on_from_where_it_is(compose: Callable[..., Page]) -> None:
    page = compose("plays=Dha+Ti+Ta+Ka+Dha&gap=1")
    page.keyboard.press("Space")
    wait_for_strokes(page, 6)
    page.fill("#hear-laya", "480")
    before = page.evaluate("placed.length")
    strokes = wait_for_strokes(page, before + 12)[before + 2 :, 0]
    assert np.diff(np.unique(strokes.round(6))) == pytest.approx(MATRA_S / 2, abs=1e-4)
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "true")


@pytest.mark.parametrize(("width", "dark"), [(390, False), (390, True), (1280, True)])
def test_it_fits_the_window_and_says_what_would_land_where_nothing_does(
    address: str, window: Open, width: int, dark: bool
) -> None:
    page = window(f"{address}/compose?kind=bedam&shortest=7&longest=7", width=width, dark=dark).page
    page.get_by_role("link", name="from matra 13").click()
    expect(page.locator("#ask-from")).to_have_value("13")
    page.locator(".solution").first.click()
    expect(page.locator(".piece .sentence")).to_contain_text("Lands on sam")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.fill("#ask-longest", "seven")
    expect(page.locator("#wrong-longest")).to_contain_text("'seven' is not a count of matras")
    expect(page.locator("#ask-longest")).to_have_attribute("aria-invalid", "true")
    page.go_back()
    expect(page.locator("#ask-longest")).to_have_value("7")
