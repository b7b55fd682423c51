"""Sheets as PDF are looked at as a printer would: size, margins, text in order, what is cut.

A4 and Letter in points: ISO 216 and ANSI/ASME Y14.1, 1 mm = 72/25.4 pt.
"""

from __future__ import annotations

import io
import re
import sys
import unicodedata
from fractions import Fraction

import numpy as np
import pypdf
import pypdfium2
import pytest
from PIL import Image, ImageDraw, ImageFont, features

from annotate.archive import Archive
from annotate.exchange.tab import Hand
from annotate.practice.errors import CannotPrint
from annotate.practice.pieces import Piece, pieces_named
from annotate.practice.sheets import PaperSize, SheetWishes, sheet_html, sheet_pdf
from annotate.practice.sheets.fonts import font_data, is_devanagari
from annotate.practice.sheets.pdf import html_as_pdf
from tests import needs
from tests.annotate.practice.sheets.pieces_made import tihai_piece
from tests.annotate.practice.sheets.test_sheet_html import texts_of
from theory.fretboard import Fretboard, parse_tuning

MANDOLIN = Hand(Fretboard(parse_tuning("G,D,A,E")), 62)
SIZES = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
LONG = " ".join(["RmPN S'nDP mGRS"] * 12)


@pytest.fixture(scope="module")
def a_set(desk: Archive) -> dict[PaperSize, bytes]:
    """A raga, tihais in swaras and bols, a phrase, on A4 also a long tihai, with tab."""
    pieces = [*pieces_named(desk, ["evening/t01,t02,p03"])]
    sets: dict[PaperSize, list[Piece]] = {
        "a4": [*pieces[:2], tihai_piece(desk, LONG, Fraction(3, 2)), pieces[2]],
        "letter": pieces,
    }
    return {
        paper: sheet_pdf(desk, these, SheetWishes("latin", paper, MANDOLIN, played=True, raga="desh"))
        for paper, these in sets.items()
    }


@pytest.fixture(scope="module")
def in_devanagari(desk: Archive) -> tuple[str, bytes]:
    pieces = [*pieces_named(desk, ["evening/t02,p03"]), tihai_piece(desk, "rgm MdN' .n..D S'' KatTrKa"[:15], 1)]
    wishes = SheetWishes("devanagari", raga="todi")
    return sheet_html(desk, pieces, wishes), sheet_pdf(desk, pieces, wishes)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_have_the_size_of_the_paper(a_set: dict[PaperSize, bytes], paper: PaperSize) -> None:
    pages = pypdf.PdfReader(io.BytesIO(a_set[paper])).pages
    assert len(pages) > 4
    for page in pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(SIZES[paper], rel=0, abs=0.1)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_printed_in_the_margins(a_set: dict[PaperSize, bytes], paper: PaperSize) -> None:
    margin_mm = 14  # 16 above and below, 18 beside; a sign may lean over its box
    for number, page in enumerate(pypdfium2.PdfDocument(a_set[paper]), 1):
        scale = 2.0
        image = np.asarray(page.render(scale=scale, grayscale=True).to_numpy()).squeeze()
        edge = round(margin_mm / 25.4 * 72 * scale)
        below = round(9 / 25.4 * 72 * scale)  # the footer stands in the lower margin
        assert image[:edge].min() == 255, f"above, page {number}"
        assert image[-below:].min() == 255, f"below, page {number}"
        assert image[:, :edge].min() == 255, f"left, page {number}"
        assert image[:, -edge:].min() == 255, f"right, page {number}"


def test_every_page_says_which_it_is_of_how_many_and_whose_performance_it_holds(a_set: dict[PaperSize, bytes]) -> None:
    pages = pypdf.PdfReader(io.BytesIO(a_set["a4"])).pages
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page.extract_text()
    assert "From Layakosh's table of ragas" in pages[0].extract_text()
    assert "Evening" in pages[-1].extract_text()


def test_a_long_tihai_goes_on_over_the_page_with_its_heading_again(a_set: dict[PaperSize, bytes]) -> None:
    texts = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(a_set["a4"])).pages]
    assert sum("Under the matras" in text for text in texts) >= 5


def test_text_stands_in_the_pdf_in_the_order_of_reading(a_set: dict[PaperSize, bytes]) -> None:
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(a_set["a4"])).pages)
    words = ["Raga Desh", "The way up and the way down", "Tihai t01", "palla 1", "palla 2", "The sum", "16 + 1"]
    places = [text.find(word) for word in words]
    assert all(place >= 0 for place in places)
    assert places == sorted(places)


def test_devanagari_can_be_read_out_of_the_pdf_in_logical_order(in_devanagari: tuple[str, bytes]) -> None:
    page, pdf = in_devanagari
    written = {each for each in texts_of(page) if is_devanagari(each) and " " not in each}
    text = unicodedata.normalize("NFC", "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(pdf)).pages))
    assert {"नि", "ति", "कि", "धिं"} <= written
    missing = {each for each in written if unicodedata.normalize("NFC", each) not in text}
    assert not missing


def test_the_pdf_carries_its_fonts(in_devanagari: tuple[str, bytes]) -> None:
    fonts = {}
    for page in pypdf.PdfReader(io.BytesIO(in_devanagari[1])).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index, union-attr]
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            fonts[re.sub(r"^/[A-Z]+\+", "", font.get_object()["/BaseFont"])] = descendant["/FontDescriptor"]
    assert all("/FontFile2" in each.get_object() or "/FontFile3" in each.get_object() for each in fonts.values())
    assert len(fonts) == 4, fonts


def test_without_what_makes_pdf_it_is_said_what_to_install(desk: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(CannotPrint, match=r"pip install 'layakosh\[sheets\]'.*A sheet as HTML needs neither"):
        sheet_pdf(desk, pieces_named(desk, ["evening/t01"]), SheetWishes())


def test_without_its_c_library_it_is_said_what_to_install(desk: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    class NoPango:
        """Looks for the library as it is imported, and does not find it."""

        def find_spec(self, name: str, _path: object = None, _target: object = None) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
    with pytest.raises(CannotPrint, match=r"apt-get install libpangoft2-1\.0-0"):
        sheet_pdf(desk, pieces_named(desk, ["evening/t01"]), SheetWishes())


@pytest.mark.parametrize("text", ["कि", "त्र", "धिं", "क्रि", "तिरकिट"])
def test_devanagari_looks_in_the_pdf_as_the_published_font_set_by_harfbuzz(text: str) -> None:
    """The reference is drawn by Pillow, whose layout engine Raqm shapes with HarfBuzz; both are cut to their ink."""
    size_px = 200
    face = f'@font-face {{ font-family: D; src: url("{font_data("devanagari")}") }}'
    page = f"<style>{face} p {{ font: {size_px}px D; margin: 0 }}</style><p lang=hi>{text}</p>"
    (drawn,) = pypdfium2.PdfDocument(html_as_pdf(f"<!DOCTYPE html><title>-</title>{page}"))
    ours = _ink(np.asarray(drawn.render(scale=96 / 72, grayscale=True).to_numpy()).squeeze())
    assert features.check("raqm")
    font = ImageFont.truetype(needs.noto_devanagari(), size_px, layout_engine=ImageFont.Layout.RAQM)
    image = Image.new("L", (1200, 500), 255)
    ImageDraw.Draw(image).text((100, 100), text, font=font, fill=0, language="hi")
    reference = _ink(np.asarray(image))
    assert np.abs(np.subtract(ours.shape, reference.shape)).max() <= 3  # pixels of 200 to the em
    high, wide = np.minimum(ours.shape, reference.shape)
    ours, reference = ours[:high, :wide], reference[:high, :wide]
    assert (ours & reference).sum() / (ours | reference).sum() > 0.93  # a pixel along each edge may differ


def _ink(grey: np.ndarray) -> np.ndarray:
    """Return where there is ink, cut to it."""
    dark = grey < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def test_lines_for_notes_go_on_to_the_end_of_the_page_and_no_further(desk: Archive) -> None:
    pdf = sheet_pdf(desk, [], SheetWishes(raga="bageshri"))
    (page,) = pypdfium2.PdfDocument(pdf)
    image = np.asarray(page.render(scale=2, grayscale=True).to_numpy()).squeeze()
    rules = np.flatnonzero((image < 255).mean(axis=1) > 0.8)
    last_mm = rules[-1] / 2 * 25.4 / 72
    assert 297 - 21 - 12 < last_mm <= 297 - 21 + 0.5, "the page's foot is 21 mm high, a line 8.4"
