"""A sheet held against outside references: the HTML standard, and the shapes of Devanagari as HarfBuzz sets them.

html-validate (MIT licence) and the reference fonts (Debian's fonts-noto-core) are used by these tests alone.
"""

from __future__ import annotations

import io
import json
import subprocess
from pathlib import Path
from typing import Any

import pytest
import uharfbuzz as hb
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

from annotate.archive import Archive
from annotate.exchange.tab import Hand
from annotate.practice.pieces import pieces_named
from annotate.practice.sheets import SheetWishes, sheet_html
from annotate.practice.sheets.fonts import ascent_and_descent, width_of
from tests import needs
from tests.annotate.practice.make_fonts import HERE as FONTS
from tests.annotate.practice.make_fonts import syllables
from theory.bols import all_bols
from theory.fretboard import Fretboard, parse_tuning

MANDOLIN = Hand(Fretboard(parse_tuning("G,D,A,E")), 62)
TEXTS = (
    "कि",
    "त्र",
    "क्रि",
    "धिं",
    "तिरकिट",
    "नि",
    "सा",
    "विलम्बित",
    "श्री",
    "र्य",
    "द्ध",
    "ड़",
    "कुँवर",
    "कीर्ति",
    "र्ते",
    "हिं॑",
    "ति॒",
)


class Shaper:
    """A font and what HarfBuzz makes of a text in it."""

    def __init__(self, path: Path) -> None:
        self.font = TTFont(path)
        self.font.flavor = None
        saved = io.BytesIO()
        self.font.save(saved)
        self._engine = hb.Font(hb.Face(saved.getvalue()))

    def shaped(self, text: str, *, kern: bool = True) -> list[tuple[str, int, int, int]]:
        """Return glyph, advance and offset of everything in a text."""
        buffer = hb.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        hb.shape(self._engine, buffer, {"kern": kern})
        order = self.font.getGlyphOrder()
        pairs = zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
        return [(order[info.codepoint], at.x_advance, at.x_offset, at.y_offset) for info, at in pairs]

    def drawn(self, text: str) -> list[Any]:
        """Return every line and curve of a text in its place, in units of the font; glyphs in no order."""
        pen = DecomposingRecordingPen({})
        self._play(text, pen)
        contours: list[list[Any]] = []
        for step, points in pen.value:
            if step == "moveTo":
                contours.append([])
            contours[-1].append((step, tuple(points)))
        return sorted(contours, key=repr)

    def bounds(self, text: str) -> tuple[float, float, float, float]:
        """Return left, lower, right and upper edge of a text."""
        pen = BoundsPen({})
        self._play(text, pen)
        assert pen.bounds is not None
        left, low, right, high = pen.bounds
        return left, low, right, high

    def _play(self, text: str, pen: Any) -> None:
        glyphs, x = self.font.getGlyphSet(), 0
        for name, advance, right, up in self.shaped(text):
            outline = DecomposingRecordingPen(glyphs)
            glyphs[name].draw(outline)
            outline.replay(TransformPen(pen, (1, 0, 0, 1, x + right, up)))
            x += advance


@pytest.fixture(scope="module")
def devanagari() -> Shaper:
    return Shaper(FONTS / "NotoSansDevanagari-Regular.woff")


@pytest.mark.parametrize("wishes", [SheetWishes("devanagari", "letter", MANDOLIN, True, "desh"), SheetWishes("typed")])
def test_a_sheet_is_valid_html(desk: Archive, tmp_path: Path, wishes: SheetWishes) -> None:
    command = needs.html_validate()
    (tmp_path / ".htmlvalidate.json").write_text(json.dumps({"root": True, "extends": ["html-validate:recommended"]}))
    (tmp_path / "sheet.html").write_text(sheet_html(desk, pieces_named(desk, ["evening/t01,t02,p01,p02,p03"]), wishes))
    (tmp_path / "wrong.html").write_text((tmp_path / "sheet.html").read_text().replace("<h3>", "<h3><div>", 1))
    for name, returned in (("sheet.html", 0), ("wrong.html", 1)):
        done = subprocess.run([*command, name], cwd=tmp_path, capture_output=True, text=True, check=False)
        assert done.returncode == returned, done.stdout[:3000]


def test_devanagari_has_the_shape_that_harfbuzz_gives_it_in_the_font_as_published(devanagari: Shaper) -> None:
    published = Shaper(needs.noto_devanagari())
    texts = [*TEXTS, *(bol.devanagari for bol in all_bols() if bol.devanagari)]
    assert len(texts) > 60
    assert [text for text in texts if devanagari.drawn(text) != published.drawn(text)] == []


def test_each_syllable_of_swaras_and_bols_is_one_glyph_so_that_a_pdf_knows_its_text(devanagari: Shaper) -> None:
    assert [text for text in syllables() if len(devanagari.shaped(text)) != 1] == []


@pytest.mark.parametrize("text", ["ग̲", "रे̲", "नि̲", "ध̲"])
def test_the_line_of_a_komal_swara_lies_under_its_letter(devanagari: Shaper, text: str) -> None:
    with_line, plain = devanagari.bounds(text), devanagari.bounds(text[:-1])
    assert with_line[1] < plain[1] - 40
    assert (with_line[0], with_line[2], with_line[3]) == pytest.approx((plain[0], plain[2], plain[3]), rel=0, abs=120)


@pytest.mark.parametrize("text", ["सा̇", "रे̇", "म̍", "नि̇"])
def test_a_dot_or_line_above_clears_the_letter_and_its_vowel_sign(devanagari: Shaper, text: str) -> None:
    with_sign, plain = devanagari.bounds(text), devanagari.bounds(text[:-1])
    assert with_sign[3] > plain[3] + 40
    assert (with_sign[0], with_sign[2]) == (plain[0], plain[2])


@pytest.mark.parametrize("name", ["NotoSerif-Regular", "NotoSerif-Italic", "NotoSansDevanagari-Regular"])
def test_widths_and_heights_are_those_of_the_fonts(name: str) -> None:
    font = Shaper(FONTS / f"{name}.woff")
    face = {"NotoSerif-Regular": "text", "NotoSerif-Italic": "italic", "NotoSansDevanagari-Regular": "devanagari"}[name]
    text = "धातिरकिट" if face == "devanagari" else "DhaTiRaKiTa 12+1"
    shaped = sum(advance for _, advance, _, _ in font.shaped(text, kern=False))
    assert 1000 * width_of(text, 1.0, face) == pytest.approx(shaped, rel=0, abs=1)  # type: ignore[arg-type]
    ascent = font.font["hhea"].ascent / font.font["head"].unitsPerEm
    assert ascent_and_descent(face)[0] == pytest.approx(ascent, rel=0, abs=0.001)  # type: ignore[arg-type]


def test_the_licence_of_the_fonts_lies_beside_them() -> None:
    text = (FONTS / "OFL.txt").read_text()
    assert "SIL OPEN FONT LICENSE" in text
    assert "Noto Serif: Copyright 2015 Google LLC" in text
