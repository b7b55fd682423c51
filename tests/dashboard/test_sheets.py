"""Practice sheets in the dashboard: the answers, what they let in, and how they look to a browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from playwright.sync_api import Browser, expect

from dashboard.app import make_app
from tests import needs
from tests.dashboard.conftest import SLUG, Window
from tests.dashboard.test_accessibility import FOUND, RULES

SHEET = f"/practice/sheet/{SLUG}/t01"


@pytest.fixture(scope="module")
def client(finished_archive: Path) -> FlaskClient:
    return make_app(finished_archive).server.test_client()


def test_a_sheet_is_served_with_a_policy_that_takes_its_own_style_and_fonts_alone(client: FlaskClient) -> None:
    answer = client.get(SHEET)
    assert answer.status_code == 200
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert policy.count("'sha256-") == answer.text.count("<style>") == 2
    assert "script" not in policy
    assert "Content-Security-Policy" in client.get("/assets/mark.svg").headers, "others have theirs as before"


def test_wishes_are_read_from_the_address_and_kept_in_the_form(client: FlaskClient) -> None:
    page = client.get(f"{SHEET}?script=devanagari&paper=letter&played=1&tuning=G,D,A,E&sa=D4").text
    assert "size: letter" in page
    assert "How it was played" in page
    assert "Strings G3, D4, A4, E5" in page
    assert '<option value="devanagari" selected>' in page
    assert 'value="G,D,A,E"' in page
    assert f'href="{SHEET}.pdf?script=devanagari&amp;paper=letter' in page


def test_left_out_sa_is_the_nearest_to_the_recordings_own(client: FlaskClient) -> None:
    assert re.search(r"Sa is [A-G]#?\d\.", client.get(f"{SHEET}?tuning=G2,D3,A3,E4,B4").text)


@pytest.mark.parametrize(
    ("query", "fault"),
    [
        ("tuning=G,D,H", "&#39;H&#39; is no string"),
        ("script=greek", "There is no script &#39;greek&#39;"),
        ("paper=a3", "There is no paper &#39;a3&#39;"),
        ("tuning=G&frets=many", "&#39;many&#39; is no number"),
        ("tuning=C1&frets=2", "lies on none of the strings"),
    ],
)
def test_a_wish_that_cannot_be_is_told_above_a_plain_sheet(client: FlaskClient, query: str, fault: str) -> None:
    answer = client.get(f"{SHEET}?{query}")
    assert answer.status_code == 400
    assert fault in answer.text
    assert "Under the matras" in answer.text
    pdf = client.get(f"{SHEET}.pdf?{query}")
    assert (pdf.status_code, pdf.mimetype) == (400, "text/plain")


def test_a_row_recording_or_raga_that_is_not_there_is_told(client: FlaskClient) -> None:
    for address, told in (
        (f"/practice/sheet/{SLUG}/t09", "has no tihai or phrase 't09'"),
        ("/practice/sheet/nowhere/t01", "has no recording 'nowhere'"),
        ("/practice/raga-sheet/nowhere", "No raga is called 'nowhere'"),
    ):
        answer = client.get(address)
        assert answer.status_code == 404
        assert told in answer.text


def test_a_sheet_is_kept_without_the_form_and_as_pdf(client: FlaskClient) -> None:
    kept = client.get(f"{SHEET}?keep=1")
    assert kept.headers["Content-Disposition"] == f"attachment; filename*=UTF-8''{SLUG}-t01.html"
    assert "<form" not in kept.text
    pdf = client.get(f"{SHEET}.pdf")
    assert (pdf.mimetype, pdf.data[:5]) == ("application/pdf", b"%PDF-")
    assert client.get("/practice/raga-sheet/kafi/pa-sa").status_code == 200
    assert client.get("/practice/raga-sheet/kafi/pa-sa.pdf").mimetype == "application/pdf"


def test_a_tihai_a_raga_and_a_phrase_lead_to_their_sheets(address: str, window: Callable[..., Window]) -> None:
    opened = window(f"{address}/tihais/{SLUG}/t01").page
    opened.get_by_role("link", name="Practice sheet").click()
    expect(opened.get_by_role("heading", name="Tihai t01")).to_be_visible()
    opened.get_by_label("Letters").select_option("devanagari")
    opened.get_by_role("button", name="Show").click()
    expect(opened.get_by_label("Letters")).to_have_value("devanagari")
    opened.get_by_role("link", name="Back").click()
    opened.wait_for_url(f"**/tihais/{SLUG}/t01")
    opened.goto(f"{address}/ragas/desh")
    opened.get_by_role("link", name="Practice sheet").click()
    expect(opened.get_by_role("heading", name="Raga Desh")).to_be_visible()
    opened.goto(f"{address}/instances?raga=desh&of=phrases&item=R+m+P")
    opened.get_by_role("link", name="Practice sheet").first.click()
    expect(opened.get_by_role("heading", level=2)).to_be_visible()


@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_no_fault_with_a_sheet_and_it_is_no_wider_than_the_window(
    browser: Browser, address: str, width: int
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, bypass_csp=True)
    page = context.new_page()
    for at in (f"{SHEET}?tuning=G2,D3,A3,E4&played=1&script=devanagari", "/practice/raga-sheet/desh?tuning=G,D,A,E"):
        page.goto(address + at)
        page.evaluate(needs.axe_core().read_text("utf-8"))
        assert page.evaluate(FOUND, RULES) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()


def test_the_browser_sets_a_sheet_in_the_fonts_that_it_carries(address: str, window: Callable[..., Window]) -> None:
    page = window(f"{address}{SHEET}?script=devanagari").page
    page.wait_for_function("document.fonts.status === 'loaded'")
    loaded = page.evaluate("[...document.fonts].filter(f => f.status === 'loaded').map(f => f.family)")
    assert {"Sheet", "Sheet Devanagari"} <= {family.strip('"') for family in loaded}
