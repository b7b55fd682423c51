"""A tihai as it stands in the panel's fields, before it is saved.

Conventions: fields are texts; an empty one means "not given". What cannot be read is a LayakoshError that names the
field.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.marking import fill_in
from annotate.records import TihaiRecord
from annotate.verify import paper_check, section_of
from theory.clock import parse_clock
from theory.errors import LayakoshError, NotationError
from theory.notation import parse
from theory.numbers import parse_matras
from theory.paper import PaperCheck
from theory.passage import Passage
from theory.talas import Tala
from theory.tihai import LandingRule


@dataclass(frozen=True)
class TihaiDraft:
    """What the fields say. ``palla_s`` holds as many starts as are filled in; ``landing_s`` may be missing."""

    palla_s: tuple[float, ...]
    landing_given_s: float | None
    palla: str
    dam: Fraction | None
    start: Fraction | None
    target: Fraction
    rule: LandingRule
    played_by: str

    @property
    def starts_s(self) -> tuple[float, ...]:
        """Where the pallas begin, or a message that nothing is marked."""
        if not self.palla_s:
            raise BadAnnotation("Where do the pallas begin? Press p at each while it plays, or write the times.")
        return self.palla_s

    @property
    def landing_s(self) -> float:
        """The landing, or a message that it is missing."""
        if self.landing_given_s is None:
            raise BadAnnotation("Where does it land? Press l while it plays, or write the time in 'Lands at'.")
        return self.landing_given_s


def draft_of(
    first: str | None,
    second: str | None,
    third: str | None,
    landing: str | None,
    palla: str | None,
    dam: str | None,
    start: str | None,
    target: str | None,
    rule: str | None,
    played_by: str | None,
) -> TihaiDraft:
    """Read the fields of the panel.

    Raises
    ------
    LayakoshError
        A field is neither empty nor readable; the message names it.
    """
    starts = [_time(f"Palla {i} begins at", text) for i, text in enumerate((first, second, third), 1)]
    return TihaiDraft(
        palla_s=tuple(start_s for start_s in starts if start_s is not None),
        landing_given_s=_time("Lands at", landing),
        palla=(palla or "").strip(),
        dam=_matras("Dam", dam),
        start=_matras("Starts on", start),
        target=_matras("Aims at", target) or Fraction(1),
        rule=LandingRule(rule or LandingRule.WITHIN),
        played_by=(played_by or "").strip(),
    )


def read_palla(text: str, tala: Tala | None = None, start: Fraction = Fraction(1)) -> Passage:
    """Read a palla, its bars too where a tala is given.

    Raises
    ------
    BadAnnotation
        It does not parse; the message names the field and points at the place.
    """
    try:
        return parse(text, tala, start)
    except NotationError as error:
        raise BadAnnotation(f"Palla: {error}") from None


def read_times(text: str) -> list[float]:
    """Read times in seconds, m:s or h:m:s, with spaces or commas between, in any order.

    Raises
    ------
    LayakoshError
        One of them is not a time, or there is none.
    """
    parts = [part for part in re.split(r"[\s,;]+", text) if part]
    if not parts:
        raise BadAnnotation("No sam is marked yet. Press s on sam while it plays, or write times in seconds.")
    return sorted(parse_clock(part) for part in parts)


def on_paper(archive: Archive, slug: str, draft: TihaiDraft) -> PaperCheck | None:
    """Return the arithmetic of a draft, start and dam as heard if not written; None when too little is known.

    Raises
    ------
    BadAnnotation
        The palla does not parse.
    """
    if not draft.palla:
        return None
    read_palla(draft.palla)  # says where it does not parse, also when there is too little for a sum
    grid = archive.grid(slug)
    starts = draft.palla_s or _anywhere(archive, slug)
    landing_s = draft.landing_given_s if draft.landing_given_s is not None else (starts[-1] if starts else 0.0)
    record = TihaiRecord(
        "", starts, landing_s, palla=draft.palla, dam=draft.dam, start=draft.start, rule=draft.rule, target=draft.target
    )
    if draft.palla_s:
        record = fill_in(record, grid)
    section = section_of(record, grid) if starts else None
    return paper_check(record, section.tala if section is not None else None)


def _anywhere(archive: Archive, slug: str) -> tuple[float, ...]:
    """A time in the first section with a tala, to count in when nothing is marked yet."""
    sections = archive.grid(slug).sections
    return (float(sections[0].matra_s[0]),) if sections else ()


def _time(name: str, text: str | None) -> float | None:
    if not (text or "").strip():
        return None
    try:
        return parse_clock(str(text).strip())
    except LayakoshError as error:
        raise BadAnnotation(f"{name}: {error}") from None


def _matras(name: str, text: str | None) -> Fraction | None:
    if not (text or "").strip():
        return None
    try:
        return parse_matras(str(text).strip())
    except LayakoshError as error:
        raise BadAnnotation(f"{name}: {error}") from None
