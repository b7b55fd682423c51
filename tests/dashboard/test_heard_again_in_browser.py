"""Heard again and again, in a browser: a phrase is taken up with the role chosen, and what came of it is said."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import expect

from annotate.archive import Archive
from tests.annotate.desk import SLUG
from tests.annotate.recurring.again import again_archive
from tests.dashboard.conftest import Window, served


def test_a_mukhra_is_taken_up_from_the_page_of_its_raga(tmp_path: Path, window: Callable[..., Window]) -> None:
    archive = again_archive(tmp_path)
    with served(archive.path) as address:
        page = window(f"{address}/ragas/desh").page
        button = page.get_by_role("button", name="Take up all 9 of m | P N S' R' in Evening as phrases")
        expect(page.get_by_label("Role of m | P N S' R' in Evening")).to_have_value("mukhra")
        page.get_by_label("Role of m | P N S' R' in Evening").select_option("sthayi")
        button.click()
        expect(page.locator("[data-heard-again] [role=status]")).to_contain_text("9 written down in Evening as sthayi")
        expect(button).to_be_disabled()
        page.wait_for_load_state("networkidle")  # what the page still asks is answered before the server goes
    assert [each.role for each in Archive.open(archive.path).state(SLUG).phrases] == ["sthayi"] * 9
