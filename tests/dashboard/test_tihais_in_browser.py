"""Searching tihais, comparing pallas by ear, and coming from a number to its sound, in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.dashboard.conftest import SLUG, Window

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
