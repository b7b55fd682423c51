"""The whole job in one story, in a real browser at the dashboard's own server, with people who log in.

A musician adds a recording, corrects a sam, marks a tihai by keys while it plays, types its sargam, sees it land, takes
that back and does it again, finds it under Tihais and its line under Phrases, and practises it at half speed. Then a
reader looks at it and is refused an edit.

The recording is made by ``sample_data``: a short performance of which every stroke is known, so that what is marked and
what is heard is held against what was played. Keys are pressed while the sound is heard; how late they come depends on
the machine, so the marks are snapped to their strokes afterwards, as somebody does whose fingers are late.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from playwright.sync_api import Browser, Page, expect

from annotate.archive import Archive
from dashboard.access.at_hand import Role
from dashboard.access.people import People
from sample_data import room, trio
from sample_data.playing import Rendition, play
from sample_data.score import Free, Line, Performance, PlannedTihai
from sample_data.tools import RATE_HZ
from tests.dashboard.access.conftest import ANNOTATOR, PASSWORDS, READER
from tests.dashboard.access.test_restart import running
from tests.dashboard.conftest import COMPLAINTS
from tests.dashboard.hearing import Heard, begin, end, listen_in, loudness
from tests.dashboard.test_marking_in_browser import editing
from tests.dashboard.test_server import free_port

pytestmark = pytest.mark.browser

TITLE = "Evening in jhaptal"
SLUG = "evening-in-jhaptal"
STROKE_S = 0.03
"""How far a mark on a stroke may be from where mandolin and tabla struck: they are up to 15 ms off the pulse each."""
EARLY_S = 0.02
"""How long before a stroke the finger begins to move."""
LEAD_S = 1.0
"""What is played before the place that is waited for."""
HEARD_S = 8.0
STEP_S = 0.02
"""Of loudness over time."""
TIMES = ("#mark-start-1", "#mark-start-2", "#mark-start-3", "#mark-landing")
EVENING = Performance(
    name="evening_in_jhaptal",
    title=TITLE,
    performed_on="2026-02-14",
    venue=trio.VENUE,
    musicians=trio.MUSICIANS,
    raga="desh",
    tala="jhaptal",
    sa_hz=294.5,
    seed=77,
    tempo=(104.0, 106.0),
    lead_in=5,
    cycles=3,
    drone_ratios=(0.75, 1.0, 1.0, 0.5),
    alap=(Free("R m G R", (0.45, 0.5, 0.4, 1.2)),),
    lines=(
        Line(0, 6, "R m P N S'", "mukhra"),
        Line(1, 1, "R - m G R | - N S R -", "sthayi"),
        Line(3, 1, "m - P N S' - n D P m", "antara"),
    ),
    tihais=(PlannedTihai("Damdar of 3 and 1, from sam to sam", 2, Fraction(1), "R m P", Fraction(1), "mandolin"),),
)


@pytest.fixture(scope="module")
def evening() -> Rendition:
    return play(EVENING)


@pytest.fixture(scope="module")
def sound(evening: Rendition) -> NDArray[np.float32]:
    """What was played; shape (n, 2)."""
    return room.sound_of(evening.part, EVENING.seed)


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A new archive with a musician who may edit and a reader."""
    archive = Archive.create(tmp_path / "archive")
    people = People(archive)
    people.add(ANNOTATOR, Role.ANNOTATOR, PASSWORDS[ANNOTATOR])
    people.add(READER, Role.READER, PASSWORDS[READER])
    return archive


@pytest.fixture
def address(archive: Archive) -> Iterator[str]:
    """Where the archive is served, by the command that people start."""
    port = free_port()
    with running(archive.path, port):
        yield f"http://127.0.0.1:{port}"


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A window of a browser of its own, which is heard; it may complain of what is refused and of nothing else."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, bypass_csp=True)
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type in COMPLAINTS else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    listen_in(page)
    yield page
    context.close()
    assert [said for said in complaints if "status of 403" not in said] == []


def test_a_musician_goes_through_the_whole_job_and_a_reader_is_refused_an_edit(
    page: Page, address: str, archive: Archive, evening: Rendition, sound: NDArray[np.float32], tmp_path: Path
) -> None:
    log_in(page, address, ANNOTATOR)
    add_a_recording(page, _written(tmp_path / f"{TITLE}.flac", sound))
    open_it(page)

    correct_the_sam_of_avartan(page, "2")
    (sam,) = archive.state(SLUG).marked_sams
    assert sam.sam_s == pytest.approx(evening.clock.time_s(evening.position(2, 1)), abs=STROKE_S)
    assert sam.sam_s in archive.grid(SLUG).sections[0].sam_s

    (played,) = evening.tihais
    mark_a_tihai_while_it_plays(page, [*played.palla_s, played.landing_s])
    snap_every_mark_to_its_stroke(page)
    type_its_sargam(page, "R m P", "3 + 1 + 3 + 1 + 3 = 11")
    save_and_see_it_land(page)
    tihai = archive.state(SLUG).tihai("t01")
    assert [*tihai.palla_s, tihai.landing_s] == pytest.approx([*played.palla_s, played.landing_s], abs=STROKE_S)
    assert (tihai.palla, tihai.dam, tihai.start, tihai.who) == ("R m P", 1, 1, ANNOTATOR)

    take_back(page, "tihai written down")
    assert archive.state(SLUG).tihais == ()
    do_again(page, "tihai written down")
    assert archive.state(SLUG).tihai("t01") == tihai

    write_down_the_line_of_the_avartan(page, "R m P - R m P - R m")
    find_the_tihai_under_tihais(page)
    find_the_line_under_phrases(page, "R m P R m P R m")

    page.goto(f"{address}/cycles/{SLUG}")
    loop = loop_the_tihai_at_half_speed(page)
    assert loop["from_s"] == pytest.approx(tihai.palla_s[0], abs=1e-3)
    assert loop["to_s"] > tihai.landing_s
    heard = hear_it_come_round(page)
    assert alike(heard, sound, loop, speed=0.5) > 0.8
    assert alike(heard, sound, loop, speed=1.0) < 0.5

    before = archive.state(SLUG).revision
    log_out(page)
    log_in(page, address, READER, f"/cycles/{SLUG}")
    see_no_way_to_edit(page)
    be_refused_an_edit(page)
    assert Archive.open(archive.path).state(SLUG).revision == before


def log_in(page: Page, address: str, name: str, to: str = "/") -> None:
    page.goto(address + to)
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORDS[name])
    page.get_by_role("button", name="Log in").click()
    expect(page.locator(".at-hand b")).to_have_text(name)


def log_out(page: Page) -> None:
    page.get_by_role("button", name="Log out").click()
    expect(page.locator("h1")).to_have_text("Log in")


def add_a_recording(page: Page, tape: Path) -> None:
    """Send a file, say what it is, and watch until it is in the archive."""
    page.get_by_role("link", name="Add a recording").first.click()
    page.set_input_files("#add-files", tape)
    expect(page.locator("#add-title")).to_have_value(TITLE)
    page.get_by_label("Raga").fill("Desh")
    page.locator('[name="talas"][value="jhaptal"]').check()
    page.get_by_label("Musicians").fill(", ".join(f"{plays}: {who}" for plays, who in trio.MUSICIANS))
    page.get_by_role("button", name="Take in").click()
    expect(page.locator("#work")).to_contain_text(TITLE)
    page.wait_for_function("() => document.querySelector('#work progress')?.value > 0")
    expect(page.locator("#work .work-words")).to_have_text("It is in the archive.", timeout=120_000)


def open_it(page: Page) -> None:
    page.get_by_role("link", name="Open it").click()
    expect(page.locator("h1")).to_have_text(TITLE)
    ready_to_hear(page)


def correct_the_sam_of_avartan(page: Page, avartan: str) -> None:
    """Take hold of a sam that the machine found, move it a little, and put it on its stroke."""
    row = page.locator(".avartan", has=page.locator("b", has_text=avartan)).first
    row.scroll_into_view_if_needed()
    row.locator(".sam-sign").click()
    expect(page.locator("#said")).to_contain_text("Holding the sam at")
    page.keyboard.press("m")
    expect(page.locator("#said")).to_contain_text("Sam marked at")
    page.keyboard.press("v")
    expect(page.locator("#said")).to_contain_text("Snapped to the nearest stroke")
    page.keyboard.press("Escape")


def mark_a_tihai_while_it_plays(page: Page, times_s: list[float]) -> None:
    """Play from some matras before a tihai and press a key as each palla begins and as it lands."""
    go_to(page, times_s[0] - LEAD_S)
    page.keyboard.press("Space")
    for key, time_s in zip("pppl", times_s, strict=True):
        page.wait_for_function("(time_s) => player.now() >= time_s", arg=time_s - EARLY_S)
        page.keyboard.press(key)
    assert page.evaluate("player.isPlaying()")
    page.keyboard.press("Space")
    page.wait_for_function("() => !player.isPlaying()")
    heard_s = page.evaluate("player.now()")
    for field, time_s, next_s in zip(TIMES, times_s, [*times_s[1:], heard_s], strict=True):
        expect(page.locator(field)).to_have_value(re.compile(r"\d"))
        assert time_s - EARLY_S <= float(page.locator(field).input_value()) < next_s


def snap_every_mark_to_its_stroke(page: Page) -> None:
    """Take hold of each mark by its flag on the page and put it on the nearest stroke."""
    for field in TIMES:
        before = page.locator(field).input_value()
        go_to(page, float(before))
        page.keyboard.press("y")
        expect(page.locator("#held-words")).to_be_visible()
        page.keyboard.press("v")
        expect(page.locator(field)).not_to_have_value(before)
        page.keyboard.press("Escape")


def type_its_sargam(page: Page, palla: str, taught: str) -> None:
    """Type the palla and see its sum as it is taught."""
    page.locator("#mark-palla").press_sequentially(palla)
    expect(page.locator("#told-paper")).to_contain_text(taught)
    page.locator("#mark-palla").press("Tab")


def save_and_see_it_land(page: Page) -> None:
    page.click("#save-tihai")
    expect(page.locator("#told-tihai")).to_contain_text("Saved as t01")
    expect(page.locator("#told-tihai")).to_contain_text("Lands")
    expect(page.locator(".landing-text", has_text="t01 lands")).to_have_count(1)


def take_back(page: Page, what: str) -> None:
    page.click("#undo")
    expect(page.locator("#said")).to_contain_text(f"Undone: {what}")
    expect(page.locator(".landing-text")).to_have_count(0)


def do_again(page: Page, what: str) -> None:
    page.click("#redo")
    expect(page.locator("#said")).to_contain_text(f"Done again: {what}")
    expect(page.locator(".landing-text", has_text="t01 lands")).to_have_count(1)


def write_down_the_line_of_the_avartan(page: Page, swaras: str) -> None:
    """Select the avartan of the tihai and write down what is played in it as a phrase."""
    page.locator("body").press("a")
    page.keyboard.press("d")
    page.locator("#row-swaras").press_sequentially(swaras)
    expect(page.locator("#row-count")).to_contain_text("Written: 10 matras. Played: 10.0, from matra 1 of Jhaptal")
    page.locator("#row-swaras").press("Enter")
    expect(page.locator("#said")).to_contain_text("Saved as phrase p01")


def find_the_tihai_under_tihais(page: Page) -> None:
    page.get_by_role("navigation").get_by_role("link", name="Tihais", exact=True).click()
    page.fill("#tihai-find", "R m P")
    page.press("#tihai-find", "Enter")
    page.wait_for_url("**/tihais?find=*")
    row = page.locator("#tihai-list tbody tr")
    expect(row).to_have_count(1)
    expect(row).to_contain_text("lands")
    page.wait_for_load_state("networkidle")  # the row that was there before the search is drawn again by it
    row.get_by_role("link", name="t01").press("Enter")
    expect(page.locator("h1")).to_have_text("Tihai t01")
    expect(page.locator("main")).to_contain_text("3 + 1 + 3 + 1 + 3")


def find_the_line_under_phrases(page: Page, swaras: str) -> None:
    """From the phrase's number to the place where it is played."""
    page.get_by_role("navigation").get_by_role("link", name="Phrases", exact=True).click()
    page.get_by_role("row", name=swaras).get_by_role("link", name="1", exact=True).first.click()
    expect(page.locator("h1")).to_contain_text(swaras)
    page.get_by_role("main").get_by_role("link", name=TITLE).first.click()
    page.wait_for_url(re.compile(rf"/cycles/{SLUG}\?at=13\.\d+$"))
    expect(page.locator("h1")).to_have_text(TITLE)


def loop_the_tihai_at_half_speed(page: Page) -> dict[str, float]:
    """Set the loop and the speed by keys, and play from shortly before its end; gives the loop."""
    ready_to_hear(page)
    page.keyboard.press("h")
    expect(page.locator("#loop-words")).to_have_text("tihai t01")
    for _ in range(10):
        page.keyboard.press("-")
    expect(page.locator("#speed")).to_have_text("50 %")
    loop: dict[str, float] = page.evaluate("import('/assets/window/desk.mjs').then(({ desk }) => desk.loop)")
    go_to(page, loop["to_s"] - LEAD_S)
    page.keyboard.press("Space")
    page.wait_for_function("() => reel.isRunning()")
    return loop


def see_no_way_to_edit(page: Page) -> None:
    page.wait_for_selector("#fold .avartan-drawing")
    expect(page.locator(".at-hand")).to_contain_text("reader")
    expect(page.locator("#marking, #save-tihai, #undo, #redo")).to_have_count(0)
    for key in ("s", "p", "y", "Control+z"):
        page.keyboard.press(key)
    expect(page.locator(".ghost")).to_have_count(0)
    page.goto(page.url.split("/cycles/")[0] + "/add")
    expect(page.locator("main")).to_contain_text("You may look and listen")
    expect(page.locator("#add-files")).to_have_count(0)


def be_refused_an_edit(page: Page) -> None:
    """Ask for edits all the same, as a page with the controls would."""
    for path, told in (("sam", {"to_s": 9.0, "key": "", "from_s": None}), ("undo", {})):
        status, answer = page.evaluate(
            """async ([path, told]) => {
              const headers = { "Content-Type": "application/json" };
              const answer = await fetch(path, { method: "POST", headers, body: JSON.stringify(told) });
              return [answer.status, (await answer.json()).error];
            }""",
            [f"/marks/{SLUG}/{path}", told],
        )
        assert status == 403
        assert answer.startswith(f"{READER}, you are logged in to look and listen, so nothing was written.")


def go_to(page: Page, time_s: float) -> None:
    """Go to a time, as a click on the page does."""
    page.evaluate("(time_s) => player.seek(time_s)", time_s)
    page.wait_for_function("(time_s) => Math.abs(player.now() - time_s) < 0.02", arg=time_s)


def ready_to_hear(page: Page) -> None:
    """Wait until the page with its sound is there, and take hold of what plays it."""
    editing(page)
    page.evaluate(
        """async () => {
          const [player, reel, mixer] = await Promise.all(
            ["player", "reel", "mixer"].map((name) => import(`/assets/window/${name}.mjs`)));
          Object.assign(window, { player, reel, mixer });
        }"""
    )


def hear_it_come_round(page: Page) -> tuple[Heard, float, float]:
    """Hear the loop's end and its beginning; gives a time of the mixer's clock as well, and the place it is at then."""
    begin(page)
    page.wait_for_function("(blocks) => hearing.blocks() > blocks", arg=HEARD_S * 44100 / 128)
    clock_s, place_s = page.evaluate(
        "async () => { const { context } = await mixer.ready(); return [context.currentTime, reel.placeIn(0)]; }"
    )
    return end(page), clock_s, place_s


def alike(heard: tuple[Heard, float, float], sound: NDArray[np.float32], loop: dict[str, float], speed: float) -> float:
    """Tell how alike what is heard is to a loop played at a speed: the correlation of their loudness over time."""
    what, clock_s, place_s = heard
    at_s = np.arange(what.time_s[0], what.time_s[-1] - STEP_S, STEP_S)
    length_s = loop["to_s"] - loop["from_s"]
    places_s = loop["from_s"] + (place_s + speed * (at_s - clock_s) - loop["from_s"]) % length_s
    played = loudness(sound.T, np.arange(sound.shape[0]) / RATE_HZ, places_s, STEP_S / 2)
    return float(np.corrcoef(loudness(what.recording, what.time_s, at_s, STEP_S), played)[0, 1])


def _written(path: Path, sound: NDArray[np.float32]) -> Path:
    soundfile.write(path, sound, RATE_HZ)
    return path
