"""The figures of a sheet: what stands where."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from annotate.practice.sheets.cycle import MOST_ROWS, RIGHT, Bar, Run, cycle_drawing, run_drawings
from annotate.practice.sheets.drawing import Drawing, Places
from annotate.practice.sheets.neck import neck_drawing, places_on_neck
from annotate.practice.sheets.raga_page import raga_page
from annotate.practice.sheets.sheet import WIDTH
from annotate.practice.sheets.systems import Span, Written, systems
from annotate.practice.sheets.wishes import SheetWishes
from annotate.practice.sheets.written import signs_of
from theory.fingering import spread, swaras_of
from theory.fretboard import Fretboard, parse_tuning
from theory.notation import parse
from theory.ragas import Raga, all_ragas
from theory.talas import Tala, all_talas, get_tala


def texts_at(places: Places, drawing: Drawing) -> list[tuple[str, float, float]]:
    """Return every text of a drawing with the middle of its box and its upper edge, in points."""
    rules = {name: rule for rule, name in places.rules.items()}
    found = []
    for classes, written in re.findall(r'<span class="([^"]+)"[^>]*>(.*?)</span>', drawing.html):
        said = ";".join(rules.get(each, "") for each in classes.split())
        left, width = float(re.findall(r"left:([-\d.]+)pt", said)[0]), float(re.findall(r"width:([\d.]+)pt", said)[0])
        found.append((written, left + width / 2, float(re.findall(r"top:([-\d.]+)pt", said)[0])))
    return found


def place_of(places: Places, drawing: Drawing, text: str) -> float:
    return next(middle for written, middle, _ in texts_at(places, drawing) if written == text)


def test_signs_have_the_places_of_the_notes_and_say_what_is_held_or_silent() -> None:
    signs = signs_of(parse("S-Rg _ P:1/2"), Fraction(1), "typed")
    assert [(str(sign.place), str(sign.length), sign.written, sign.kind) for sign in signs] == [
        ("0", "1/4", "S", "note"),
        ("1/4", "1/4", "–", "held"),
        ("1/2", "1/4", "R", "note"),
        ("3/4", "1/4", "g", "note"),
        ("1", "1", "·", "silent"),
        ("2", "1/2", "P", "note"),
    ]
    later = signs_of(parse("S R"), Fraction(5, 2), "typed")
    assert [(str(sign.place), sign.written) for sign in later if sign.kind == "note"] == [("3/2", "S"), ("5/2", "R")]
    assert all(sign.place >= Fraction(3, 2) for sign in later), "before it begins nothing is printed"


def test_a_note_stands_under_the_number_of_its_matra() -> None:
    places = Places()
    (drawing,) = systems(Written(parse("S R G m"), get_tala("teental"), Fraction(5), "typed"), places, WIDTH)
    for swara, matra in zip("SRGm", "5678", strict=True):
        assert place_of(places, drawing, swara) == pytest.approx(place_of(places, drawing, matra), rel=0, abs=0.02)


def test_a_landing_on_sam_closes_the_row_before_it() -> None:
    places, palla = Places(), parse("S R G m P _ S R G m P _ S R G m N")
    closed = systems(Written(palla, get_tala("teental"), Fraction(1), "typed", lands=Fraction(16)), places, WIDTH)
    assert len(closed) == 1
    assert place_of(places, closed[0], "N") > place_of(places, closed[0], "16")
    going_on = parse("S R G m P _ S R G m P _ S R G m N P")
    assert len(systems(Written(going_on, get_tala("teental"), Fraction(1), "typed"), places, WIDTH)) == 2


def test_an_avartan_is_broken_between_vibhags_when_its_bols_need_room_and_empty_lines_are_left_out() -> None:
    places = Places()
    passage = parse("TiRaKiTaTiRaKiTa " * 6)
    (drawing,) = systems(Written(passage, get_tala("teental"), Fraction(9), "latin"), places, WIDTH)
    numbers = [written for written, _, _ in texts_at(places, drawing) if written.isdecimal() and int(written) > 3]
    assert "9" in numbers
    assert "8" not in numbers, "nothing is written on the lines before matra 9"


def test_brackets_over_pallas_begin_and_end_with_them() -> None:
    places = Places()
    spans = (Span(Fraction(0), Fraction(4), "palla 1"), Span(Fraction(4), Fraction(8), "palla 2"))
    written = Written(parse("S R G m S R G m"), get_tala("teental"), Fraction(1), "typed", spans)
    (drawing,) = systems(written, places, WIDTH)
    lines = [
        tuple(map(float, each)) for each in re.findall(r'<line x1="([\d.]+)" y1="9" x2="([\d.]+)" y2="9"', drawing.html)
    ]
    first, second = sorted(lines)
    assert first[1] < second[0] < first[1] + 4
    middle = place_of(places, drawing, "5") - place_of(places, drawing, "4")
    assert first[1] - first[0] == pytest.approx(4 * middle - 3, rel=0, abs=0.1)


@pytest.mark.parametrize("tala", all_talas(), ids=lambda tala: tala.key)
def test_every_tala_is_drawn_with_each_mark_over_its_matra(tala: Tala) -> None:
    places = Places()
    drawing = cycle_drawing(tala, "devanagari", places, WIDTH)
    written = texts_at(places, drawing)
    first = written[0][2]
    marks = [(text, round(middle, 1)) for text, middle, top in written if top == first]
    numbers = {text: round(middle, 1) for text, middle, top in written if top > first and text.isdecimal()}
    assert marks[:-1] == [(mark.label, numbers[str(mark.matra)]) for mark in tala.marks]
    assert marks[-1] == (tala.marks[0].label, WIDTH - RIGHT), "and sam again at the end"


def test_a_run_is_drawn_from_row_to_row_and_a_long_one_in_several_figures() -> None:
    places, tala = Places(), get_tala("jhaptal")
    bar = Bar(Fraction(8), Fraction(14), (Fraction(8), Fraction(10)), "1")
    (drawing,) = run_drawings(tala, Run((bar,), Fraction(13)), places, WIDTH)
    assert len(re.findall(r"<rect ", drawing.html)) == 2, "a bar in either row"
    assert "lands on matra 4" in drawing.said
    far = Fraction(10 * (MOST_ROWS + 3))
    assert len(run_drawings(tala, Run((bar,), far), places, WIDTH)) == 2


def test_the_neck_has_each_swara_of_a_phrase_at_its_fret() -> None:
    places, board = Places(), Fretboard(parse_tuning("G,D,A,E"))
    found = spread(board, 62, swaras_of(parse("S R G P"))).places
    drawing = neck_drawing(board, found, "devanagari", places, WIDTH)
    for place, written in zip(found, ("सा", "रे", "ग", "प"), strict=True):
        if place.fret:
            at = place_of(places, drawing, written)
            assert at == pytest.approx(place_of(places, drawing, str(place.fret)), rel=0, abs=0.02)
    assert place_of(places, drawing, "सा") < place_of(places, drawing, "1"), "an open string lies before the nut"


def test_every_place_of_a_scale_is_found_on_the_neck_in_its_octave() -> None:
    board = Fretboard(parse_tuning("D3"), frets=12)
    found = {(place.swara, place.fret) for place in places_on_neck(board, 62, ("S", "G", "P"))}
    assert found == {(".S", 0), (".G", 4), (".P", 7), ("S", 12)}


@pytest.mark.parametrize("raga", all_ragas(), ids=lambda raga: raga.key)
def test_the_sheet_of_every_raga_can_be_made_and_does_not_contradict_itself(raga: Raga) -> None:
    page = raga_page(raga.key, SheetWishes("typed"), Places(), WIDTH)
    assert page.up.width <= WIDTH / 2
    for letter in raga.descent_only:
        told = next((rule for rule in page.rules if rule.startswith("Leaves out going down")), "")
        assert f" {letter.upper()}" not in told
