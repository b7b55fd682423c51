"""A figure of lines and letters: lines as vectors, letters as text that can be read out, selected and searched.

Lines are an SVG; every letter lies over it as text of the page, since what makes PDF of the page sets the text of an
SVG letter by letter, which tears Devanagari apart. Where a text stands is said by classes that all figures of a sheet
share, so that the page needs no style in an element's attribute (a strict policy forbids that).

Conventions: lengths in points (1/72 inch), from the figure's upper left corner; a text's ``y`` is that of its baseline.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from annotate.practice.sheets.fonts import Face, ascent_and_descent, face_of, width_of

Anchor = Literal["start", "middle", "end"]
INK, GREY, PALE, ACCENT, TINT = "#1a1a1a", "#6b6b6b", "#c9c9c9", "#8c2f1b", "#efdcd4"
"""Black, and one colour; each is told from the others in grey too."""
LINE_HEIGHT = 1.25


@dataclass
class Places:
    """Where the texts of all figures of a sheet stand, as rules of its style sheet."""

    rules: dict[str, str] = field(default_factory=dict)

    def name(self, rule: str) -> str:
        """Return the class of a rule, making it where it is new."""
        return self.rules.setdefault(rule, f"p{len(self.rules)}")

    @property
    def style(self) -> str:
        """All of them as a style sheet."""
        return "\n".join(f".{name}{{{rule}}}" for rule, name in self.rules.items())


@dataclass
class Drawing:
    """A figure that is drawn line by line and text by text.

    Attributes
    ----------
    places : Places
        Of the sheet.
    width, height : float
        In points.
    said : str
        What it shows, for those who do not see it.
    """

    places: Places
    width: float
    height: float
    said: str
    _lines: list[str] = field(default_factory=list)
    _texts: list[str] = field(default_factory=list)

    def line(
        self, x1: float, y1: float, x2: float, y2: float, *, stroke: str = INK, width: float = 0.6, dash: str = ""
    ) -> None:
        """Draw a line."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        ends = f'x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"'
        self._lines.append(f'<line {ends} stroke="{stroke}" stroke-width="{_n(width)}"{dashed}/>')

    def path(self, data: str, *, stroke: str = INK, width: float = 0.6, fill: str = "none") -> None:
        """Draw a path, written as SVG writes it."""
        self._lines.append(f'<path d="{data}" fill="{fill}" stroke="{stroke}" stroke-width="{_n(width)}"/>')

    def box(
        self,
        x: float,
        y: float,
        wide: float,
        high: float,
        *,
        fill: str = "none",
        stroke: str = "none",
        round_: float = 0,
    ) -> None:
        """Draw a box, its corners rounded where wished."""
        rounded = f' rx="{_n(round_)}"' if round_ else ""
        size = f'x="{_n(x)}" y="{_n(y)}" width="{_n(wide)}" height="{_n(high)}"'
        self._lines.append(f'<rect {size} fill="{fill}" stroke="{stroke}" stroke-width="0.6"{rounded}/>')

    def disc(
        self, x: float, y: float, radius: float, *, fill: str = INK, stroke: str = "none", width: float = 0.7
    ) -> None:
        """Draw a disc, or a ring."""
        centre = f'cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}"'
        self._lines.append(f'<circle {centre} fill="{fill}" stroke="{stroke}" stroke-width="{_n(width)}"/>')

    def text(
        self,
        x: float,
        y: float,
        written: str,
        *,
        size: float = 8.0,
        anchor: Anchor = "middle",
        face: Face = "text",
        ink: str = INK,
        title: str = "",
    ) -> None:
        """Write a text; ``title`` says it in words where that says more."""
        if not written:
            return
        face = face_of(written, face)
        room = width_of(written, size, face) * 1.02 + 2
        left = {"start": x, "middle": x - room / 2, "end": x - room}[anchor]
        ascent, descent = ascent_and_descent(face)
        top = y - size * (LINE_HEIGHT / 2 + (ascent - descent) / 2)
        classes = [
            self.places.name(f"left:{_n(left)}pt;width:{_n(room)}pt"),
            self.places.name(f"top:{_n(top)}pt"),
            self.places.name(f"font-size:{_n(size)}pt"),
            *(["c"] if anchor == "middle" else ["e"] if anchor == "end" else []),
            *([face] if face != "text" else []),
            *([self.places.name(f"color:{ink}")] if ink != INK else []),
        ]
        language = ' lang="hi"' if face == "devanagari" else ""
        says = f' title="{escape(title)}"' if title else ""
        self._texts.append(f'<span class="{" ".join(classes)}"{language}{says}>{escape(written)}</span>')

    def texts(self, marks: Iterable[tuple[float, float, str]], *, size: float = 8.0, ink: str = INK) -> None:
        """Write several texts alike, each around its place."""
        for x, y, written in marks:
            self.text(x, y, written, size=size, ink=ink)

    @property
    def html(self) -> str:
        """The figure as a part of a page."""
        size = self.places.name(f"width:{_n(self.width)}pt;height:{_n(self.height)}pt")
        box = (
            f'viewBox="0 0 {_n(self.width)} {_n(self.height)}" width="{_n(self.width)}pt" height="{_n(self.height)}pt"'
        )
        drawn = f'<svg {box} aria-hidden="true" focusable="false">{"".join(self._lines)}</svg>'
        written = "\n".join(self._texts)
        return f'<div class="drawing {size}" role="group" aria-label="{escape(self.said)}">{drawn}{written}</div>'


def _n(value: float) -> str:
    """Write a number to a hundredth of a point, as short as it can be."""
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"
