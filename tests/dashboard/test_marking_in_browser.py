"""Marks corrected in a real browser: held, dragged, nudged, undone, kept when the window closes, and by two at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from annotate.archive import Archive
from annotate.marking import move_sam
from tests.dashboard.conftest import SLUG, Window
from tests.dashboard.test_in_browser import press_at, ready, seek

pytestmark = pytest.mark.browser

Open = Callable[..., Window]


def marked_s(folder: Path) -> list[float]:
    return [each.sam_s for each in Archive.open(folder).state(SLUG).marked_sams]


def editing(page: Page) -> Page:
    """Wait until what is marked is known too."""
    ready(page)
    page.wait_for_selector("#saved-marks details", state="attached")
    return page


def sign_of(page: Page, avartan: str) -> tuple[float, float]:
    """The middle of the sign at an avartan's sam."""
    row = page.locator(".avartan", has=page.locator("b", has_text=avartan)).first
    row.scroll_into_view_if_needed()
    box = row.locator(".sam-sign").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_sam_is_dragged_nudged_undone_and_done_again(own_archive: Path, own_address: str, window: Open) -> None:
    page = editing(window(f"{own_address}/cycles/{SLUG}").page)
    x, y = sign_of(page, "3")
    drawing = (
        page.locator(".avartan", has=page.locator("b", has_text="3")).first.locator(".avartan-drawing").bounding_box()
    )
    assert drawing is not None
    matra_px = (drawing["width"] - 60) / 7
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 5, y)
    page.mouse.move(x + matra_px / 5, y)  # a fifth of a matra of half a second
    page.mouse.up()
    expect(page.locator("#said")).to_contain_text("Sam moved from 0:11 to 0:11.")
    (moved_s,) = [each for each in marked_s(own_archive) if 10.5 < each < 11.5]
    assert moved_s == pytest.approx(11.1, abs=0.005)  # a pixel is some 6 ms
    page.keyboard.press("m")
    expect(page.locator("#said")).to_contain_text("(+10 ms)")
    assert pytest.approx(moved_s + 0.01) in marked_s(own_archive)
    page.keyboard.press("Control+z")
    expect(page.locator("#said")).to_contain_text("Undone: sam nudged")
    page.keyboard.press("Control+z")
    expect(page.locator("#said")).to_contain_text("Undone: sam moved from 0:11 to")
    assert 11.0 in marked_s(own_archive)
    page.keyboard.press("Control+Shift+z")
    expect(page.locator("#said")).to_contain_text("Done again: sam moved from 0:11")
    assert pytest.approx(moved_s) in marked_s(own_archive)


def test_marks_that_are_not_saved_are_nudged_and_taken_back_key_by_key(own_address: str, window: Open) -> None:
    page = editing(window(f"{own_address}/cycles/{SLUG}").page)
    press_at(page, "p", 11.0)
    press_at(page, "p", 13.5)
    page.keyboard.press("y")  # the nearest, which is the second palla
    page.keyboard.press("k")
    expect(page.locator("#mark-start-2")).to_have_value("13.750")
    page.keyboard.press("q")
    expect(page.locator("#mark-start-2")).to_have_value("13.749")
    for value in ("13.750", "13.500", ""):
        page.keyboard.press("Control+z")
        expect(page.locator("#mark-start-2")).to_have_value(value)
    page.keyboard.press("Control+y")
    expect(page.locator("#mark-start-2")).to_have_value("13.500")


def test_what_is_not_saved_outlives_the_window_and_is_offered(own_address: str, window: Open) -> None:
    first = editing(window(f"{own_address}/cycles/{SLUG}").page)
    for time_s in (11.0, 13.5):
        press_at(first, "p", time_s)
    first.fill("#mark-palla", "R m P")
    first.wait_for_function("() => Object.values(localStorage).some((text) => text.includes('R m P'))")
    first.close()
    second = editing(window(f"{own_address}/cycles/{SLUG}").page)
    expect(second.locator("#kept-marks")).to_contain_text("2 marks from just now, not saved")
    second.get_by_role("button", name="Take them up").click()
    expect(second.locator("#mark-start-2")).to_have_value("13.500")
    expect(second.locator("#mark-palla")).to_have_value("R m P")
    expect(second.locator("#told-paper")).to_contain_text("The palla has 3 matras")
    second.locator("body").press("Escape")
    second.fill("#mark-palla", "")
    second.wait_for_function("() => Object.keys(localStorage).every((name) => !name.startsWith('layakosh marks'))")


def test_two_windows_see_each_others_edits_and_neither_overwrites_the_other_unseen(
    own_archive: Path, own_address: str, window: Open
) -> None:
    refused = window(f"{own_address}/cycles/{SLUG}")
    one, other = editing(window(f"{own_address}/cycles/{SLUG}").page), editing(refused.page)
    for page in (one, other):
        page.bring_to_front()
        page.click("text=Saved marks")
        page.click("button[aria-label^='edit tihai t01']")
        page.wait_for_selector("#row-dam")
    one.bring_to_front()
    one.fill("#row-dam", "1")
    other.bring_to_front()
    other.fill("#row-dam", "2")
    one.bring_to_front()
    one.click(".row-form >> text=Save")
    expect(one.locator("#said")).to_contain_text("Tihai t01 is saved")
    other.bring_to_front()
    told = other.locator("#mark-conflict")
    expect(told.locator(".versions")).to_have_text("Damwas0theirs1yours2")
    told.get_by_role("button", name="Keep mine").click()
    other.click(".row-form >> text=Save")
    expect(told).to_contain_text("Yours is not written")
    assert Archive.open(own_archive).state(SLUG).tihai("t01").dam == 1
    told.get_by_role("button", name="Keep mine").click()
    expect(other.locator("#said")).to_contain_text("Tihai t01 is saved")
    assert Archive.open(own_archive).state(SLUG).tihai("t01").dam == 2
    (complaint,) = refused.complaints
    assert "409 (CONFLICT)" in complaint  # which the browser says of itself
    refused.complaints.clear()


def test_what_the_command_line_moves_is_drawn_by_itself(own_archive: Path, own_address: str, window: Open) -> None:
    page = editing(window(f"{own_address}/cycles/{SLUG}").page)
    move_sam(Archive.open(own_archive), SLUG, 11.0, 11.2, who="asha")
    row = page.locator(".avartan-number", has_text="3").locator("span")
    expect(row).to_have_text("0:11.2")
    expect(page.locator("#said")).to_contain_text("asha: sam moved")


def test_history_brings_a_row_back_as_it_was_then(own_archive: Path, own_address: str, window: Open) -> None:
    page = editing(window(f"{own_address}/cycles/{SLUG}").page)
    page.click("text=Saved marks")
    page.click("button[aria-label^='edit tihai t02']")
    page.fill("#row-label", "the late one")
    page.select_option("#row-status", "proposed")
    page.click(".row-form >> text=Save")
    page.click("button[aria-label^='edit tihai t02']")
    page.get_by_role("button", name="Its history").click()
    expect(page.locator(".history > li")).to_have_count(2)
    page.get_by_role("button", name="as it was at revision").click()
    expect(page.locator(".history")).to_contain_text("label the late one -> -")
    page.get_by_role("button", name="Bring it back").click()
    expect(page.locator("#said")).to_contain_text("1 row changed")
    record = Archive.open(own_archive).state(SLUG).tihai("t02")
    assert (record.label, record.status) == ("", "confirmed")


def test_a_phrase_is_written_over_the_selected_avartan_with_its_count(
    own_archive: Path, own_address: str, window: Open
) -> None:
    page = editing(window(f"{own_address}/cycles/{SLUG}").page)
    seek(page, 12.0)
    page.keyboard.press("a")
    page.keyboard.press("d")
    expect(page.locator("#row-from")).to_have_value("0:11.000")
    page.locator("#row-swaras").press_sequentially("R m | P N")
    caret = page.locator("#row-count pre")
    expect(caret).to_contain_text("^")
    page.fill("#row-swaras", "R m P | N - S' -")
    expect(page.locator("#row-count")).to_contain_text("Written: 7 matras. Played: 7.0, from matra 1 of Rupak")
    page.locator("#row-swaras").press("Enter")
    expect(page.locator("#said")).to_contain_text("Saved as phrase p04")
    phrase = Archive.open(own_archive).state(SLUG).phrases[2]
    assert (phrase.start_s, phrase.end_s, phrase.swaras) == (11.0, 14.5, "R m P | N - S' -")
