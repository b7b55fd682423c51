"""Concerts in a real browser: the list is narrowed and ordered, details are changed, a recording is added."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import av
import pytest
from playwright.sync_api import expect

from annotate.archive import Archive
from annotate.history.fields import with_fields
from annotate.history.merging import change_merging
from annotate.records import Recording
from annotate.revisions import add
from tests.dashboard.conftest import SLUG, Window, served

pytestmark = pytest.mark.browser

Open = Callable[..., Window]
TAPE = Path(__file__).parents[3] / "sample_data" / "desh_teental.ogg"


@pytest.mark.parametrize("at", ["/add", f"/concerts/{SLUG}", "/words"])
def test_a_narrow_window_never_scrolls_sideways(address: str, window: Open, at: str) -> None:
    page = window(address + at, width=390, height=844, dark=True).page
    page.wait_for_load_state("networkidle")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_list_is_narrowed_and_ordered_and_its_address_says_so(own_archive: Path, window: Open) -> None:
    archive = Archive.open(own_archive)
    for slug, raga in (("a-morning", "bhairav"), ("b-evening", "yaman")):
        archive.commit(slug, [add(Recording(slug, slug, raga=raga))], "a", "")
    with served(own_archive) as address:
        page = window(address).page
        rows = page.locator("#concerts-list tbody tr")
        expect(rows).to_have_count(3)
        page.fill("#concerts-find", "evening")
        expect(rows).to_have_count(1)
        expect(page).to_have_url(re.compile(r"/\?find=evening$"))
        page.reload()
        expect(page.locator("#concerts-find")).to_have_value("evening")
        expect(rows).to_have_count(1)
        page.fill("#concerts-find", "no such thing")
        page.get_by_role("link", name="show all performances").click()
        expect(rows).to_have_count(3)
        page.get_by_role("link", name="Performance", exact=True).click()
        expect(rows.first).to_contain_text("a-morning")
        expect(page.get_by_role("link", name="Performance", exact=True)).to_be_focused()
        page.select_option("#concerts-raga", "yaman")
        expect(rows).to_have_count(1)
        page.get_by_role("link", name="b-evening", exact=True).click()
        expect(page.locator("h1")).to_have_text("b-evening")
        page.go_back()
        expect(page.locator("#concerts-raga")).to_have_value("yaman")
        page.get_by_role("link", name="Details of b-evening").click()
        expect(page.locator("#details-form")).to_be_visible()


def test_details_are_changed_and_where_another_was_first_both_are_shown(
    own_archive: Path, own_address: str, window: Open
) -> None:
    opened = window(f"{own_address}/concerts/{SLUG}")
    page = opened.page
    page.get_by_label("Venue").fill("a hall by the river")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#details-said")).to_have_text("Saved.")
    archive = Archive.open(own_archive)
    state = archive.state(SLUG)
    assert state.recording.venue == "a hall by the river"

    theirs = with_fields(state.recording, {"title": "Their title"})
    change_merging(archive, SLUG, theirs, who="Bela", why="title changed", seen=state.revision)
    page.get_by_label("Title").fill("My title")
    page.get_by_role("button", name="Save").click()
    said = page.locator("#details-said")
    expect(said.locator("tbody")).to_contain_text("Their title")
    page.get_by_role("button", name="Write mine").click()
    expect(page.locator("h1")).to_have_text("My title")
    assert archive.state(SLUG).recording.title == "My title"
    page.get_by_text("History of these details").click()
    expect(page.locator(".history")).to_contain_text("Bela")
    assert [said for said in opened.complaints if "409" not in said] == []
    opened.complaints.clear()  # the browser notes every answer of status 4xx


def test_a_recording_is_withdrawn_after_a_question_and_brought_back(
    own_archive: Path, own_address: str, window: Open
) -> None:
    opened = window(f"{own_address}/concerts/{SLUG}", width=390, height=844)
    page = opened.page
    page.get_by_role("button", name="Withdraw this recording").click()
    expect(page.get_by_role("dialog", name="Withdraw Trial in rupak?")).to_be_visible()
    expect(page.get_by_role("button", name="Keep it")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_be_hidden()
    archive = Archive.open(own_archive)
    assert archive.slugs() == [SLUG]

    page.get_by_role("button", name="Withdraw this recording").click()
    page.get_by_role("button", name="Withdraw it").click()
    expect(page.locator("h1")).to_have_text("Withdrawn")
    expect(page.locator(".withdrawn li")).to_contain_text("Trial in rupak")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert archive.slugs() == []
    page.get_by_role("link", name="Concerts").click()
    expect(page.get_by_role("heading", name="The archive is empty")).to_be_visible()
    page.get_by_role("link", name="Withdrawn (1)").click()
    page.get_by_role("button", name="Bring back: Trial in rupak").click()
    expect(page.locator("h1")).to_have_text("Trial in rupak")
    page.get_by_text("History of these details").click()
    expect(page.locator(".history")).to_contain_text("recording brought back")
    assert archive.slugs() == [SLUG]


def test_a_recording_is_sent_taken_in_and_opened_and_the_same_again_is_told(
    tmp_path: Path, own_archive: Path, window: Open
) -> None:
    tape = tmp_path / "evening tape.wav"
    _first_seconds(TAPE, tape, 25)
    with served(own_archive) as address:
        page = window(f"{address}/").page
        page.get_by_role("link", name="Add a recording").click()
        page.set_input_files("#add-files", tape)
        expect(page.locator("#add-title")).to_have_value("evening tape")
        page.get_by_role("button", name="Take in").click()
        expect(page.locator("#add-said")).to_contain_text("which raga")
        page.get_by_label("Raga").fill("Desh")
        page.locator('[name="talas"][value="teental"]').check()
        page.get_by_label("Musicians").fill("mandolin: Nirvani Tolasar, tabla: Obeyan Rukhdal")
        page.get_by_role("button", name="Take in").click()
        expect(page.locator("#add-said")).to_contain_text("being taken in")
        page.goto(address)  # the page may be left meanwhile
        expect(page.locator("#work")).to_contain_text("evening tape")
        page.get_by_role("link", name="Open it").wait_for(timeout=120_000)
        expect(page.locator("#concerts-list")).to_contain_text("evening tape")
        page.get_by_role("link", name="Open it").click()
        expect(page.locator("h1")).to_have_text("evening tape")
        page.wait_for_selector("#fold .avartan-drawing")

        page.goto(f"{address}/add")
        page.set_input_files("#add-files", tape)
        page.get_by_label("Raga").fill("Desh")
        page.locator('[name="talas"][value="teental"]').check()
        page.get_by_role("button", name="Take in").click()
        expect(page.locator("#work")).to_contain_text("already in the archive", timeout=60_000)
    recording = Archive.open(own_archive).state("evening-tape").recording
    assert recording.raga == "desh"
    assert [file.name for file in recording.files] == ["evening tape.wav"]
    assert recording.musicians[0] == ("mandolin", "Nirvani Tolasar")


def test_what_is_no_sound_is_told_beside_its_name(tmp_path: Path, own_address: str, window: Open) -> None:
    text = tmp_path / "notes.txt"
    text.write_text("no sound at all")
    opened = window(f"{own_address}/add")
    opened.page.set_input_files("#add-files", text)
    expect(opened.page.locator("#add-list")).to_contain_text("notes.txt is no sound file")
    opened.page.get_by_role("button", name="Leave out").click()
    expect(opened.page.locator("#add-list li")).to_have_count(0)
    opened.page.wait_for_load_state("networkidle")
    # the browser notes every answer of status 4xx: that of the file, and none for leaving out what is gone already
    assert ["415" in said for said in opened.complaints] == [True]
    opened.complaints.clear()


def _first_seconds(source: Path, target: Path, seconds: int) -> None:
    with av.open(str(source)) as file, av.open(str(target), "w") as cut:
        stream = cut.add_stream("pcm_s16le", rate=file.streams.audio[0].rate, layout="stereo")
        resampler = av.AudioResampler("s16", "stereo")
        for frame in file.decode(audio=0):
            if frame.time is not None and frame.time > seconds:
                break
            for made in resampler.resample(frame):
                cut.mux(stream.encode(made))
        cut.mux(stream.encode(None))
