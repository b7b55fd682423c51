"""Typing in a real browser that is slower than the hand: no letter is lost, and none changes its place."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.dashboard.conftest import SLUG, Window

pytestmark = pytest.mark.browser

TIMES_SLOWER = 20
LINE = "R m P N S' R' n D P m G R"


@pytest.mark.parametrize(
    ("at", "field"),
    [
        (f"/cycles/{SLUG}", "#mark-palla"),
        ("/tihais", "#tihai-find"),
        ("/side-by-side?a=desh&b=bageshri", "#compare-a"),
    ],
)
def test_what_is_typed_faster_than_the_page_is_drawn_stands_as_it_was_typed(
    address: str, window: Callable[..., Window], at: str, field: str
) -> None:
    page = window(address + at).page
    page.wait_for_load_state("networkidle")
    page.fill(field, "")
    slowed = page.context.new_cdp_session(page)
    slowed.send("Emulation.setCPUThrottlingRate", {"rate": TIMES_SLOWER})
    page.focus(field)
    for letter in LINE:
        page.keyboard.press("Space" if letter == " " else letter)
    expect(page.locator(field)).to_have_value(LINE)
    slowed.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    page.locator(field).blur()
    expect(page.locator(field)).to_have_value(LINE)
