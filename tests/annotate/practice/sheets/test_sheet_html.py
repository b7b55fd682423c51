from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.exchange.tab import Hand
from annotate.practice.errors import CannotPrint
from annotate.practice.pieces import Piece, pieces_named
from annotate.practice.sheets import SheetWishes, sheet_html
from tests.annotate.practice.sheets.pieces_made import tihai_piece
from tests.theory.strategies import matra_of, not_negative, passages, talas
from theory.errors import BadFretting, UnknownName
from theory.fretboard import Fretboard, parse_tuning
from theory.layout import Script
from theory.notation_print import to_text
from theory.tihai import LandingRule

MANDOLIN = Hand(Fretboard(parse_tuning("G,D,A,E")), 62)


class Text(HTMLParser):
    """The texts of a page, one after the other, without its style."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._in_style = False

    def handle_starttag(self, tag: str, _attrs: object) -> None:
        self._in_style = tag == "style"

    def handle_endtag(self, _tag: str) -> None:
        self._in_style = False

    def handle_data(self, data: str) -> None:
        if not self._in_style and data.strip():
            self.texts.append(data.strip())


def texts_of(page: str) -> list[str]:
    reader = Text()
    reader.feed(page)
    return reader.texts


def test_a_sheet_of_a_tihai_has_cycle_run_notation_sum_and_room_for_notes(desk: Archive) -> None:
    page = sheet_html(desk, pieces_named(desk, ["evening/t01"]), SheetWishes(script="typed"))
    texts = texts_of(page)
    headings = re.findall(r"<h3>(.+?)</h3>", page)
    assert headings == ["The cycle and the run", "Under the matras", "The sum", "Where schools differ", "Notes"]
    assert "Tihai t01" in texts
    assert "Damdar of 5 and 1" in texts
    assert "5 + 1 + 5 + 1 + 5 = 17 = 16 + 1" in texts
    assert "Palla 3: from matra 13 of cycle 1, 5 matras" in texts
    assert [each for each in texts if each in ("palla 1", "palla 2", "palla 3")] == ["palla 1", "palla 2", "palla 3"]
    assert "Your teacher’s way counts." in texts


def test_the_other_landing_rule_is_told_with_its_sum(desk: Archive) -> None:
    page = sheet_html(desk, pieces_named(desk, ["evening/t01"]), SheetWishes())
    assert "Counted within: the last stroke of each palla belongs to it" in page
    assert "4 + 2 + 4 + 2 + 4 = 16, then sam: 16 + 1 = 17" in page


def test_a_tihai_that_misses_on_paper_is_told_what_would_make_it_land(desk: Archive) -> None:
    piece = tihai_piece(desk, "S R G m P", Fraction(1, 2))
    page = sheet_html(desk, [piece], SheetWishes())
    assert "The smallest changes with which it lands" in page


def test_a_sheet_needs_nothing_from_outside_no_script_and_no_style_in_an_attribute(desk: Archive) -> None:
    pieces = pieces_named(desk, ["evening/t01,t02,p01"])
    page = sheet_html(desk, pieces, SheetWishes("devanagari", hand=MANDOLIN, played=True, raga="desh"))
    addresses = re.findall(r"url\((.+?)\)", page) + re.findall(r"(?:src|href)=\"(.+?)\"", page)
    assert addresses
    assert all(each.strip('"').startswith("data:font/woff;base64,") for each in addresses)
    assert "<script" not in page
    assert not re.search(r"<[^>]+\sstyle=", page)
    assert "http" not in re.sub(r"data:font/woff;base64,[\w+/=]+", "", page)


def test_devanagari_is_embedded_only_where_it_is_written(desk: Archive) -> None:
    pieces = pieces_named(desk, ["evening/t01"])
    assert "Sheet Devanagari" in re.findall(r"@font-face.*?\}", sheet_html(desk, pieces, SheetWishes("devanagari")))[-1]
    assert len(re.findall("@font-face", sheet_html(desk, pieces, SheetWishes("latin")))) == 3


def test_the_footer_says_whose_performance_it_is_and_cannot_leave_its_quotes(desk: Archive) -> None:
    (piece,) = pieces_named(desk, ["evening/t01"])
    recording = replace(
        piece.recording,
        musicians=(("sitar", 'Asha "A." Rao'), ("surbahar", 'Asha "A." Rao'), ("tabla", "B. Sen\\")),
        venue="</style><b>Old Hall",
    )
    page = sheet_html(desk, [replace(piece, recording=recording)], SheetWishes())
    assert "Asha &#34;A.&#34; Rao (sitar, surbahar), B. Sen\\ (tabla), &lt;/style&gt;&lt;b&gt;Old Hall" in page
    content = re.search(r"@bottom-left \{ content: \"(.*?)\"; ", page)
    assert content is not None
    decoded = re.sub(r"\\([0-9a-f]+) ", lambda found: chr(int(found[1], 16)), content[1])
    assert decoded == 'Asha "A." Rao (sitar, surbahar), B. Sen\\ (tabla), </style><b>Old Hall'
    assert page.count("</style>") == 1


def test_frets_are_shown_on_the_neck_and_under_the_matras_for_the_tuning(desk: Archive) -> None:
    page = sheet_html(desk, pieces_named(desk, ["evening/t01"]), SheetWishes("typed", hand=MANDOLIN))
    texts = texts_of(page)
    assert "On the neck" in texts
    assert "Strings G3, D4, A4, E5, the first one lowest in the figure; Sa is D4." in texts
    # S R G m P from Sa on the open D string: frets 0 2 4 5, then the open A string, in each palla
    tab = texts[texts.index("Under the matras") : texts.index("The sum")]
    frets = [each for each in tab if each in ("S", "R", "G", "m", "P") or re.fullmatch(r"\d", each)]
    assert " ".join(frets).count("S 0") == 3
    assert " ".join(frets).count("P 0") == 3
    assert " ".join(frets).count("m 5") == 3


def test_bols_have_no_frets_and_need_none(desk: Archive) -> None:
    page = sheet_html(desk, pieces_named(desk, ["evening/t02"]), SheetWishes(hand=MANDOLIN))
    assert "On the neck" not in page


def test_a_swara_that_lies_on_no_string_is_told_with_its_piece(desk: Archive) -> None:
    low = Hand(Fretboard(parse_tuning("G,D,A,E"), frets=5), 50)
    with pytest.raises(BadFretting, match=r"^evening/t01: S \(D3\) lies on none of the strings"):
        sheet_html(desk, pieces_named(desk, ["evening/t01"]), SheetWishes(hand=low))


def test_phrases_of_a_performance_follow_each_other_and_tihais_begin_a_page(desk: Archive) -> None:
    page = sheet_html(desk, pieces_named(desk, ["evening/t01,t02,p01,p03,p02"]), SheetWishes())
    classes = re.findall(r'<article class="(.+?)">', page)
    assert [each.split()[-1] == "breaks" for each in classes] == [False, True, True, False, False]
    assert page.count("<h3>Notes</h3>") == 3
    assert page.count("<h3>The cycle</h3>") == 1, "drawn once for phrases in the same tala"
    assert "<h3>The notes</h3>" in page, "a phrase outside any tala has no matras"


def test_a_raga_comes_with_ways_one_way_swaras_rules_and_phrases(desk: Archive) -> None:
    page = sheet_html(desk, [], SheetWishes("typed", raga="desh", hand=MANDOLIN))
    texts = texts_of(page)
    assert "Raga Desh" in texts
    assert "Leaves out going up: Ga, Dha." in texts
    assert (
        "Swaras of one direction, shaded, with a triangle that shows which: only going up: N (Ni); "
        "only going down: G (Ga), D (Dha), n (komal Ni)." in texts
    )
    assert re.search(r'aria-label="Ascent: \.N S R m P N S&#x27;"', page)


def test_how_it_was_played_is_told_only_when_asked(desk: Archive) -> None:
    pieces = pieces_named(desk, ["evening/t02,p01"])
    assert "How it was played" not in sheet_html(desk, pieces, SheetWishes())
    page = sheet_html(desk, pieces, SheetWishes(played=True))
    assert "How it was played" in page
    assert "played minus paper, in ms (late is to the right)" in texts_of(page)
    assert "It begins 0 ms" not in page
    assert "It begins in time." in page


def test_nothing_to_print_and_an_unknown_raga_are_told(desk: Archive) -> None:
    with pytest.raises(CannotPrint, match="A sheet of what"):
        sheet_html(desk, [], SheetWishes())
    with pytest.raises(UnknownName, match="Did you mean Desh"):
        sheet_html(desk, [], SheetWishes(raga="deshh"))


@settings(max_examples=40)
@given(data=st.data())
def test_any_palla_that_parses_gives_a_sheet_on_which_all_its_words_stand_within_the_width(
    desk: Archive, data: st.DataObject
) -> None:
    palla, tala = data.draw(passages(least_notes=1)), data.draw(talas)
    piece: Piece = tihai_piece(
        desk,
        to_text(palla),
        data.draw(not_negative) / 2,
        tala=tala.key,
        start=data.draw(matra_of(tala)),
        target=data.draw(matra_of(tala)),
        rule=data.draw(st.sampled_from(LandingRule)),
    )
    script: Script = data.draw(st.sampled_from(("typed", "latin", "devanagari")))
    page = sheet_html(desk, [piece], SheetWishes(script))
    notation = texts_of(page[page.index("Under the matras") : page.index("<h3>The sum")])
    assert sum(each in _spelled(piece, script) for each in notation) >= len(piece.passage.notes)
    for left, width in re.findall(r"\{left:(-?[\d.]+)pt;width:([\d.]+)pt\}", page):
        assert float(left) > -8, "the margin is wider than what a box is larger than its text"
        assert float(left) + float(width) < 500


def _spelled(piece: Piece, script: Script) -> set[str]:
    from theory.bhatkhande import spelled

    return set((piece.passage if script == "typed" else spelled(piece.passage, script)).symbols)


def test_a_tihai_outside_any_tala_has_its_notation_and_its_sum_alone(desk: Archive) -> None:
    (piece,) = pieces_named(desk, ["evening/t01"])
    assert piece.tihai is not None
    page = sheet_html(desk, [replace(piece, tala=None, tihai=replace(piece.tihai, tala=""))], SheetWishes(played=True))
    assert "The cycle and the run" not in page
    assert "5 + 1 + 5 + 1 + 5 = 17" in texts_of(page)
    assert "palla 3" in texts_of(page)


def test_a_long_credit_is_whole_above_the_piece_and_short_at_the_foot(desk: Archive) -> None:
    (piece,) = pieces_named(desk, ["evening/t01"])
    many = tuple(("tanpura", f"Musician {number}") for number in range(40))
    page = sheet_html(desk, [replace(piece, recording=replace(piece.recording, musicians=many))], SheetWishes())
    assert "Musician 39 (tanpura)" in page
    content = re.search(r"@bottom-left \{ content: \"(.*?)\"; ", page)
    assert content is not None
    assert len(re.sub(r"\\[0-9a-f]+ ", "x", content[1])) <= 220
