"""Fields set from text, by the words in which they are shown."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from annotate.errors import BadAnnotation
from annotate.history.changes import RowChange
from annotate.history.fields import _READERS, with_fields
from annotate.history.words import beside, field_names, field_word, row_words, value_words
from annotate.records import MarkedSam, Recording, SourceFile
from tests.annotate.desk import phrase, tihai
from theory.errors import LayakoshError
from theory.tihai import LandingRule

CARD = Recording("evening", "Evening")


def test_each_field_is_read_as_it_is_written() -> None:
    assert with_fields(
        tihai(),
        {"starts": "0:18,0:21,0:24.5", "landing": "0:26.5", "dam": "1 1/2", "start": "-", "rule": "after"}
        | {"target": "9", "status": "confirmed", "label": " the long one ", "tala": "Jhaptal", "played-by": "tabla"},
    ) == replace(
        tihai(),
        palla_s=(18.0, 21.0, 24.5),
        landing_s=26.5,
        dam=Fraction(3, 2),
        start=None,
        rule=LandingRule.AFTER,
        target=Fraction(9),
        status="confirmed",
        label="the long one",
        tala="jhaptal",
        played_by="tabla",
    )
    assert with_fields(phrase(), {"from": "20.5", "to": "0:23", "swaras": "S R"}) == replace(
        phrase(), start_s=20.5, end_s=23.0, swaras="S R"
    )
    assert with_fields(
        CARD, {"on": "2026-02-14", "musicians": "mandolin: Asha, tabla: Devkant", "raga": "Desh", "venue": "Hall"}
    ) == replace(
        CARD,
        performed_on=date(2026, 2, 14),
        musicians=(("mandolin", "Asha"), ("tabla", "Devkant")),
        raga="desh",
        venue="Hall",
    )


@pytest.mark.parametrize("record", [tihai(label="x", kind="y", played_by="z"), phrase(), replace(CARD, venue="Hall")])
def test_what_is_shown_can_be_typed_back(record: object) -> None:
    names = _READERS[type(record)]  # type: ignore[index]
    told = {field_word(name): value_words(name, getattr(record, name)) for name in names}
    assert with_fields(record, told) == record  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"damm": "1"}, "no field 'damm' to set. Did you mean dam"),
        ({"who": "me"}, "no field 'who' to set. There are dam, kind"),
        ({"dam": "one"}, "not a count of matras"),
        ({"landing": ""}, "landing cannot be left empty"),
        ({"landing": "1:75"}, "below 60"),
        ({"status": "sure"}, "proposed or confirmed or rejected; 'sure' came"),
        ({"rule": "x"}, "within or after"),
        ({"tala": "teentaal-ish"}, "tala"),
    ],
)
def test_what_cannot_be_read_is_told(told: dict[str, str], says: str) -> None:
    with pytest.raises(LayakoshError, match=says):
        with_fields(tihai(), told)


def test_a_day_and_musicians_that_cannot_be_read_are_told() -> None:
    with pytest.raises(BadAnnotation, match=r"written as 2026-01-31; '14\.2\.2026' came"):
        with_fields(CARD, {"on": "14.2.2026"})
    with pytest.raises(BadAnnotation, match="Of 'Asha' it is not said what they play"):
        with_fields(CARD, {"musicians": "Asha"})


def test_a_row_in_words_leaves_its_empty_fields_out() -> None:
    assert row_words(phrase()) == "from 0:20; to 0:22; swaras R m P; role mukhra"
    assert row_words(MarkedSam("s01", "gat", 62.5)) == "section gat; at 1:02.5"
    assert row_words(None) == "withdrawn"


def test_values_are_written_as_a_musician_writes_them() -> None:
    files = (SourceFile("side a.wav", "whole", 0.0, "ab"),)
    assert value_words("dam", Fraction(3, 2)) == "1 1/2"
    assert value_words("files", files) == "side a.wav (whole)"
    assert value_words("sa_hz", 146.83) == "146.83"
    assert value_words("cycle", 3) == "3"
    assert value_words("rule", LandingRule.AFTER) == "after"


def test_a_rows_own_key_is_no_field_of_it() -> None:
    assert field_names(MarkedSam) == ["section", "sam_s", "cycle"]
    assert "slug" not in field_names(Recording)


def test_times_that_look_alike_are_told_to_the_last_digit() -> None:
    """A time is kept to the last bit and written to the millisecond."""
    versions = [MarkedSam("s01", "gat", 62.5), MarkedSam("s01", "gat", 62.5001)]
    assert RowChange("sams", "s01", *versions).field_sentences == ["at 62.5 -> 62.5001"]
    assert "at  62.5    62.5001" in beside(dict(zip(("theirs", "yours"), versions, strict=True)))


def test_versions_stand_side_by_side_where_they_differ() -> None:
    assert beside({"theirs": phrase(), "yours": replace(phrase(), role="tan")}).splitlines() == [
        "        theirs  yours",
        "  role  mukhra  tan",
    ]
    assert beside({"theirs": None, "yours": phrase()}).splitlines()[0] == "  theirs: withdrawn"
