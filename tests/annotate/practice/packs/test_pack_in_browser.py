"""A pack opened from the disk in a browser: players, loops, keys, without a net, without JavaScript, and accessible."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from annotate.practice.packs.alone import all_in_one
from tests import needs
from tests.annotate.practice.packs.test_contents import Addresses
from tests.dashboard.conftest import COMPLAINTS, SLUG
from tests.dashboard.test_accessibility import FOUND, RULES

pytestmark = pytest.mark.browser

TIHAI = f"#{SLUG}-t01"
FOUND_FROM_DISK = FOUND.replace("runOnly: rules", "runOnly: rules, preload: false")
"""As for the dashboard, but axe fetches no style sheet, which a page from a disk may not."""


@dataclass
class Opened:
    """A page of the browser, with everything it complained about and every address it asked for."""

    page: Page
    expected: str
    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@pytest.fixture
def opened(browser: Browser, place: Path) -> Iterator[Callable[..., Page]]:
    """Open the pack from the disk; afterwards it must have asked for its own files alone, and not have complained."""
    windows: list[Opened] = []

    def open_pack(
        *, width: int = 1280, dark: bool = False, scripts: bool = True, at: Path = place, expected: str = "-"
    ) -> Page:
        context = browser.new_context(
            viewport={"width": width, "height": 900},
            color_scheme="dark" if dark else "light",
            java_script_enabled=scripts,
            offline=True,
        )
        it = Opened(context.new_page(), expected)
        windows.append(it)
        it.page.on("console", lambda said: it.complaints.append(said.text) if said.type in COMPLAINTS else None)
        it.page.on("pageerror", lambda error: it.complaints.append(str(error)))
        it.page.on("request", lambda request: it.asked.append(request.url))
        it.page.goto((at if at.is_file() else at / "index.html").as_uri())
        return it.page

    yield open_pack
    for it in windows:
        it.page.context.close()
        assert [said for said in it.complaints if it.expected not in said] == []
        assert it.asked
        assert [url for url in it.asked if not url.startswith(("file:///", "data:"))] == []


def at_s(page: Page) -> float:
    minutes, seconds = page.locator(f"{TIHAI} .now").inner_text().split(":")
    return 60 * int(minutes) + float(seconds)


def part_of(place: Path, words: str, sound: str = "100 %") -> dict[str, Any]:
    piece = json.loads((place / "pack.json").read_text("utf-8"))["pieces"][0]
    of = next(each for each in piece["sounds"] if each["words"] == sound and each["of"] == "As played")
    return next(part for part in of["parts"] if part["words"] == words)


def press(page: Page, name: str) -> None:
    page.locator(TIHAI).get_by_role("button", name=name, exact=True).click()


def test_the_whole_plays_from_its_count_in_and_stops(opened: Callable[..., Page]) -> None:
    page = opened()
    press(page, "Play")
    expect(page.locator(f"{TIHAI} .play")).to_have_accessible_name("Pause")
    page.wait_for_function("() => parseFloat(document.querySelector('.now').textContent.slice(2)) > 0.3")
    press(page, "Pause")
    stood_s = at_s(page)
    page.wait_for_timeout(300)
    assert at_s(page) == stood_s
    assert stood_s < 10


def test_a_palla_goes_round_and_never_leaves_itself(opened: Callable[..., Page], place: Path) -> None:
    page, palla = opened(), part_of(place, "palla 2")
    press(page, "palla 2")
    expect(page.locator(TIHAI).get_by_role("button", name="palla 2")).to_have_attribute("aria-pressed", "true")
    # every place that is shown while it goes round more than once
    seen = page.evaluate(
        """async ([times]) => {
          const now = document.querySelector(".now");
          const seen = [];
          let rounds = 0;
          while (rounds < times) {
            await new Promise(requestAnimationFrame);
            const [minutes, seconds] = now.textContent.split(":").map(Number);
            const at = 60 * minutes + seconds;
            if (seen.length && at < seen.at(-1) - 1) rounds += 1;
            seen.push(at);
          }
          return seen;
        }""",
        [2],
    )
    press(page, "Pause")
    assert min(seen) >= palla["begin_s"] - 0.1  # a tenth is what is shown
    assert max(seen) <= palla["end_s"] + 0.1
    assert max(seen) - min(seen) > 0.8 * (palla["end_s"] - palla["begin_s"])


def test_a_loop_has_no_gap_every_round_is_the_one_before_to_the_sample(
    opened: Callable[..., Page], place: Path
) -> None:
    page, palla = opened(), part_of(place, "palla 2")
    found = page.evaluate(
        """async ([key, script, duration_s, part]) => {
          const { bytesOf, lateness, loopOf, flow } = reckoning;
          const bytes = await new Promise((resolve) => {
            globalThis.soundArrived = (_, text) => resolve(bytesOf(text));
            const made = document.createElement("script");
            made.src = script;
            document.head.append(made);
          });
          const rate = 48000;
          const seconds = 3.2 * (part.end_s - part.begin_s);
          const offline = new OfflineAudioContext(1, Math.ceil(seconds * rate), rate);
          const buffer = await offline.decodeAudioData(bytes.buffer);
          const late_s = lateness(buffer.duration, duration_s, 1105 / 48000);
          const loop = loopOf(part.begin_s + late_s, part.end_s + late_s, rate, buffer.length);
          flow(buffer.getChannelData(0), loop, rate);
          const source = offline.createBufferSource();
          Object.assign(source, { buffer, loop: true, loopStart: loop.begin / rate, loopEnd: loop.end / rate });
          source.connect(offline.destination);
          source.start(0, loop.begin / rate);
          const heard = (await offline.startRendering()).getChannelData(0);
          const length = loop.end - loop.begin;
          let worst = 0, loudest = 0;
          for (let at = length; at < heard.length; at += 1) {
            worst = Math.max(worst, Math.abs(heard[at] - heard[at - length]));
            loudest = Math.max(loudest, Math.abs(heard[at]));
          }
          return { length, worst, loudest, decoded_s: buffer.duration };
        }""",
        [
            f"{SLUG}-t01-played-100",
            f"sounds/{SLUG}-t01-played-100.js",
            sound_s(place),
            palla,
        ],
    )
    assert found["length"] == round((palla["end_s"] - palla["begin_s"]) * 48000)
    assert found["loudest"] > 0.05
    assert found["worst"] < 1e-4  # what playing between samples leaves of 16 bits; a gap of one sample would be a click
    assert found["decoded_s"] == pytest.approx(sound_s(place), abs=0.05)


def sound_s(place: Path) -> float:
    piece = json.loads((place / "pack.json").read_text("utf-8"))["pieces"][0]
    return float(next(each["duration_s"] for each in piece["sounds"] if each["file"].endswith("played-100.mp3")))


def test_once_means_once(opened: Callable[..., Page], place: Path) -> None:
    page = opened()
    press(page, "again and again")
    press(page, "palla 1")
    expect(page.locator(f"{TIHAI} .play")).to_have_accessible_name("Pause")
    expect(page.locator(f"{TIHAI} .play")).to_have_accessible_name("Play", timeout=15_000)
    assert at_s(page) == pytest.approx(part_of(place, "palla 1")["begin_s"], abs=0.11)


def test_a_slower_sound_goes_on_at_the_same_place(opened: Callable[..., Page], place: Path) -> None:
    page = opened()
    press(page, "palla 3")
    press(page, "Pause")
    press(page, "50 %")
    expect(page.locator(TIHAI).get_by_role("button", name="50 %")).to_have_attribute("aria-pressed", "true")
    expect(page.locator(TIHAI).get_by_role("button", name="palla 3")).to_have_attribute("aria-pressed", "true")
    slow = part_of(place, "palla 3", "50 %")
    assert slow["begin_s"] - 0.2 <= at_s(page) < slow["end_s"]


def test_the_matra_that_sounds_is_lit_and_a_pressed_one_is_heard(opened: Callable[..., Page]) -> None:
    page = opened()
    cell = page.locator(f"{TIHAI} .cell").nth(9)  # the third matra of the second avartan
    cell.click()
    expect(page.locator(f"{TIHAI} .cell.lit")).to_have_count(1)
    expect(cell).to_have_class("cell lit")
    expect(page.locator(f"{TIHAI} .cell").nth(10)).to_have_class("cell lit")
    press(page, "Pause")


def test_only_one_piece_sounds_at_a_time(opened: Callable[..., Page]) -> None:
    page = opened()
    press(page, "Play")
    phrase = page.locator(f"#{SLUG}-p02")
    phrase.get_by_role("button", name="Play", exact=True).click()
    expect(phrase.locator(".play")).to_have_accessible_name("Pause")
    expect(page.locator(f"{TIHAI} .play")).to_have_accessible_name("Play")


def test_the_keyboard_plays_until_it_is_switched_off(opened: Callable[..., Page], place: Path) -> None:
    page = opened()
    play = page.locator(f"{TIHAI} .play")
    page.keyboard.press("Space")
    expect(play).to_have_accessible_name("Pause")
    page.keyboard.press("3")
    expect(page.locator(TIHAI).get_by_role("button", name="palla 3")).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("l")
    expect(page.locator(TIHAI).get_by_role("button", name="landing avartan")).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("r")
    expect(page.locator(TIHAI).get_by_role("button", name="again and again")).to_have_attribute("aria-pressed", "false")
    page.keyboard.press("s")
    expect(page.locator(TIHAI).get_by_role("button", name="50 %")).to_have_attribute("aria-pressed", "true")
    page.keyboard.press("Space")
    expect(play).to_have_accessible_name("Play")
    page.keyboard.press("w")
    page.keyboard.press("Space")
    page.keyboard.press("b")
    before_s = at_s(page)
    page.keyboard.press("ArrowRight")
    assert at_s(page) == pytest.approx(before_s + 2, abs=0.11)
    page.keyboard.press("n")
    expect(page.locator(f"#{SLUG}-p02 .play")).to_be_focused()
    page.get_by_label("The keyboard plays").uncheck()
    page.locator("h1").click()
    page.keyboard.press("1")
    expect(page.locator(TIHAI).get_by_role("button", name="whole")).to_have_attribute("aria-pressed", "true")


def test_a_missing_sound_is_told_and_its_file_offered(opened: Callable[..., Page], place: Path, tmp_path: Path) -> None:
    import shutil

    copy = Path(shutil.copytree(place, tmp_path / "copy"))
    (copy / f"sounds/{SLUG}-t01-played-100.js").unlink()
    page = opened(at=copy, expected="ERR_FILE_NOT_FOUND")
    press(page, "Play")
    expect(page.locator(f"{TIHAI} .trouble")).to_contain_text("its file is missing")
    expect(page.locator(f"{TIHAI} .sounds")).to_have_attribute("open", "")
    expect(page.locator(f"{TIHAI} .play")).to_have_accessible_name("Play")


def test_all_in_one_page_plays_and_loops_with_no_file_beside_it(
    opened: Callable[..., Page], place: Path, tmp_path: Path
) -> None:
    alone = tmp_path / "alone.html"
    alone.write_text(all_in_one((place / "index.html").read_text("utf-8"), place), "utf-8")
    addresses = Addresses(alone.read_text("utf-8")).found
    assert [address for address in addresses if not address.startswith(("#", "data:"))] == []
    page = opened(at=alone)
    press(page, "palla 2")
    page.wait_for_function("() => document.querySelector('.cell.lit') !== null")
    press(page, "Pause")
    palla = part_of(place, "palla 2")
    assert palla["begin_s"] - 0.1 <= at_s(page) <= palla["end_s"] + 0.1
    with page.expect_download() as download:
        page.locator(TIHAI).get_by_role("link", name="PDF").click()
    assert download.value.suggested_filename == f"{SLUG}-t01.pdf"
    assert Path(download.value.path()).read_bytes() == (place / f"sheets/{SLUG}-t01.pdf").read_bytes()
    still = opened(at=alone, scripts=False)
    expect(still.locator(f"{TIHAI} audio").first).to_be_visible()


def test_without_javascript_there_are_players_of_the_browser_and_links(opened: Callable[..., Page]) -> None:
    page = opened(scripts=False)
    assert page.locator(f"{TIHAI} audio").count() == 3
    expect(page.locator(f"{TIHAI} audio").first).to_be_visible()
    expect(page.locator(f"{TIHAI} .player")).to_be_hidden()
    expect(page.locator(TIHAI).get_by_role("link", name="Sheet to print")).to_be_visible()


@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_no_fault_with_the_page(opened: Callable[..., Page], dark: bool) -> None:
    axe = needs.axe_core().read_text("utf-8")
    page = opened(dark=dark)
    page.locator(f"{TIHAI} .sounds summary").click()
    press(page, "palla 2")
    press(page, "Pause")
    page.evaluate(axe)
    assert page.evaluate(FOUND_FROM_DISK, RULES) == []


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_is_wider_than_the_window(opened: Callable[..., Page], width: int) -> None:
    page = opened(width=width)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    wide = page.evaluate(
        """() => [...document.querySelectorAll(".words, button")]
             .filter((each) => each.scrollWidth > each.clientWidth + 1).map((each) => each.textContent)"""
    )
    assert wide == []


def test_the_page_is_valid_html(place: Path, tmp_path: Path) -> None:
    command = needs.html_validate()
    (tmp_path / ".htmlvalidate.json").write_text(json.dumps({"root": True, "extends": ["html-validate:recommended"]}))
    (tmp_path / "index.html").write_bytes((place / "index.html").read_bytes())
    done = subprocess.run([*command, "index.html"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[:3000]
