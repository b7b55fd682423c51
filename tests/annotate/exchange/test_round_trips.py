"""What a format holds comes back equal: matras exactly, times to the resolution that the format states."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from fractions import Fraction
from itertools import count
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.cells import TABLES
from annotate.exchange.jams_out import jams
from annotate.exchange.label_lists import label_list, webvtt
from annotate.exchange.reading import form_of, read_file
from annotate.exchange.spans import spans_of
from annotate.exchange.tables_out import table_csv
from annotate.records import EPOCH, MarkedSam, PhraseRecord, Record, Section, TihaiRecord
from annotate.revisions import add
from annotate.rows_in import take
from annotate.state import State
from annotate.tables_in import load_tables, new_recording
from tests.annotate.desk import SAMS_S, make_archive
from theory.tihai import LandingRule

NUMBERS = count()

times = st.floats(10.0, 80.0, allow_nan=False)
words = st.text(st.characters(categories=["L", "N", "P", "S"], exclude_characters="\x7f"), min_size=1, max_size=12)
texts = st.lists(words, max_size=3).map(" ".join)
notations = st.sampled_from(["S R G m P", ".nS' - _ | R:1/2", "Dha TiRaKiTa Ta:3/2", "S", "Dha - Ge"])
matras = st.fractions(0, 40, max_denominator=12)
in_tala = st.fractions(1, 16, max_denominator=12)


@st.composite
def tihais(draw: st.DrawFn, key: str) -> TihaiRecord:
    starts = sorted(draw(st.sets(st.integers(10_000_000, 70_000_000), min_size=4, max_size=4)))
    jitter = draw(st.floats(0, 1e-7))
    *pallas, landing_s = (each / 1e6 + jitter for each in starts)
    return TihaiRecord(
        key,
        tuple(pallas) if draw(st.booleans()) else (pallas[0],),
        landing_s,
        "teental",
        draw(in_tala),
        draw(notations),
        draw(matras),
        draw(st.sampled_from(list(LandingRule))),
        draw(in_tala),
        draw(texts),
        draw(st.sampled_from(["proposed", "confirmed"])),
        draw(texts),
        draw(texts),
    )


@st.composite
def phrases(draw: st.DrawFn, key: str) -> PhraseRecord:
    start_s = draw(times)
    return PhraseRecord(key, start_s, start_s + draw(st.floats(0.01, 9.0)), draw(notations), draw(texts))


@st.composite
def recordings(draw: st.DrawFn) -> list[Record]:
    """Rows to add to the little archive: an alap with a name of any kind, a numbered sam, tihais, phrases."""
    rows: list[Record] = [
        Section(draw(texts.filter(bool)) + " x", draw(st.sampled_from(["alap", "talk"])), 90.0, 97.25)
    ]
    rows += [draw(tihais(f"t{number:02d}")) for number in range(draw(st.integers(0, 3)))]
    rows += [draw(phrases(f"p{number:02d}")) for number in range(draw(st.integers(0, 3)))]
    return rows


@dataclass(frozen=True)
class Desk:
    archive: Archive
    folder: Path


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    folder = tmp_path_factory.mktemp("trips")
    return Desk(make_archive(folder), folder)


def filled(desk: Desk, rows: list[Record]) -> tuple[State, str, str]:
    """Make a recording like the desk's with these rows; return its state, its slug and a free one."""
    number = next(NUMBERS)
    slug, again = f"one-{number}", f"two-{number}"
    made = new_recording(desk.archive, slug)
    assert made is not None
    gat = [Section("gat", "gat", 10.0, 90.0, "teental")]
    sams = [MarkedSam(f"s{n:02d}", "gat", sam_s, n) for n, sam_s in enumerate(SAMS_S, start=1)]
    desk.archive.commit(slug, [add(each) for each in (made, *gat, *sams, *rows)], "test", "made")
    return desk.archive.state(slug), slug, again


def unsigned(state: State) -> Iterator[Record]:
    yield from state.sections
    yield from state.marked_sams
    for each in (*state.tihais, *state.phrases):
        yield replace(each, who="", at=EPOCH)


def brought_back(desk: Desk, text: str, name: str, slug: str) -> State:
    path = desk.folder / name
    path.write_text(text, "utf-8")
    read = read_file(path, form_of(path))
    take(desk.archive, slug, read.rows, made=new_recording(desk.archive, slug), who="asha")
    return desk.archive.state(slug)


@given(rows=recordings())
@settings(max_examples=25)
def test_csv_tables_come_back_exactly(desk: Desk, rows: list[Record]) -> None:
    state, slug, again = filled(desk, rows)
    paths: dict[str, str | Path | None] = {}
    for table in TABLES:
        text, number = table_csv(state, desk.archive.grid(slug), table)
        assert number == len(text.splitlines()) - 1
        path = desk.folder / f"{table}.csv"
        path.write_text(text, "utf-8")
        paths[table] = path
    load_tables(desk.archive, again, paths, new_recording(desk.archive, again))
    assert list(unsigned(desk.archive.state(again))) == list(unsigned(state))
    assert load_tables(desk.archive, slug, paths).edits == ()


@given(rows=recordings())
@settings(max_examples=25)
def test_jams_comes_back_exactly(desk: Desk, rows: list[Record]) -> None:
    state, slug, again = filled(desk, rows)
    text = jams(state, desk.archive.grid(slug))
    assert list(unsigned(brought_back(desk, text, "x.jams", again))) == list(unsigned(state))
    assert brought_back(desk, text, "x.jams", slug).revision == state.revision


@given(rows=recordings(), name=st.sampled_from(["x.txt", "x.vtt"]))
@settings(max_examples=40)
def test_labels_come_back_as_far_as_they_reach(desk: Desk, rows: list[Record], name: str) -> None:
    state, slug, again = filled(desk, rows)
    spans = spans_of(state, desk.archive.grid(slug))
    text, half_s = (label_list(spans), 0.51e-6) if name == "x.txt" else (webvtt(spans), 0.51e-3)
    back = brought_back(desk, text, name, again)
    assert back.marked_sams == state.marked_sams
    for found, wanted in zip(back.sections, state.sections, strict=True):
        assert (found.section, found.kind, found.tala) == (wanted.section, wanted.kind, wanted.tala)
        assert (found.start_s, found.end_s) == pytest.approx((wanted.start_s, wanted.end_s), abs=half_s)
    tihais = {each.tihai: each for each in back.tihais}
    assert set(tihais) == {each.tihai for each in state.tihais}
    for wanted in state.tihais:
        found = tihais[wanted.tihai]
        assert (found.palla, found.label) == (wanted.palla, wanted.label)
        assert (found.palla_s[0], found.landing_s) == pytest.approx((wanted.palla_s[0], wanted.landing_s), abs=half_s)
    phrases = {each.phrase: each for each in back.phrases}
    assert set(phrases) == {each.phrase for each in state.phrases}
    for each in state.phrases:
        assert (phrases[each.phrase].swaras, phrases[each.phrase].role) == (each.swaras, each.role)
        assert phrases[each.phrase].end_s == pytest.approx(each.end_s, abs=half_s)
    assert brought_back(desk, text, name, slug).revision == state.revision  # nothing is doubled or made less


def test_the_sams_of_a_grid_come_back_from_its_table(desk: Desk) -> None:
    state, slug, again = filled(desk, [])
    text, number = table_csv(state, desk.archive.grid(slug), "grid")
    assert number == len(desk.archive.grid(slug).rows())
    sections, grid = desk.folder / "sections.csv", desk.folder / "grid.csv"
    sections.write_text(table_csv(state, desk.archive.grid(slug), "sections")[0], "utf-8")
    grid.write_text(text, "utf-8")
    load_tables(desk.archive, again, {"sections": sections, "sams": grid}, new_recording(desk.archive, again))
    assert [(each.sam_s, each.cycle) for each in desk.archive.state(again).marked_sams] == [
        (each.sam_s, each.cycle) for each in state.marked_sams
    ]


def test_a_fraction_that_no_float_holds_comes_back_exactly(desk: Desk) -> None:
    third = TihaiRecord(
        "t01", (18.0, 21.1, 24.2), 26.0, "teental", Fraction(7, 3), "S R:1/3", Fraction(22, 7), at=datetime.now(UTC)
    )
    state, slug, again = filled(desk, [third])
    back = brought_back(desk, jams(state, desk.archive.grid(slug)), "x.jams", again)
    assert (back.tihais[0].start, back.tihais[0].dam) == (Fraction(7, 3), Fraction(22, 7))
    assert back.tihais[0].who == "asha"
