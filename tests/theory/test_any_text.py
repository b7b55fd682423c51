"""Whatever is typed, a reader answers with a result or with an error in words, and never crashes."""

from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from theory.bhatkhande import to_bhatkhande
from theory.bols import split_bols
from theory.clock import parse_clock
from theory.errors import LayakoshError
from theory.laya import layas_named
from theory.layout import lay_out, to_html, to_terminal
from theory.notation import parse
from theory.notation_print import to_text
from theory.numbers import parse_matras
from theory.raga_check import check_phrase
from theory.ragas import get_raga
from theory.swaras import semitones_of
from theory.talas import get_tala

NEARLY_NOTATION = st.text(alphabet="SrRgGmMPdDnN.'-_|:/,0123456789 DhaTiKe\n\t’", max_size=30)
READERS = (parse_matras, parse_clock, get_tala, get_raga, semitones_of, split_bols, layas_named, parse)


@pytest.mark.parametrize("read", READERS, ids=lambda read: read.__name__)
@given(text=st.one_of(st.text(max_size=20), NEARLY_NOTATION))
def test_any_text_is_read_or_refused_in_words(read, text):
    with suppress(LayakoshError):
        read(text)


@given(NEARLY_NOTATION)
def test_whatever_parses_is_written_back_to_the_same_passage(text):
    try:
        passage = parse(text)
    except LayakoshError:
        return
    assert parse(to_text(passage)) == passage
    assert isinstance(to_bhatkhande(passage), str)


@given(NEARLY_NOTATION, st.sampled_from(("hamir", "jhinjhoti", "pilu")))
def test_any_phrase_is_held_against_a_raga_or_refused_in_words(text, raga):
    with suppress(LayakoshError):
        assert all(breach.sentence for breach in check_phrase(get_raga(raga), text))


@given(NEARLY_NOTATION, st.sampled_from(("typed", "latin", "devanagari")))
def test_whatever_parses_can_be_laid_out(text, script):
    with suppress(LayakoshError):
        layout = lay_out(parse(text), get_tala("rupak"), Fraction(7, 2), script)
        assert to_terminal(layout)
        assert to_html(layout)


@given(NEARLY_NOTATION, st.integers(1, 16))
def test_bars_checked_against_a_tala_never_crash(text, start):
    try:
        passage = parse(text, get_tala("teental"), Fraction(start))
    except LayakoshError:
        return
    assert passage == parse(text)
