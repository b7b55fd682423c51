"""People in real browsers: a reader is refused an edit, an annotator's bears their name, two are kept apart.

Every window fails its test when the browser complains of anything but a login that was meant to fail; a violation of
the content security policy is such a complaint.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from annotate.archive import Archive
from dashboard.access.people import People
from tests.dashboard.access.callbacks import called, writing_to
from tests.dashboard.access.conftest import ANNOTATOR, PASSWORDS, READER
from tests.dashboard.conftest import COMPLAINTS, SLUG, served

pytestmark = pytest.mark.browser

MEANT = ("status of 403", "You are not logged in")
Person = Callable[..., Page]


@pytest.fixture
def address_of_shared(shared: Path) -> Iterator[str]:
    with served(shared) as url:
        yield url


@pytest.fixture
def somebody(browser: Browser, address_of_shared: str) -> Iterator[Person]:
    """Open the dashboard in a browser of somebody's own, at the page they ask for."""
    opened: list[BrowserContext] = []
    complaints: list[str] = []

    def hear(page: Page) -> None:
        page.on("console", lambda said: complaints.append(said.text) if said.type in COMPLAINTS else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))

    def open_at(path: str = "/", *, width: int = 1280, dark: bool = False, scripts: bool = True) -> Page:
        context = browser.new_context(
            viewport={"width": width, "height": 844},
            color_scheme="dark" if dark else "light",
            java_script_enabled=scripts,
        )
        context.on("page", hear)
        opened.append(context)
        page = context.new_page()
        page.goto(address_of_shared + path)
        return page

    yield open_at
    for context in opened:
        context.close()
    assert [said for said in complaints if not any(meant in said for meant in MEANT)] == []


def log_in(page: Page, name: str) -> Page:
    """Log in with the keyboard alone: the page begins in the field for the name."""
    expect(page.locator("#name")).to_be_focused()
    page.keyboard.type(name)
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORDS[name])
    page.keyboard.press("Enter")
    expect(page.locator("main h1")).not_to_have_text("Log in")
    return page


def ready(page: Page) -> Page:
    page.wait_for_selector("#fold .avartan-drawing")
    page.wait_for_function("() => document.getElementById('player').readyState >= 1")
    return page


def mark_sam(page: Page, time_s: float) -> None:
    page.evaluate("t => { document.getElementById('player').currentTime = t }", time_s)
    page.wait_for_function("t => Math.abs(document.getElementById('player').currentTime - t) < 0.02", arg=time_s)
    page.keyboard.press("s")


def test_a_reader_looks_and_listens_and_is_refused_an_edit_and_an_annotators_edit_bears_their_name(
    shared: Path, somebody: Person
) -> None:
    page = ready(log_in(somebody(f"/cycles/{SLUG}"), READER))
    assert page.url.endswith(f"/cycles/{SLUG}")
    expect(page.locator(".at-hand")).to_contain_text(f"{READER}, reader")
    expect(page.locator("#marking, #save-sams, #save-tihai, #saved-marks")).to_have_count(0)
    page.keyboard.press("s")
    expect(page.locator(".ghost")).to_have_count(0)

    dependencies = page.evaluate("async () => (await fetch('/_dash-dependencies')).json()")
    refused = page.evaluate(
        """async (body) => {
          const headers = { "Content-Type": "application/json" };
          return (await fetch("/_dash-update-component", { method: "POST", headers, body })).text();
        }""",
        json.dumps(called(writing_to(dependencies, "save-sams"))),
    )
    assert "look and listen, so nothing was written" in refused
    assert Archive.open(shared).history(SLUG)[-1].who not in (READER, "dashboard")

    page.get_by_role("button", name="Log out").click()
    page.goto(page.url.replace("/login", f"/login?to=/cycles/{SLUG}"))
    ready(log_in(page, ANNOTATOR))
    mark_sam(page, 11.05)
    page.click("#save-sams")
    expect(page.locator("#told-sams")).to_contain_text("1 sam saved")
    assert Archive.open(shared).history(SLUG)[-1].who == ANNOTATOR


def test_two_people_are_kept_apart(shared: Path, somebody: Person) -> None:
    reader = log_in(somebody(), READER)
    annotator = log_in(somebody(), ANNOTATOR)
    for _ in range(2):
        for page, name in ((reader, READER), (annotator, ANNOTATOR)):
            page.reload()
            expect(page.locator(".at-hand b")).to_have_text(name)
    annotator.get_by_role("button", name="Log out").click()
    expect(annotator.locator("h1")).to_have_text("Log in")
    annotator.go_back()
    expect(annotator.locator("h1")).to_have_text("Log in")  # nothing of the page is left to go back to
    reader.reload()
    expect(reader.locator(".at-hand b")).to_have_text(READER)


def test_a_session_that_ends_while_one_works_is_said_and_what_is_typed_stays(shared: Path, somebody: Person) -> None:
    page = ready(log_in(somebody(f"/cycles/{SLUG}"), ANNOTATOR))
    page.fill("#mark-sams", "11.06")
    People(Archive.open(shared)).set_password(ANNOTATOR, PASSWORDS[ANNOTATOR])  # as whoever keeps the archive may
    page.click("#save-sams")
    told = page.locator("#session-ended")
    expect(told).to_contain_text("no longer logged in")
    expect(page.locator("#mark-sams")).to_have_value("11.06")
    with page.context.expect_page() as opened:
        told.get_by_role("link").click()
    log_in(opened.value, ANNOTATOR)
    page.click("#save-sams")
    expect(page.locator("#told-sams")).to_contain_text("1 sam saved")
    expect(told).to_have_count(0)


def test_the_login_works_without_scripts_in_a_narrow_dark_window(somebody: Person) -> None:
    page = somebody("/tihais", width=390, dark=True, scripts=False)
    page.fill("#name", READER)
    page.fill("#password", "not the right one")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("alert")).to_contain_text("not the name and password")
    expect(page.locator("#name")).to_have_value(READER)
    expect(page.locator("#password")).to_have_value("")
    expect(page.locator("#password")).to_be_focused()
    page.fill("#password", PASSWORDS[READER])
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url("**/tihais")


def test_the_login_and_the_page_of_a_reader_fit_a_narrow_window(somebody: Person) -> None:
    page = somebody(f"/cycles/{SLUG}", width=390)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    ready(log_in(page, READER))
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_every_page_keeps_to_the_policy_also_under_the_pointer(somebody: Person) -> None:
    page = log_in(somebody(), ANNOTATOR)
    for path in (
        "/",
        f"/cycles/{SLUG}",
        "/tihais",
        f"/tihais/{SLUG}/t02",
        "/phrases",
        "/phrases?raga=desh",
        "/nowhere",
    ):
        page.goto(page.url.split("/", 3)[0] + "//" + page.url.split("/", 3)[2] + path)
        page.wait_for_selector("main h1")
        page.wait_for_load_state("networkidle")
        for figure in page.locator(".js-plotly-plot").all():
            figure.scroll_into_view_if_needed()
            figure.hover()


def test_the_policy_stops_a_script_that_got_into_a_page(browser: Browser, address_of_shared: str) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(address_of_shared + "/login")
    page.evaluate(
        """() => {
          const script = document.createElement("script");
          script.textContent = "window.ran = true";
          document.body.append(script);
          const image = document.createElement("img");
          document.body.append(image);
          image.outerHTML = "<img src='/none' onerror='window.ran = true'>";
        }"""
    )
    page.wait_for_load_state("networkidle")
    assert page.evaluate("window.ran") is None
    context.close()
