"""A sam nudged by key in a real browser: one key takes the whole run back, another brings it again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from annotate.archive import Archive
from tests.dashboard.conftest import SLUG, Window
from tests.dashboard.test_marking_in_browser import editing, marked_s, sign_of

pytestmark = pytest.mark.browser

Open = Callable[..., Window]


def test_twenty_nudges_are_undone_by_one_key_and_redone_by_one(
    own_archive: Path, own_address: str, window: Open
) -> None:
    page = editing(window(f"{own_address}/cycles/{SLUG}").page)
    page.mouse.click(*sign_of(page, "3"))
    said = page.locator("#said")
    expect(said).to_contain_text("Holding the sam at 0:11")
    for _ in range(20):
        page.keyboard.press("m")
    page.wait_for_function("() => document.querySelector('#held-words').textContent.includes('0:11.200')")
    page.wait_for_load_state("networkidle")
    assert pytest.approx(11.2) in marked_s(own_archive)
    revisions = len(Archive.open(own_archive).history(SLUG))
    page.keyboard.press("Control+z")
    expect(said).to_contain_text("Undone: ")
    assert 11.0 in marked_s(own_archive)
    page.keyboard.press("Control+Shift+z")
    expect(said).to_contain_text("Done again: ")
    assert pytest.approx(11.2) in marked_s(own_archive)
    assert len(Archive.open(own_archive).history(SLUG)) >= revisions + 2
