"""Every page checked by axe-core against WCAG 2.2 AA and its own best practices, in light and in dark.

Also the choice of light, and what words mean. axe-core (Mozilla Public License 2.0) is used by these tests alone, so it
is brought by npm and no part of the repository.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, expect

from dashboard.glossary import MEANINGS
from tests import needs
from tests.dashboard.conftest import SLUG, Window

pytestmark = pytest.mark.browser

PAGES = (
    "/",
    "/add",
    f"/concerts/{SLUG}",
    f"/cycles/{SLUG}",
    "/tihais",
    f"/tihais/{SLUG}/t02",
    "/phrases",
    "/ragas",
    "/ragas/desh",
    "/instances?raga=desh&of=phrases&item=R+m+P",
    "/side-by-side?a=desh&b=bageshri",
    f"/agreement/{SLUG}",
    "/like?phrase=R+m+P",
    "/compose",
    "/practice?kinds=dam&level=3",
    "/practice/clap",
    f"/practice/sound/{SLUG}/t01",
    "/courses",
    "/words",
    "/no/such/page",
)
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
FOUND = """async (rules) => (await axe.run(document, { runOnly: rules })).violations.flatMap(({ id, help, nodes }) =>
  nodes.map(({ target, any }) => `${id}: ${help} (${target.join(" ")}) ${any[0]?.message ?? ""}`))"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_has_what_axe_finds_fault_with(browser: Browser, address: str, scheme: str) -> None:
    axe = needs.axe_core().read_text("utf-8")
    # axe is put in as code that is evaluated, which the pages' own policy forbids
    context = browser.new_context(
        viewport={"width": 1280, "height": 900}, color_scheme="dark" if scheme == "dark" else "light", bypass_csp=True
    )
    found: dict[str, list[str]] = {}
    for at in PAGES:
        page = context.new_page()
        page.goto(address + at)
        page.wait_for_selector("h1")
        page.wait_for_load_state("networkidle")
        page.evaluate(axe)
        found[at] = page.evaluate(FOUND, RULES)
        page.close()
    context.close()
    assert {at: faults for at, faults in found.items() if faults} == {}


def test_the_light_that_is_chosen_is_kept_and_other_windows_follow(address: str, window: Callable[..., Window]) -> None:
    page, other = window(address, dark=True).page, window(f"{address}/words", dark=True).page
    dark = _ground(page)
    page.get_by_role("button", name="Light", exact=True).click()
    expect(page.get_by_role("button", name="Light", exact=True)).to_have_attribute("aria-pressed", "true")
    light = _ground(page)
    assert light != dark
    other.wait_for_function("ground => getComputedStyle(document.body).backgroundColor === ground", arg=light)
    page.reload()
    expect(page.get_by_role("button", name="Light", exact=True)).to_have_attribute("aria-pressed", "true")
    assert _ground(page) == light
    page.get_by_role("button", name="Auto", exact=True).click()
    assert _ground(page) == dark


def test_a_word_tells_its_meaning_to_pointer_and_keyboard_and_escape_puts_it_away(
    address: str, window: Callable[..., Window]
) -> None:
    page = window(f"{address}/cycles/{SLUG}").page
    word = page.locator(".term", has_text="Tala")
    told = page.get_by_role("tooltip")
    word.hover()
    expect(told).to_have_text(MEANINGS["tala"])
    page.keyboard.press("Escape")
    expect(told).to_be_hidden()
    page.locator(".term", has_text="Raga").focus()
    page.keyboard.press("Tab")
    expect(word).to_be_focused()
    expect(told).to_have_text(MEANINGS["tala"])
    expect(word).to_have_attribute("aria-describedby", "meaning")


def _ground(page: Page) -> str:
    colour = str(page.evaluate("() => getComputedStyle(document.body).backgroundColor"))
    assert re.fullmatch(r"rgb\(\d+, \d+, \d+\)", colour)
    return colour
