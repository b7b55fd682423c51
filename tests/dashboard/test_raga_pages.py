"""Phrases, ragas and two sides beside each other, as data: the figures have the numbers of the statistics."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import plotly.graph_objects as go
import plotly.io as pio
import pytest
from dash import dcc

from annotate.archive import Archive
from annotate.marking import record_phrase
from annotate.statistics.agreement import agreement
from annotate.statistics.annotators import marks_by
from annotate.statistics.ngrams import ngram_usage
from annotate.statistics.shares import shares
from annotate.statistics.side_by_side import side_by_side
from dashboard.app import LATE
from dashboard.figures.deviation import strokes_drawing
from dashboard.figures.intervals import intervals_drawing
from dashboard.figures.pallas import PallaSound, pallas_drawing
from dashboard.figures.profile import groups_figure, profile_figure
from dashboard.figures.steps import Step, steps_figure
from dashboard.library import Library
from dashboard.pages import agreement as agreement_page
from dashboard.pages import phrases, raga_played, tihai_late
from dashboard.pages import side_by_side as side_page
from dashboard.pages.instances import sound_address
from dashboard.pages.late import LatePart
from dashboard.pages.raga_played import steps_of
from dashboard.routes import page_at
from tests.dashboard.conftest import SLUG
from tests.dashboard.test_pages import text_of
from theory.ragas import get_raga


@pytest.fixture(scope="module")
def library(finished_archive: Path) -> Library:
    return Library(Archive.open(finished_archive))


def made(library: Library, part: LatePart, **asked: str) -> Any:
    return part.make(library, asked, lambda _share: None)


def components(part: Any) -> Iterator[Any]:
    if isinstance(part, list | tuple):
        for each in part:
            yield from components(each)
    elif part is not None and not isinstance(part, str | int | float):
        yield part
        yield from components(getattr(part, "children", None))


def figures(part: Any) -> list[go.Figure]:
    charts = (getattr(each, "data-chart", None) for each in components(part))
    return [pio.from_json(told) for told in charts if told is not None]


def drawings(part: Any) -> list[dict[str, Any]]:
    found = (getattr(each, "data-drawing", None) for each in components(part))
    return [json.loads(told) for told in found if told is not None]


def links(part: Any) -> list[str]:
    return [each.href for each in components(part) if isinstance(each, dcc.Link)]


def test_the_profile_of_swaras_shows_the_shares_of_the_statistics(library: Library) -> None:
    (figure,) = figures(made(library, raga_played.PROFILE, raga="desh", by="instrument"))
    found = shares(library.archive, "desh", "swaras")
    expected = dict(zip(found["item"], found["share"], strict=True))
    shown = {
        str(label).split("<br>")[0]: value for label, value in zip(figure.data[0].x, figure.data[0].y, strict=True)
    }
    assert {letter: value for letter, value in shown.items() if value} == {
        letter: pytest.approx(100 * share, abs=0.005) for letter, share in expected.items()
    }
    assert sum(figure.data[0].y) == pytest.approx(100, abs=0.1)


def test_steps_are_counted_as_the_statistics_count_runs_of_two(library: Library) -> None:
    found = ngram_usage(library.archive, "desh", 2)
    steps = {(step.source, step.target): step for step in steps_of(found)}
    assert sum(step.count for step in steps.values()) == found["count"].sum()
    assert steps["R", "m"].count == 3  # R m G R once, R m P twice
    assert steps["R", "m"].kind == "aroha"
    assert steps["G", "R"].kind == "avaroha"
    assert steps["n", "D"].count == 0  # in the avaroha, and nobody played it


def test_a_step_that_nobody_played_has_a_hollow_sign_and_each_kind_a_sign_of_its_own() -> None:
    steps = [Step("S", "R", 4, "aroha"), Step("R", "S", 0, "avaroha"), Step("S", "g", 1, "unusual")]
    drawn = {trace.name: trace.marker.symbol for trace in steps_figure(["S", "R", "g"], steps).data}
    assert drawn == {
        "in the aroha": ("triangle-up",),
        "in the avaroha": ("triangle-down-open",),
        "unusual": ("x",),
    }


@pytest.mark.parametrize("of", ["phrases", "swaras", "ngrams", "endings"])
def test_from_a_number_one_comes_to_as_many_places_as_it_says(library: Library, of: str) -> None:
    found = shares(library.archive, "desh", of, length=2)  # type: ignore[arg-type]
    row = found.iloc[0]
    page = page_at(library, "/instances", f"?raga=desh&of={of}&length=2&item={row['item'].replace(' ', '+')}")
    buttons = [each for each in components(page.content) if "data-hear" in each.to_plotly_json()["props"]]
    rows = sum(row["item"] in each.split("|") for each in _items(of))
    assert len(buttons) == rows
    assert all(f"/passage/{SLUG}?from_ms=" in each.to_plotly_json()["props"]["data-hear"] for each in buttons)
    assert f"/cycles/{SLUG}?at=" in " ".join(links(page.content))


def _items(of: str) -> list[str]:
    """What each of the three phrases holds: R m G R, R m P and R m P again."""
    return {
        "phrases": ["R m G R", "R m P", "R m P"],
        "swaras": ["R|m|G", "R|m|P", "R|m|P"],
        "ngrams": ["R m|m G|G R", "R m|m P", "R m|m P"],
        "endings": ["R", "P", "P"],
    }[of]


def test_numbers_of_the_phrases_lead_to_instances_that_open(library: Library) -> None:
    for by in ("performance", "year", "instrument", "musician"):
        part = made(library, phrases.USAGE, raga="desh", by=by)
        addresses = [href for href in links(part) if href.startswith("/instances")]
        assert addresses
        for href in addresses:
            assert "Hear" in text_of(page_at(library, *href.split("?", 1)).content), href


def test_a_stretch_too_long_for_a_passage_is_heard_from_the_whole_sound() -> None:
    assert sound_address("a", 1.0, 13.0) == "/passage/a?from_ms=1000&to_ms=13000&speed=100"
    assert sound_address("a", 60.0, 120.0) == "/sound/a#t=60.000,120.000"


def test_a_raga_has_what_its_sources_say_and_that_schools_differ(library: Library) -> None:
    text = text_of(page_at(library, "/ragas/desh", "").content)
    desh = get_raga("desh")
    for told in (desh.aroha, desh.avaroha, desh.source, *desh.phrases, "Schools and teachers differ"):
        assert told in text


def test_a_raga_that_nobody_played_says_what_to_do_and_one_that_is_none_is_told(library: Library) -> None:
    assert "Nobody has played it here yet" in text_of(page_at(library, "/ragas/bhupali", "").content)
    assert "Desh" in text_of(page_at(library, "/ragas/dxsh", "").content)
    assert "1 raga of this archive" in text_of(page_at(library, "/ragas", "").content)


def test_too_few_performances_for_a_trend_are_told_in_words(library: Library) -> None:
    assert "three dated performances" in text_of(made(library, raga_played.TRENDS, raga="desh", by="year"))


def test_the_difference_drawn_is_that_of_the_statistics(own_archive: Path) -> None:
    archive = Archive.open(own_archive)
    second = _second_performance(archive)
    part = made(Library(archive), side_page.DIFFERENCE, a=SLUG, b=second, of="swaras")
    (drawn,) = drawings(part)
    told = side_by_side(archive, SLUG, second, "swaras")
    assert [row["item"] for row in drawn["rows"]] == told.rows["item"].tolist()
    assert [row["value"] for row in drawn["rows"]] == pytest.approx((100 * told.rows["difference"]).tolist(), abs=5e-4)
    assert "were drawn again" in text_of(part)


def _second_performance(archive: Archive) -> str:
    from annotate.records import Recording
    from annotate.revisions import add

    archive.commit("second", [add(Recording("second", "Second", raga="desh", duration_s=20.0))], who="test", why="test")
    record_phrase(archive, "second", start_s=1.0, end_s=3.0, swaras="n D P", role="alap")
    record_phrase(archive, "second", start_s=5.0, end_s=8.0, swaras="R m P", role="alap")
    return "second"


def test_two_sides_that_cannot_be_compared_are_told_in_words(library: Library) -> None:
    from theory.errors import LayakoshError

    with pytest.raises(LayakoshError, match="two different ones"):
        made(library, side_page.DIFFERENCE, a="desh", b="des", of="swaras")


@pytest.mark.parametrize(
    "figure",
    [
        profile_figure(["S", "R"], {"as written": [0.4, 0.6]}, "share of time"),
        groups_figure(["S", "R"], {"2024": [0.4, 0.6], "2025": [0.5, 0.5]}),
        steps_figure(["S", "R"], []),
    ],
)
def test_every_figure_names_its_axes_with_their_units(figure: go.Figure) -> None:
    assert figure.layout.xaxis.title.text
    assert figure.layout.yaxis.title.text


def test_an_interval_is_told_apart_by_whether_it_leaves_out_zero_and_may_be_missing() -> None:
    nan = float("nan")
    told = intervals_drawing(["S", "R", "G"], [1.0, -2.0, 3.0], [0.5, -3.0, nan], [1.5, 0.1, nan], "points", "swara")
    assert [(row["low"], row["high"], row["told"]) for row in told["rows"]] == [
        (0.5, 1.5, True),
        (-3.0, 0.1, False),
        (None, None, False),
    ]


def test_strokes_are_drawn_palla_by_palla_with_gaps_where_none_was_found() -> None:
    told = strokes_drawing(["1 R", "landing"], [[None], [(3.02, 9.0), (-7.0, None)]], 100.0)
    assert [each["values"] for each in told["series"]] == [[None], [3.0, -7.0]]
    assert [each["places"] for each in told["series"]] == [[None], [(8.4, 9.6), None]]
    assert [each["landing"] for each in told["series"]] == [False, True]


def test_the_pallas_are_drawn_as_shares_of_the_loudest_of_all() -> None:
    def sound(name: str, loud: float, at_s: float) -> PallaSound:
        return PallaSound(name, at_s, at_s + 2, np.array([0.0, 1.0, 2.0]), np.array([-loud, 0]), np.array([loud, 0]))

    told = pallas_drawing([sound("palla 1", 0.2, 10.0), sound("palla 2", 0.4, 12.0)])
    assert [row["high"] for row in told["rows"]] == [[0.5, 0.0], [1.0, 0.0]]
    assert [(row["from_s"], row["to_s"]) for row in told["rows"]] == [(10.0, 12.0), (12.0, 14.0)]
    assert told["length_s"] == 2.0
    assert pallas_drawing([])["rows"] == []


def test_every_figure_has_its_words_and_the_numbers_of_a_late_part_a_name_of_their_own(library: Library) -> None:
    names = [part.name for part in LATE]
    assert len(set(names)) == len(names)
    part = made(library, tihai_late.STROKES, slug=SLUG, tihai="t01")
    assert "were not measured" in text_of(part)  # this archive has no evidence


def test_the_history_of_a_tihai_tells_who_wrote_what(library: Library) -> None:
    text = text_of(made(library, tihai_late.HISTORY, slug=SLUG, tihai="t01"))
    assert "added" in text
    assert "revision" in text


def test_the_same_tihai_elsewhere_is_listed_with_what_is_in_common(library: Library) -> None:
    part = made(library, tihai_late.ELSEWHERE, slug=SLUG, tihai="t01")
    assert "the arithmetic and the swaras" in text_of(part)
    assert f"/tihais/{SLUG}/t02" in links(part)


def test_agreement_is_that_of_the_statistics_and_where_people_part_can_be_heard(own_archive: Path) -> None:
    archive = Archive.open(own_archive)
    marked = {
        "Asha": ((1.0, "alap"), (4.0, "mukhra"), (14.5, "mukhra")),
        "Devkant": ((4.1, "mukhra"), (14.6, "tan"), (20.0, "tan")),
    }
    for who, phrases_of in marked.items():
        for start_s, role in phrases_of:
            record_phrase(archive, SLUG, start_s=start_s, end_s=start_s + 1.5, swaras="R m P", role=role, who=who)
    library = Library(archive)
    part = made(library, agreement_page.AGREEMENT, slug=SLUG, table="phrases", a="Asha", b="Devkant")
    first, second = marks_by(archive, SLUG, ["Asha", "Devkant"], "phrases")
    found = agreement(first, second, end_s=28.0)
    assert (found.pairs, round(found.labels_alike, 3)) == (2, 0.5)
    text = text_of(part)
    assert "50.0%" in text
    assert f"{found.start_apart_ms:.0f} ms" in text
    assert "2 marks" in text  # what each marked alone: at 1.0 s and at 20.0 s
    assert "no sound" not in text
    assert "Asha and Devkant" in text_of(page_at(library, f"/agreement/{SLUG}", "").content)


def test_agreement_of_nobody_says_what_is_missing(library: Library) -> None:
    assert "Two people must have written down" in text_of(page_at(library, f"/agreement/{SLUG}", "").content)
