"""Make the fonts of the practice sheets: ``python -m tests.annotate.practice.make_fonts``

They are in the repository; run this when they should hold more letters. It takes the files of Debian's package
fonts-noto-core (SIL Open Font License 1.1), leaves out letters that a sheet does not write, and joins Bhatkhande's
signs (the line below, the upright line above, the dots) to the Devanagari letters: the font has letters without those
signs, and without their anchors no text engine would know where they belong. Every syllable that swaras and bols are
written with becomes one glyph: what makes PDF of a sheet notes one text for each glyph, whatever stands beside it, and
with a vowel sign that stands before its letter that text would be another one. ``widths.json`` tells how wide every
letter is, so that a sheet can be laid out without a font engine.
"""

from __future__ import annotations

import io
import json
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import uharfbuzz as hb
from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables import otTables
from fontTools.ttLib.tables.otBase import BaseTable

from theory.bhatkhande import KOMAL, LOWER, TIVRA, UPPER
from theory.bols import all_bols
from theory.swaras import all_swaras

SYSTEM = Path("/usr/share/fonts/truetype/noto")
HERE = Path(__file__).parents[3] / "annotate" / "practice" / "sheets" / "fonts"
LATIN = (
    *range(0x20, 0x7F), *range(0xA0, 0x180), *range(0x218, 0x21C), 0x302, 0x304, 0x307, 0x30D, 0x323, 0x331, 0x332,
    *map(ord, "ḌḍḤḥḶḷḸḹṂṃṄṅṆṇṚṛṜṝṢṣṬṭ"), *range(0x2010, 0x2028), 0x2030, 0x2032, 0x2033, 0x2044, 0x20B9, 0x2212, 0x25CC,
    *range(0x2150, 0x215F),
)  # fmt: skip
FEATURES = ("ccmp", "locl", "mark", "mkmk", "kern", "liga", "frac", "numr", "dnom")  # no small capitals and the like
DEVANAGARI = (0x20, 0x2D, 0x5F, 0xA0, *range(0x900, 0x980), 0x200C, 0x200D, 0x20B9, 0x25CC)
MARKS = {"komal": KOMAL, "tivra": TIVRA}
VOWELS = (*tuple("ािीुूृेैोौंँ"), "ें", "िं", "ीं", "ां", "ों", "ूं", "्")
SYLLABLE = re.compile("(?:[क-ह]़?्)*[क-ह]़?[ा-ौ]?[ंँ]?्?|[अ-औ][ंँ]?")
SIGNS = {"line below": 0x332, "dot below": 0x323, "line above": 0x30D, "dot above": 0x307}


def main() -> None:
    """Make all of them."""
    for style in ("Regular", "Italic", "Bold"):
        _save(_subset(TTFont(SYSTEM / f"NotoSerif-{style}.ttf"), LATIN, FEATURES), f"NotoSerif-{style}")
    letters = _subset(TTFont(SYSTEM / "NotoSansDevanagari-Regular.ttf"), DEVANAGARI)
    _join_signs(letters, _subset(TTFont(SYSTEM / "NotoSans-Regular.ttf"), SIGNS.values()))
    _join_syllables(letters)
    _save(letters, "NotoSansDevanagari-Regular")
    widths = {path.stem: _measures(TTFont(path)) for path in sorted(HERE.glob("*.woff"))}
    (HERE / "widths.json").write_text(json.dumps(widths, ensure_ascii=True, separators=(",", ":")) + "\n")


def _subset(font: TTFont, letters: Iterable[int], features: Iterable[str] = ("*",)) -> TTFont:
    options = Options(
        hinting=False, layout_features=list(features), name_IDs=["*"], notdef_outline=True, glyph_names=True
    )
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=list(letters))
    subsetter.subset(font)
    return font


def _save(font: TTFont, name: str) -> None:
    font.flavor = "woff"
    font.save(HERE / f"{name}.woff")
    print(f"{name}.woff: {(HERE / f'{name}.woff').stat().st_size // 1024} KiB", file=sys.stderr)


def _join_signs(letters: TTFont, signs: TTFont) -> None:
    """Copy the four signs into the Devanagari font, and say where on each letter they belong."""
    names = _copied(letters, signs)
    bases = [letters.getBestCmap()[code] for code in range(0x905, 0x93A)]
    glyphs = letters.getGlyphSet()
    lines = []
    for where, code in SIGNS.items():
        left, bottom, right, top = _bounds(glyphs, names[code])
        at_y = top if where.endswith("below") else bottom
        lines.append(
            f"markClass {names[code]} <anchor {(left + right) // 2} {round(at_y)}> @{where.replace(' ', '_')};"
        )
    below, above = -60, 900  # under the letter's foot; over the tallest vowel sign
    lines.append("feature mark {")
    for base in bases:
        left, bottom, right, _top = _bounds(glyphs, base)
        foot, middle = round(min(below, bottom - 50)), round((left + right) / 2)
        marks = " ".join(
            f"<anchor {middle} {foot - (90 if sign.startswith('dot') else 0)}> mark @{sign.replace(' ', '_')}"
            if sign.endswith("below")
            else f"<anchor {middle} {above}> mark @{sign.replace(' ', '_')}"
            for sign in SIGNS
        )
        lines.append(f"  pos base {base} {marks};")
    behind, back = letters.getBestCmap()[0x93E], -round(glyphs[letters.getBestCmap()[0x938]].width / 2)
    marks = " ".join(
        f"<anchor {back} {below - 90 if sign.endswith('below') else above}> mark @{sign.replace(' ', '_')}"
        for sign in SIGNS
    )
    lines += [f"  pos base {behind} {marks};  # of Sa the sign stands over the letter, not over its long a", "} mark;"]
    kept = letters["GPOS"]
    signed = "languagesystem DFLT dflt; languagesystem deva dflt; languagesystem dev2 dflt;\n" + "\n".join(lines)
    addOpenTypeFeaturesFromString(letters, signed, tables=["GPOS"])
    _append(kept.table, letters["GPOS"].table, "mark")
    letters["GPOS"] = kept


def syllables() -> list[str]:
    """Return every syllable that swaras, with their signs, and bols are written with, and letters with a vowel sign."""
    swaras = {letter + sign for letter, sign in {(s.devanagari, MARKS.get(s.kind, "")) for s in all_swaras()}}
    dotted = {swara + dots for swara in swaras for dots in ("", LOWER, 2 * LOWER, UPPER, 2 * UPPER)}
    bols = {syllable for bol in all_bols() for syllable in SYLLABLE.findall(bol.devanagari)}
    plain = {chr(letter) + vowel for letter in range(0x915, 0x93A) for vowel in VOWELS}
    return sorted(dotted | bols | plain)


def _join_syllables(letters: TTFont) -> None:
    """Give each syllable of several glyphs one that holds them where a text engine puts them."""
    saved = io.BytesIO()
    letters.save(saved)
    font, names = hb.Font(hb.Face(saved.getvalue())), letters.getGlyphOrder()
    new: dict[str, tuple[str, ...]] = {}
    for text in syllables():
        shaped = hb.Buffer()
        shaped.add_str(text)
        shaped.guess_segment_properties()
        hb.shape(font, shaped)
        parts = tuple(names[each.codepoint] for each in shaped.glyph_infos)
        if len(parts) == 1 or parts in new.values():
            continue
        name, pen, x = f"syllable{len(new)}", TTGlyphPen(letters.getGlyphSet()), 0
        for part, place in zip(parts, shaped.glyph_positions, strict=True):
            pen.addComponent(part, (1, 0, 0, 1, x + place.x_offset, place.y_offset))
            x += place.x_advance
        new[name] = parts
        letters["glyf"].glyphs[name] = pen.glyph()
        letters["glyf"].glyphs[name].recalcBounds(letters["glyf"])
        letters["hmtx"].metrics[name] = (x, letters["glyf"].glyphs[name].xMin)
        letters["GDEF"].table.GlyphClassDef.classDefs[name] = 1
    letters.setGlyphOrder([*names, *new])
    letters["glyf"].glyphOrder = letters.getGlyphOrder()
    kept = letters["GSUB"]
    addOpenTypeFeaturesFromString(letters, _joining(letters, new), tables=["GSUB"])
    _append(kept.table, letters["GSUB"].table, "calt")
    letters["GSUB"] = kept


def _joining(letters: TTFont, new: dict[str, tuple[str, ...]]) -> str:
    """Write the rules that join glyphs to syllables, but not where a mark follows: it knows its place on letters."""
    marks = {name for name, kind in letters["GDEF"].table.GlyphClassDef.classDefs.items() if kind == 3}
    begun = {parts[:length] for parts in new.values() for length in range(2, len(parts) + 1)}
    lines = ["languagesystem DFLT dflt; languagesystem deva dflt; languagesystem dev2 dflt;", "lookup joined {"]
    lines += [f"  sub {' '.join(parts)} by {name};" for name, parts in new.items()]
    lines += ["} joined;", "feature calt {"]
    for parts in new.values():
        beyond = sorted(mark for mark in marks if (*parts, mark) not in begun)
        lines.append(f"  ignore sub {' '.join(f'{part}{chr(39)}' for part in parts)} [{' '.join(beyond)}];")
    firsts = sorted({parts[0] for parts in new.values()})
    lines += [f"  sub [{' '.join(firsts)}]' lookup joined;", "} calt;"]
    return "\n".join(lines)


def _copied(letters: TTFont, signs: TTFont) -> dict[int, str]:
    """Copy the signs' outlines; return their glyph names by code."""
    found, drawn = {}, signs.getGlyphSet()
    for code in SIGNS.values():
        name, new = signs.getBestCmap()[code], f"sign{code:04X}"
        outline, pen = DecomposingRecordingPen(drawn), TTGlyphPen(None)
        drawn[name].draw(outline)
        outline.replay(pen)
        letters["glyf"].glyphs[new] = pen.glyph()
        letters["hmtx"].metrics[new] = (0, signs["hmtx"].metrics[name][1])
        for table in letters["cmap"].tables:
            if table.isUnicode():
                table.cmap[code] = new
        letters["GDEF"].table.GlyphClassDef.classDefs[new] = 3
        found[code] = new
    letters.setGlyphOrder([*(name for name in letters.getGlyphOrder() if name not in found.values()), *found.values()])
    letters["glyf"].glyphOrder = letters.getGlyphOrder()
    return found


def _append(table: Any, added: Any, feature: str) -> None:
    """Add the lookups of one layout table, which has one feature, to another, as a feature of all its scripts."""
    behind = len(table.LookupList.Lookup)
    for named in _naming_lookups(added.LookupList.Lookup):
        named.LookupListIndex += behind
    table.LookupList.Lookup += added.LookupList.Lookup
    table.LookupList.LookupCount = len(table.LookupList.Lookup)
    first = len(table.FeatureList.FeatureRecord)
    record = otTables.FeatureRecord()
    record.FeatureTag, record.Feature = feature, otTables.Feature()
    record.Feature.FeatureParams = None
    named_ones = added.FeatureList.FeatureRecord[0].Feature.LookupListIndex
    record.Feature.LookupListIndex = [behind + index for index in named_ones]
    record.Feature.LookupCount = len(record.Feature.LookupListIndex)
    table.FeatureList.FeatureRecord.append(record)
    for script in table.ScriptList.ScriptRecord:
        systems = [each.LangSys for each in script.Script.LangSysRecord]
        for system in filter(None, [script.Script.DefaultLangSys, *systems]):
            system.FeatureIndex.append(first)
            system.FeatureCount = len(system.FeatureIndex)


def _naming_lookups(tables: Iterable[Any]) -> Iterator[Any]:
    """Yield the records, however deep, in which a rule names a lookup by its number."""
    for table in tables:
        for name, value in vars(table).items():
            inner = value if isinstance(value, list) else [value]
            if name == "SubstLookupRecord":
                yield from inner
            else:
                yield from _naming_lookups(each for each in inner if isinstance(each, BaseTable))


def _bounds(glyphs: Any, name: str) -> tuple[float, float, float, float]:
    pen = BoundsPen(glyphs)
    glyphs[name].draw(pen)
    return pen.bounds or (0, 0, 0, 0)


def _measures(font: TTFont) -> dict[str, Any]:
    """Return how high the font stands and how wide its letters are, in thousandths of its size."""
    size = font["head"].unitsPerEm
    letters = {chr(code): font["hmtx"][name][0] for code, name in font.getBestCmap().items()}
    return {
        "ascent": round(1000 * font["hhea"].ascent / size),
        "descent": round(-1000 * font["hhea"].descent / size),
        "letters": {letter: round(1000 * width / size) for letter, width in sorted(letters.items())},
    }


if __name__ == "__main__":
    main()
