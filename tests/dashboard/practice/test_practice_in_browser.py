"""Practising in a real browser: a run of questions by the keyboard alone, and claps at times that are known.

Claps are made in the page by busy waiting for a time of its clock; when each was really made is told back, so that a
busy machine fails no test. What the page says may differ from that by :data:`TOLERANCE_MS`: the browser tells the
relation of its two clocks to about a tenth of a millisecond, and rounds the times of events.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.dashboard.conftest import COMPLAINTS, MATRA_S, SLUG, Window, served

pytestmark = pytest.mark.browser

Open = Callable[..., Window]
TOLERANCE_MS = 5.0
PLACED = """(() => {
  window.placed = [];
  const start = AudioBufferSourceNode.prototype.start;
  AudioBufferSourceNode.prototype.start = function (at_s, offset_s = 0, ...rest) {
    window.placed.push([at_s, offset_s]);
    window.context = this.context;
    return start.call(this, at_s, offset_s, ...rest);
  };
  // clap when the sound of some times (s, of the context) is heard, each so many ms late; tells how late each was
  window.clap = async (times_s, late_ms) => {
    const heardAt = (time_s) => {
      const { contextTime, performanceTime } = context.getOutputTimestamp();
      return performanceTime + (time_s - contextTime) * 1000;
    };
    const really = [];
    for (const [i, time_s] of times_s.entries()) {
      const left_ms = heardAt(time_s) + late_ms[i] - performance.now();
      await new Promise((later) => setTimeout(later, Math.max(left_ms - 15, 0)));
      const heard_ms = heardAt(time_s); // again: where a busy machine loses a block of sound, the clocks move apart
      while (performance.now() < heard_ms + late_ms[i]);
      const event = new KeyboardEvent("keydown", { key: " ", bubbles: true, cancelable: true });
      document.body.dispatchEvent(event);
      really.push(event.timeStamp - heard_ms);
    }
    return really;
  };
})()"""


@pytest.fixture(scope="module")
def practise(browser: Browser, finished_archive: Path) -> Iterator[Callable[[str], Page]]:
    """Open pages of Practice, each in a browser that remembers nothing."""
    complaints: list[str] = []
    contexts: list[BrowserContext] = []
    with served(finished_archive) as url:

        def open_page(path: str) -> Page:
            contexts.append(browser.new_context(viewport={"width": 1280, "height": 900}, bypass_csp=True))
            page = contexts[-1].new_page()
            page.on("console", lambda said: complaints.append(said.text) if said.type in COMPLAINTS else None)
            page.on("pageerror", lambda error: complaints.append(str(error)))
            page.add_init_script(PLACED)
            page.goto(f"{url}{path}")
            page.wait_for_selector("#ask")
            return page

        yield open_page
        for context in contexts:
            context.close()
    assert complaints == []


def test_a_run_of_questions_goes_by_the_keyboard_alone_and_ends_with_a_tally(address: str, window: Open) -> None:
    at = "/practice?tala=rupak&whose=archive&kinds=start&number=2&seed=2"
    page = window(f"{address}{at}").page
    expect(page.locator("#exercise-heading")).to_have_text("Question 1 of 2")
    expect(page.locator(".exercise")).to_contain_text("On which matra must it begin")
    page.locator("#answer-typed").focus()
    page.keyboard.type("2 1/2")
    page.keyboard.press("Enter")
    expect(page.locator(".marked .sentence")).to_contain_text("Not right: matra 2 1/2.")
    expect(page.locator(".marked")).to_contain_text("Right is sam (matra 1).")
    expect(page.locator(".marked .taught-sum")).to_have_text("5 + 5 + 5 = 15 = 2 x 7 + 1")
    expect(page.locator("#run .palla").first).to_be_visible()
    expect(page.locator("#practice-tally")).to_have_text("0 of 1 right")
    expect(page.locator("#next")).to_be_focused()
    page.keyboard.press("Enter")

    expect(page.locator("#exercise-heading")).to_have_text("Question 2 of 2")
    expect(page.locator("#answer-typed")).to_be_focused()
    page.locator("input[name=place]").first.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#answer-typed")).to_have_attribute("placeholder", "matra 2")
    page.keyboard.press("ArrowLeft")
    expect(page.locator("#answer-typed")).to_have_attribute("placeholder", "sam")
    page.keyboard.press("Enter")
    expect(page.locator(".marked .sentence")).to_contain_text("Right: sam (matra 1).")
    page.keyboard.press("Enter")
    expect(page.locator("#exercise-heading")).to_have_text("1 of 2 right")
    expect(page.locator(".outcome")).to_have_text("find the start: 1 of 2")
    expect(page.locator(".exercise")).to_contain_text("nothing about your answers is kept")
    page.click("#another")
    expect(page.locator("#exercise-heading")).to_have_text("Question 1 of 2")
    assert page.url.endswith("seed=3")
    page.go_back()
    expect(page.locator("#ask-seed")).to_have_value("2")


def test_choices_are_in_the_address_and_what_makes_no_sense_is_told_beside_its_field(
    address: str, window: Open
) -> None:
    page = window(f"{address}/practice").page
    page.get_by_label("chakradars").check()
    page.select_option("#ask-level", "5")
    expect(page.locator(".about")).to_contain_text("difficulty")
    page.get_by_label("after: the stroke").check()
    page.wait_for_function("() => location.search.includes('by=after')")
    assert "level=5" in page.url
    assert "chakradar" in page.url
    page.fill("#ask-number", "none")
    expect(page.locator("#wrong-number")).to_contain_text("whole number")
    expect(page.locator("#ask-number")).to_be_focused()
    page.fill("#ask-number", "4")
    expect(page.locator("#exercise-heading")).to_have_text("Question 1 of 4")
    page.click("#answer button")
    expect(page.locator("#answer-wrong")).to_contain_text("Write an answer")


@pytest.fixture(scope="module")
def recording(practise: Callable[[str], Page]) -> Page:
    """A page on which the landing of a recording will be clapped 30 ms early, while other tests go on."""
    page = practise(
        f"/practice/clap?tala=rupak&whose=archive&piece={SLUG}/t01&sound=recording&taps=landing&under=nothing"
    )
    expect(page.locator("#clap-name")).to_contain_text("t01")
    page.click("#clap-begin")
    page.wait_for_function("() => placed.length > 0 && document.querySelector('#clap-pad.live')")
    at_s, offset_s = page.evaluate("() => placed[0]")
    from_s, piece_begins_s = 4.0, 0.0  # the gat begins at 4 s, so the lead-in does; pieces are of five seconds
    assert offset_s == pytest.approx(from_s - piece_begins_s, abs=0.06)  # a little before, for fading in
    landing_s = 7.5 + 14 * MATRA_S + 0.012
    page.evaluate(
        "([at_s]) => void (window.clapped = clap([at_s], [-30]))", [at_s + landing_s - piece_begins_s - offset_s]
    )
    return page


@pytest.mark.parametrize("dark", [False, True])
def test_both_pages_fit_a_narrow_window_with_the_question_first(address: str, window: Open, dark: bool) -> None:
    page = window(f"{address}/practice?kinds=dam&level=4", width=390, dark=dark).page
    expect(page.locator("#exercise-heading")).to_be_in_viewport()
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
    page.get_by_role("link", name="Clap along").click()
    expect(page.locator("#clap-pad")).to_be_in_viewport()
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390


def test_what_sounds_ends_when_another_page_is_turned_to(address: str, window: Open) -> None:
    page = window(f"{address}/practice/clap").page
    sounds = "async () => (await import('/assets/window/taking.mjs')).isRunning()"
    page.get_by_role("button", name="Play, and clap").click()
    expect(page.locator("#clap-pad.live")).to_be_visible()
    page.get_by_role("link", name="Sums").click()
    expect(page.locator("#exercise-heading")).to_be_visible()
    page.wait_for_function(f"async () => !(await ({sounds})())")
    page.fill("#answer-typed", "99")
    page.keyboard.press("Enter")
    expect(page.locator("#answer-wrong")).to_contain_text("Which way is it off")
    page.fill("#answer-typed", "99 short")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Hear it").click()
    page.wait_for_function(sounds)
    page.get_by_role("link", name="Words").click()
    page.wait_for_selector(".words")
    page.wait_for_function(f"async () => !(await ({sounds})())")


@pytest.mark.usefixtures("recording")
def test_the_delay_is_measured_by_clicks_and_taken_off_claps_whose_distance_is_told_in_ms(
    practise: Callable[[str], Page],
) -> None:
    page = practise("/practice/clap?laya=480&under=clicks")
    page.click("#delay-measure")
    page.wait_for_function("() => placed.length >= 16")
    clicks_s = sorted({at_s for at_s, _ in page.evaluate("() => placed")})
    assert np.diff(clicks_s) == pytest.approx(0.5, abs=1e-6)
    late_ms = [80.0 + (7 if i % 2 else -7) for i in range(16)]
    really = np.array(page.evaluate("([times, late]) => clap(times, late)", [clicks_s, late_ms]))
    expect(page.locator("#delay-told")).to_contain_text("Measured from 12 claps")
    delay_ms = float(page.evaluate("() => localStorage.getItem('layakosh-clap-delay')"))
    assert delay_ms == pytest.approx(np.median(really[4:]), abs=TOLERANCE_MS)
    expect(page.locator("#delay")).to_have_value(str(round(delay_ms)))

    take = json.loads(
        page.evaluate("async () => JSON.stringify(await (await fetch('/practice/clap/take?laya=480')).json())")
    )
    page.evaluate("() => (placed.length = 0)")
    page.click("#clap-begin")
    page.wait_for_function("() => placed.length > 16")
    begin_s = min(at_s for at_s, _ in page.evaluate("() => placed"))
    strokes = take["targets"]
    missed = 2
    clapped = [stroke for number, stroke in enumerate(strokes) if number != missed]
    times_s = [begin_s + stroke["x"] * 60 / 480 for stroke in clapped]
    wanted_ms = [delay_ms + (25.0 if number % 2 else -15.0) for number in range(len(clapped))]
    really = np.array(page.evaluate("([times, late]) => clap(times, late)", [times_s, wanted_ms])) - delay_ms
    outcome = told_outcome(page)
    devs = [row["dev_ms"] for row in outcome["rows"]]
    assert devs.pop(missed) is None
    assert devs == pytest.approx(really, abs=TOLERANCE_MS)
    assert outcome["landing_ms"] == pytest.approx(really[-1], abs=TOLERANCE_MS)
    assert (outcome["hit"], outcome["missed"], outcome["extra"]) == (len(clapped), 1, 0)
    expect(page.locator("#clap-outcome .sentence")).to_contain_text("Your landing came")
    expect(page.locator("#clap-drawing .title").last).to_have_text("early (−) or late (+), ms")
    expect(page.locator("#clap-drawing .sign")).to_have_count(len(clapped))


def test_the_landing_of_a_recording_is_clapped_along_to_and_told_against_how_it_was_played(recording: Page) -> None:
    outcome = told_outcome(recording)
    (really,) = recording.evaluate("() => clapped")
    assert outcome["landing_ms"] == pytest.approx(really, abs=TOLERANCE_MS)
    expect(recording.locator("#clap-outcome")).to_contain_text("In the performance the landing came 12 ms late")


def told_outcome(page: Page) -> dict[str, Any]:
    page.wait_for_selector("#clap-outcome[data-outcome] svg")
    told: dict[str, Any] = json.loads(page.locator("#clap-outcome").get_attribute("data-outcome") or "")
    return told
