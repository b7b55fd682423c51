"""Who played what, in the ways in which people type it: understood whole, or refused with an example."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotate.errors import BadAnnotation
from annotate.history.words import musicians_words
from annotate.musicians import read_musicians

ASHA, SEN = ("sitar", "Asha Rao"), ("tabla", "B. Sen")


@pytest.mark.parametrize(
    "text",
    [
        "sitar: Asha Rao, tabla: B. Sen",
        "Asha Rao: sitar, B. Sen (tabla)",
        "Asha Rao (sitar), B. Sen: tabla",
        "Asha Rao (sitar); B. Sen (tabla)",
        "sitar: Asha Rao\ntabla: B. Sen\n",
        "sitar:Asha Rao,tabla:B. Sen,",
        "Asha Rao - sitar, tabla - B. Sen",
        "Asha Rao \u2013 sitar; tabla \u2014 B. Sen",
        "sitar (Asha Rao), tabla (B. Sen)",
    ],
)
def test_the_instrument_may_come_before_the_name_or_after_it(text: str) -> None:
    assert read_musicians(text) == (ASHA, SEN)


@pytest.mark.parametrize(
    ("text", "understood"),
    [
        ("", ()),
        (" , , ", ()),
        ("Asha Rao (sitar, surbahar)", (ASHA, ("surbahar", "Asha Rao"))),
        ("Asha Rao (sitar and surbahar), tabla: B. Sen", (ASHA, ("surbahar", "Asha Rao"), SEN)),
        ("Sen, B.: tabla; Rao, Asha (sitar)", (("tabla", "Sen, B."), ("sitar", "Rao, Asha"))),
        ("tabla: B. Sen (senior)", (("tabla", "B. Sen (senior)"),)),
        ("Veena Rao: sitar", (("sitar", "Veena Rao"),)),
        ("slide guitar: Asha-Lata Rao", (("slide guitar", "Asha-Lata Rao"),)),
        ("nail violin of mine: Asha", (("nail violin of mine", "Asha"),)),  # not known: then it comes before the colon
        ("Asha Rao (an instrument of mine)", (("an instrument of mine", "Asha Rao"),)),
    ],
)
def test_what_is_typed_is_understood_whole(text: str, understood: object) -> None:
    assert read_musicians(text) == understood


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("Asha Rao", "Of 'Asha Rao' it is not said what they play"),
        ("sitar: Asha Rao, B. Sen", "Of 'B. Sen' it is not said"),
        ("tabla: Sen, B.", "Of 'B.' it is not said"),
        ("sitar: Asha Rao: Delhi", "In 'sitar: Asha Rao: Delhi' it cannot be told"),
        ("sitar:", "In 'sitar:' it cannot be told"),
        (": Asha", "In ': Asha' it cannot be told"),
        ("sitar: tabla", "both are instruments"),
        ("Asha Rao (sitar", "a bracket is open"),
        ("Asha Rao ()", "Of 'Asha Rao ()' it is not said"),
        ("(sitar)", "Of '(sitar)' it is not said"),
        ("Asha Rao (sitar,)", "something is missing within the brackets"),
        ("Asha (sitar) Rao (tabla)", "it is not said"),
    ],
)
def test_what_cannot_be_told_is_refused_with_the_place_and_an_example(text: str, place: str) -> None:
    with pytest.raises(BadAnnotation) as refused:
        read_musicians(text)
    assert place in str(refused.value)
    assert "'sitar: Asha Rao, tabla: B. Sen'" in str(refused.value)


NAMES = st.text(st.sampled_from("ABcdé .,'"), min_size=1, max_size=12).map(str.strip).filter(bool)
PLAYED = st.sampled_from(["sitar", "tabla", "slide guitar", "voice", "an own thing"])


@given(st.lists(st.tuples(PLAYED, NAMES), max_size=4).map(tuple))
def test_what_is_written_back_is_read_as_it_was(musicians: tuple[tuple[str, str], ...]) -> None:
    assert read_musicians(musicians_words(musicians)) == musicians


@given(st.text(st.sampled_from("aB c:,;()-\n"), max_size=30))
def test_whatever_is_typed_no_letter_is_lost(text: str) -> None:
    try:
        told = read_musicians(text)
    except BadAnnotation:
        return
    letters = sorted(character for pair in set(told) for part in pair for character in part if character.isalpha())
    assert set(letters) == {character for character in text if character.isalpha()}
