"""Courses in a real browser: read, edited by keyboard and pointer, two people at once, narrow, by axe."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from annotate.archive import Archive
from annotate.courses import editing
from annotate.courses.shelf import Courses
from tests import needs
from tests.dashboard.conftest import SLUG, Window, served
from tests.dashboard.courses.conftest import COURSE, FIRST, KEY, SECOND
from tests.dashboard.test_accessibility import FOUND, RULES

pytestmark = pytest.mark.browser

Open = Callable[..., Window]


@pytest.fixture
def at(course_place: Path) -> Iterator[str]:
    """The address of a dashboard with the course in it."""
    with served(course_place) as address:
        yield address


def now(place: Path) -> Courses:
    return Courses(Archive.open(place))


def test_a_course_is_made_written_and_read(course_place: Path, at: str, window: Open) -> None:
    page = window(f"{at}/courses").page
    page.get_by_label("Title").fill("First ragas")
    page.get_by_label("For whom").fill("beginners")
    page.get_by_role("button", name="Make it").click()
    expect(page.locator("h1")).to_have_text("First ragas")
    expect(page).to_have_url(re.compile("/courses/first-ragas$"))
    page.get_by_label("Another chapter").fill("Desh")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Title of the chapter")).to_be_focused()
    page.get_by_label("Notes, in Markdown").fill("# Hear\n\n**sing** <b>it</b>")
    expect(page.locator(".preview h3")).to_have_text("Hear")
    expect(page.locator(".preview p")).to_have_text("sing <b>it</b>")
    page.get_by_label("Add a piece").fill("raga desh")
    expect(page.locator("#pieces-found [data-add='raga:desh']")).to_be_visible()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.locator(".pieces.editing > li")).to_have_count(1)
    page.get_by_label("Add a piece").fill("rupak t02")
    page.get_by_role("button", name=re.compile("^Add Tihai t02")).click()
    page.get_by_role("button", name=re.compile("^Move Tihai t02 .* up")).press("Enter")
    page.get_by_role("button", name="Save", exact=True).first.click()
    expect(page.locator("#course-said")).to_have_text("Saved.")
    expect(page.get_by_role("button", name="Edit Desh")).to_be_focused()
    kept = now(course_place).get("first-ragas").content.chapters[0]
    assert kept.pieces == (f"{SLUG}/t02", "raga:desh")
    assert kept.notes == "# Hear\n\n**sing** <b>it</b>"
    expect(page.locator(".chapter .notes h3")).to_have_text("Hear")
    page.get_by_role("link", name=re.compile("^Tihai t02")).click()
    expect(page.locator("h1")).to_contain_text("t02")
    page.go_back()
    expect(page.locator(".chapter .notation").first).to_have_text("R m P N S'")


def test_chapters_are_moved_by_buttons_and_keys_and_undone(course_place: Path, at: str, window: Open) -> None:
    page = window(f"{at}/courses/{KEY}").page
    page.get_by_role("button", name="Move The palla down").click()
    expect(page.locator(".chapter").first).to_have_attribute("data-chapter", SECOND)
    expect(page.get_by_role("button", name="Move The palla up")).to_be_focused()  # it cannot go farther down
    page.keyboard.press("Alt+ArrowUp")
    expect(page.locator(".chapter").first).to_have_attribute("data-chapter", FIRST)
    assert [each.key for each in now(course_place).get(KEY).content.chapters] == [FIRST, SECOND]
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#course-said")).to_have_text("Undone: order of the chapters changed.")
    expect(page.locator(".chapter").first).to_have_attribute("data-chapter", SECOND)
    page.get_by_role("button", name="Redo").click()
    expect(page.locator(".chapter").first).to_have_attribute("data-chapter", FIRST)
    page.get_by_text("History of this course").click()
    expect(page.locator("details.history li").first).to_contain_text("redo of revision 3")


def test_what_two_people_write_in_the_same_notes_is_shown_and_one_is_chosen(
    course_place: Path, at: str, window: Open
) -> None:
    it = window(f"{at}/courses/{KEY}")
    page = it.page
    page.get_by_role("button", name="Edit The palla").click()
    page.get_by_label("Notes, in Markdown").fill("mine")
    now(course_place).edit(KEY, editing.with_changed(COURSE, FIRST, notes="theirs"), seen=1, who="Bela")
    page.get_by_role("button", name="Save", exact=True).first.click()
    table = page.locator(".chapter-form .conflict table")
    expect(table.locator("tbody th")).to_have_text("notes of 'The palla'")
    expect(table.locator("tbody td")).to_have_text([COURSE.chapters[0].notes, "theirs", "mine"], use_inner_text=True)
    expect(table.locator("thead")).to_contain_text("Bela")
    page.get_by_role("button", name="Write mine").click()
    expect(page.locator("#course-said")).to_have_text("Saved.")
    assert now(course_place).get(KEY).content.chapters[0].notes == "mine"
    (complaint,) = it.complaints
    assert "409 (CONFLICT)" in complaint  # which the browser says of itself
    it.complaints.clear()


def test_chapters_that_somebody_else_moved_meanwhile_are_shown_as_they_are_now(
    course_place: Path, at: str, window: Open
) -> None:
    three = editing.with_chapter(COURSE, "Then")
    now(course_place).edit(KEY, three, seen=1, who="Bela")
    it = window(f"{at}/courses/{KEY}")
    then = three.chapters[-1].key
    now(course_place).edit(KEY, editing.moved_chapter(three, then, 1), seen=2, who="Bela")
    it.page.get_by_role("button", name="Move The palla down").click()
    expect(it.page.locator("#course-said")).to_contain_text("Bela has changed the same")
    expect(it.page.locator(".chapter").first).to_have_attribute("data-chapter", then)
    it.page.get_by_role("button", name="Move The palla down").click()
    expect(it.page.locator(".chapter").last).to_have_attribute("data-chapter", FIRST)
    assert "409 (CONFLICT)" in it.complaints.pop()


def test_what_is_typed_outlives_the_page_until_it_is_saved_or_left(course_place: Path, at: str, window: Open) -> None:
    page = window(f"{at}/courses/{KEY}").page
    page.get_by_role("button", name="Edit The palla").click()
    page.get_by_label("Notes, in Markdown").fill("half a thought")
    page.get_by_label("Add a piece").fill("rupak t02")
    page.get_by_role("button", name=re.compile("^Add Tihai t02")).click()
    page.get_by_role("link", name="Tihais", exact=True).click()
    expect(page.locator("h1")).to_have_text("Tihais")
    page.goto(f"{at}/courses/{KEY}")
    page.get_by_role("button", name="Edit The palla").click()
    expect(page.get_by_label("Notes, in Markdown")).to_have_value("half a thought")
    expect(page.locator(".pieces.editing > li")).to_have_count(3)
    expect(page.locator(".again")).to_be_visible()
    page.get_by_role("button", name="Leave it as it was").click()
    page.get_by_role("button", name="Edit The palla").click()
    expect(page.get_by_label("Notes, in Markdown")).to_have_value(COURSE.chapters[0].notes)
    page.get_by_role("button", name="Remove this chapter").click()
    expect(page.locator(".chapter")).to_have_count(1)
    assert now(course_place).get(KEY).latest.number == 2


def test_what_is_said_of_a_course_is_changed_and_it_is_taken_out_and_put_back(at: str, window: Open) -> None:
    page = window(f"{at}/courses/{KEY}").page
    page.get_by_text("Title, for whom, licence").click()
    page.locator("#course-title").fill("On sam")
    page.locator("#course-form").get_by_role("button", name="Save").click()
    expect(page.locator("h1")).to_have_text("On sam")
    page.get_by_role("button", name="Take this course out").click()
    expect(page.locator("h1")).to_have_text("Courses")
    page.get_by_text("Taken out (1)").click()
    page.get_by_role("button", name="Put back: On sam").click()
    expect(page.locator("h1")).to_have_text("On sam")


def test_pages_of_courses_have_nothing_that_axe_finds_fault_with_and_never_scroll_sideways(
    at: str, browser: Browser
) -> None:
    axe = needs.axe_core().read_text("utf-8")
    found = {}
    for width, scheme in ((1280, "light"), (390, "dark")):
        # axe is put in as code that is evaluated, which the pages' own policy forbids
        context = browser.new_context(
            viewport={"width": width, "height": 844},
            color_scheme=scheme,
            bypass_csp=True,  # type: ignore[arg-type]
        )
        page = context.new_page()
        for name in ("courses", f"courses/{KEY}", "the form"):
            if name == "the form":
                page.get_by_role("button", name="Edit The palla").click()
                page.get_by_label("Add a piece").fill("rupak")
                page.wait_for_selector("#pieces-found li")
            else:
                page.goto(f"{at}/{name}")
                page.wait_for_selector(".course-list, .chapter")
            page.evaluate(axe)
            found[f"{name} {scheme}"] = page.evaluate(FOUND, RULES)
            assert page.evaluate("() => document.documentElement.scrollWidth") <= width
        context.close()
    assert {name: faults for name, faults in found.items() if faults} == {}


def test_its_markdown_is_saved_and_links_in_notes_lead_where_they_say(
    course_place: Path, at: str, window: Open
) -> None:
    linked = editing.with_changed(COURSE, FIRST, notes="[the file](/course/landing-on-sam) [a tihai](/tihais)")
    now(course_place).edit(KEY, linked, seen=1, who="Bela")
    page = window(f"{at}/courses/{KEY}").page
    with page.expect_download() as saving:
        page.get_by_role("link", name="As a Markdown file").click()
    assert saving.value.suggested_filename == f"{KEY}.md"
    assert "## 1. The palla" in saving.value.path().read_text("utf-8")
    page.get_by_role("link", name="a tihai").click()
    expect(page.locator("h1")).to_have_text("Tihais")


def test_a_course_that_is_not_there_is_told_with_the_nearest(at: str, window: Open) -> None:
    page = window(f"{at}/courses/landing-on-som").page
    expect(page.locator("h1")).to_have_text("Not found")
    page.get_by_role("link", name=KEY).click()
    expect(page.locator("h1")).to_have_text("Landing on sam")
