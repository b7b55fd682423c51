"""The page of proposals in a real browser: looked for, heard, accepted and rejected by key, taken back."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, expect

from annotate.archive import Archive
from dashboard.access.at_hand import Role
from dashboard.access.people import People
from tests import needs
from tests.annotate.desk import SLUG
from tests.annotate.proposals.gats import FIRST_LANDING_S
from tests.dashboard.access.conftest import PASSWORDS, READER
from tests.dashboard.conftest import Window
from tests.dashboard.test_accessibility import FOUND, RULES

pytestmark = pytest.mark.browser
Open = Callable[..., Window]
FOUND_MS = 180_000
"""How long looking for tihais may take on a machine that does much else."""


def item(page: Page, landing_s: float) -> str:
    """The key of the proposal that lands there."""
    keys = page.locator(".proposals-item").evaluate_all("items => items.map(each => each.dataset.key)")
    return next(key for key in keys if abs(float(key[1:]) - landing_s) < 0.2)


def opened(page: Page, key: str) -> None:
    """Wait until a proposal is open with its rows."""
    expect(page.locator(f'[data-key="{key}"]')).to_have_attribute("aria-current", "true")
    expect(page.locator("#fold .palla.proposed").first).to_be_visible()


def statuses(archive: Archive) -> list[str]:
    return [each.status for each in archive.state(SLUG).tihais]


def test_tihais_are_looked_for_heard_accepted_found_under_tihais_and_rejected_by_keys(
    archive: Archive, own_address: str, window: Open
) -> None:
    page = window(f"{own_address}/cycles/{SLUG}").page
    page.get_by_role("link", name="Look for tihais").click()
    expect(page.get_by_role("heading", name="Nobody has looked for tihais here yet")).to_be_visible()
    page.get_by_role("button", name="Look for tihais").click()
    expect(page.locator(".proposals-item").first).to_be_visible(timeout=FOUND_MS)
    key = item(page, FIRST_LANDING_S)
    page.locator(f'[data-key="{key}"]').click()
    opened(page, key)
    expect(page.locator(".reason").first).to_contain_text("The tabla plays the same three times")
    expect(page.locator(".proposal-sure")).to_contain_text("almost sure")

    page.locator("body").press(" ")
    from_s = float(page.evaluate("async () => (await import('/assets/window/desk.mjs')).desk.data.passage.from_s"))
    page.wait_for_function("(from) => document.getElementById('player').currentTime > from + 0.3", arg=from_s)
    page.keyboard.press(" ")

    page.keyboard.press("y")
    expect(page.locator("#said")).to_contain_text("Accepted: tihai t01")
    expect(page.locator(f'[data-key="{key}"]')).to_have_count(0)
    other = page.locator('[aria-current="true"]').get_attribute("data-key")
    assert other is not None
    assert other != key
    opened(page, other)
    expect(page.locator("#reject")).to_be_enabled()
    page.keyboard.press("n")
    expect(page.locator("#said")).to_contain_text("Rejected")
    assert sorted(statuses(archive)) == ["confirmed", "rejected"]
    page.keyboard.press("Control+z")
    expect(page.locator(f'[data-key="{other}"]')).to_have_attribute("aria-current", "true")
    assert statuses(archive) == ["confirmed"]

    page.get_by_role("link", name="Tihais", exact=True).click()
    expect(page.locator("tbody tr")).to_have_count(1)
    expect(page.locator("tbody tr")).to_contain_text("t01")


def test_a_draft_that_is_corrected_is_summed_as_it_is_typed_and_accepted_so(
    found: Archive, own_address: str, window: Open
) -> None:
    page = window(f"{own_address}/proposals/{SLUG}").page
    expect(page.locator(".proposals-item").first).to_be_visible()
    key = item(page, FIRST_LANDING_S)
    page.locator(f'[data-key="{key}"]').click()
    opened(page, key)
    field = page.locator("#proposal-palla")
    field.fill("Dha Ti X")
    expect(page.locator("#proposal-count")).to_contain_text("X")
    field.fill("Dha Ti Te:1/2")
    expect(page.locator("#proposal-count")).to_contain_text("2 1/2 + 1/2 + 2 1/2")
    field.press("y")  # a letter while somebody types
    expect(field).to_have_value("Dha Ti Te:1/2y")
    field.fill("Dha Ti Te:1/2")
    field.press("Enter")
    expect(page.locator("#said")).to_contain_text("Accepted")
    assert [each.palla for each in found.state(SLUG).tihais] == ["Dha Ti Te:1/2"]


def test_a_key_that_is_held_down_decides_on_one_alone(found: Archive, own_address: str, window: Open) -> None:
    page = window(f"{own_address}/proposals/{SLUG}").page
    expect(page.locator("#fold .palla.proposed").first).to_be_visible()
    page.keyboard.down("n")
    expect(page.locator("#said")).to_contain_text("Rejected")
    expect(page.locator("#fold .palla.proposed").first).to_be_visible()
    for _ in range(3):
        page.keyboard.down("n")  # as the keyboard repeats it
    page.keyboard.up("n")
    page.wait_for_load_state("networkidle")
    assert statuses(found) == ["rejected"]


def test_what_somebody_else_decides_is_seen_without_loading_the_page_again(
    found: Archive, own_address: str, window: Open
) -> None:
    one, two = (window(f"{own_address}/proposals/{SLUG}").page for _ in range(2))
    for page in (one, two):
        expect(page.locator("#fold .palla.proposed").first).to_be_visible()
    key = one.locator('[aria-current="true"]').get_attribute("data-key")
    one.keyboard.press("n")
    expect(one.locator("#said")).to_contain_text("Rejected")
    expect(two.locator(f'[data-key="{key}"] .proposals-sure')).to_contain_text("rejected")


def test_a_reader_sees_and_hears_proposals_and_cannot_decide(
    found: Archive, own_address: str, browser: Browser
) -> None:
    People(found).add(READER, Role.READER, PASSWORDS[READER])
    page = browser.new_context().new_page()
    page.goto(f"{own_address}/login?to=/proposals/{SLUG}")
    page.fill("#name", READER)
    page.fill("#password", PASSWORDS[READER])
    page.keyboard.press("Enter")
    expect(page.locator("#fold .palla.proposed").first).to_be_visible()
    expect(page.locator("#play")).to_be_visible()
    expect(page.get_by_role("button", name="Accept")).to_have_count(0)
    expect(page.get_by_text("Look again")).to_have_count(0)
    page.keyboard.press("y")
    page.wait_for_load_state("networkidle")
    assert statuses(found) == []
    page.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_neither_proposals_nor_what_was_learnt_have_what_axe_finds_fault_with(
    found: Archive, own_address: str, browser: Browser, scheme: str
) -> None:
    axe = needs.axe_core().read_text("utf-8")
    for width in (1280, 390):
        context = browser.new_context(
            viewport={"width": width, "height": 844},
            color_scheme="dark" if scheme == "dark" else "light",
            bypass_csp=True,
        )
        for at, ready in ((f"/proposals/{SLUG}", "#fold .palla.proposed"), ("/learnt", "main .empty")):
            page = context.new_page()
            page.goto(own_address + at)
            page.wait_for_selector(ready)
            page.evaluate(axe)
            assert page.evaluate(FOUND, RULES) == []
            assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"), (
                f"{at} is too wide at {width}"
            )
        context.close()
