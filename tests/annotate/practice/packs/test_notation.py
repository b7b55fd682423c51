"""The notation on a pack's page: one cell a matra, folded at sam, each in its part of the tihai."""

from __future__ import annotations

from fractions import Fraction

from annotate.archive import Archive
from annotate.exchange.score import of_phrase, of_tihai
from annotate.practice.packs.notation import MATRAS_A_ROW, Shown, shown
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.tihai import LandingRule


def written(notation: Shown) -> list[str]:
    return [" ".join("".join(sign.written for sign in word) for word in cell.words) for cell in notation.cells]


def test_a_tihai_is_folded_at_sam_and_every_matra_has_its_part(archive: Archive) -> None:
    notation = shown(of_tihai(tihai(), archive.grid(SLUG), "Evening"), "typed")
    assert [len(row) for row in notation.avartans] == [4, 4]
    assert written(notation)[:18] == [*"SRGmP", "_", *"SRGmP", "_", *"SRGm", "P", ""]
    assert [cell.part for cell in notation.cells[:17]] == [
        *["palla 1"] * 5, "dam", *["palla 2"] * 5, "dam", *["palla 3"] * 5,
    ]  # fmt: skip
    assert [cell.matra for cell in notation.cells if cell.lands] == [1]
    assert [cell.place for cell in notation.cells if cell.opens] == [0, 6, 12]


def test_places_are_counted_from_the_beginning_of_the_piece(archive: Archive) -> None:
    record = tihai(palla="S R:1/2", dam=Fraction(0), start=Fraction(31, 2))
    notation = shown(of_tihai(record, archive.grid(SLUG), "Evening"), "typed")
    assert notation.cells[0].place == Fraction(-29, 2)
    assert [cell.place for cell in notation.cells if cell.lands] == [Fraction(7, 2)]
    assert notation.cells[18].place == Fraction(7, 2)  # matra 3 of the second avartan: 15 1/2 + 4 = 19 1/2 = 16 + 3 1/2


def test_the_landing_after_a_tihai_has_a_cell_though_nothing_is_written_in_it(archive: Archive) -> None:
    record = tihai(palla="S R G m", dam=Fraction(2), rule=LandingRule.AFTER)
    notation = shown(of_tihai(record, archive.grid(SLUG), "Evening"), "typed")
    (lands,) = (cell for cell in notation.cells if cell.lands)
    assert (lands.place, lands.matra, lands.part) == (16, 1, "")


def test_a_phrase_outside_any_tala_stands_in_rows_without_signs(archive: Archive) -> None:
    swaras = "S R G m P D n S' n D"
    notation = shown(of_phrase(phrase(start_s=2.0, end_s=8.0, swaras=swaras), archive.grid(SLUG), "Evening"), "typed")
    assert len(notation.cells) == 2 * MATRAS_A_ROW
    assert {vibhag.sign for row in notation.avartans for vibhag in row} == {""}
    assert not any(cell.part or cell.lands for cell in notation.cells)


def test_devanagari_says_its_language(archive: Archive) -> None:
    score = of_phrase(phrase(start_s=at(2, 1), end_s=at(2, 4)), archive.grid(SLUG), "Evening")
    assert shown(score, "devanagari").language == "hi"
    assert written(shown(score, "devanagari"))[0] == "रे"
    assert shown(score, "latin").language == ""
