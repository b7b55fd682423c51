"""Composing: what is wanted of a tihai, every piece that answers it, and what to change where nothing does.

Conventions: a *piece* is a tihai or chakradar with its palla written out, where it starts and what it aims at. What is
found without a written palla carries plain syllables (:mod:`theory.filler`). Limits include their ends. Simplest first,
as in :mod:`theory.solve` and :mod:`theory.solve_chakradar`, which do the arithmetic.

Kinds are chosen by the definitions of ``data/kinds.toml``: a piece answers when that name fits it. Those made of rounds
are counted within, as their sources do.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import islice
from typing import cast, get_args

from theory.chakradar import closing_onsets
from theory.errors import BadTihai
from theory.filler import Syllables, filler
from theory.kinds import Kind, kinds_of
from theory.numbers import matras, spoken
from theory.paper import PaperCheck, check
from theory.passage import Passage
from theory.solve import Solution, solve, starts_and_dams
from theory.solve_chakradar import ChakradarKind, ChakradarSolution, phrase, solve_chakradars
from theory.talas import Tala
from theory.tihai import Chain, LandingRule, Tihai, landing_offset

ONE = Fraction(1)
PLAIN_KINDS = ("bedam", "damdar", "bedam_half", "ati_bedam", "damdar_half")
ROUND_KINDS = ("nauhakka", "chakradar", "sadharan", "farmaishi", "kamali")
SUBDIVISIONS = (1, 2, 3, 4, 6, 8)
FINEST_IN_ROUNDS = 4
MOST_FOUND = 3000
"""Pieces that are given: whoever wants more than the simplest of them narrows what is wanted."""
MOST_TRIED = 40_000
"""Rounds that are tried, so that an answer comes while one waits."""
MOST_OFFERS = 4
_DAM_IN_ROUNDS, _ROUND_DAM = Fraction(2), Fraction(4)  # the widest sought where no limit is set: more is seldom played
_THREE = 3


@dataclass(frozen=True)
class Piece:
    """A tihai, or with a bol or a gap between rounds a chakradar or nauhakka.

    Attributes
    ----------
    tala, start, target, rule
        As for :func:`theory.paper.check`.
    palla : Passage
        The palla; in a chakradar the phrase that closes each round three times.
    dam : Fraction
        The gap between pallas, in matras.
    bol : Passage or None
        What comes before the tihai in each round.
    round_dam : Fraction or None
        The gap between rounds, in matras; None for a plain tihai.
    """

    tala: Tala
    start: Fraction
    target: Fraction
    rule: LandingRule
    palla: Passage
    dam: Fraction
    bol: Passage | None = None
    round_dam: Fraction | None = None

    @cached_property
    def tihai(self) -> Tihai:
        """The whole as a tihai.

        Raises
        ------
        BadTihai
            When nobody could play it.
        """
        inner = Tihai(self.palla, self.dam)
        if self.round_dam is None:
            return inner
        return Tihai(Chain((self.bol, inner)) if self.bol is not None else inner, self.round_dam)

    @cached_property
    def paper(self) -> PaperCheck:
        """Its check on paper."""
        return check(self.tala, self.start, self.tihai, self.rule, self.target)

    @property
    def cycles(self) -> int:
        """Avartans completed when it lands, from the sam of the cycle it begins in."""
        return int((self.start - 1 + landing_offset(self.tihai, self.rule)) // self.tala.matras)

    @cached_property
    def kinds(self) -> tuple[Kind, ...]:
        """Every name that fits it."""
        return kinds_of(self.tala, self.start, self.tihai, self.rule, self.target)


@dataclass(frozen=True)
class Wanted:
    """What is wanted.

    Attributes
    ----------
    tala, target, rule
        As for :func:`theory.paper.check`.
    start : Fraction or None
        The matra to begin on; None for any, which asks for a written palla.
    kind : str
        Key of a kind (:data:`PLAIN_KINDS`, :data:`ROUND_KINDS`), or '' for every plain tihai.
    subdivision : int
        Lengths that are found are multiples of 1/subdivision matra.
    palla : Passage or None
        The palla, where it is written.
    palla_least, palla_most, dam_least, dam_most : Fraction or None
        Limits in matras.
    cycles_most : int or None
        The most avartans it may complete.
    syllables : {"bols", "sargam"}
        What a palla that is not written is filled with.
    """

    tala: Tala
    start: Fraction | None = ONE
    target: Fraction = ONE
    rule: LandingRule = LandingRule.WITHIN
    kind: str = ""
    subdivision: int = 1
    palla: Passage | None = None
    palla_least: Fraction | None = None
    palla_most: Fraction | None = None
    dam_least: Fraction | None = None
    dam_most: Fraction | None = None
    cycles_most: int | None = None
    syllables: Syllables = "bols"

    @property
    def in_rounds(self) -> bool:
        """Whether it is to be made of rounds."""
        return self.kind in ROUND_KINDS

    @property
    def counted(self) -> LandingRule:
        """The rule that what is found is counted by."""
        return LandingRule.WITHIN if self.in_rounds else self.rule


@dataclass(frozen=True)
class Offer:
    """A change of what is wanted for which something lands, in words, and how many pieces there are then."""

    words: str
    wanted: Wanted
    count: int


@lru_cache(maxsize=256)
def find(wanted: Wanted) -> tuple[Piece, ...]:
    """Find every piece that lands and is as wanted.

    Returns
    -------
    tuple of Piece
        Simplest first; at most :data:`MOST_FOUND`.

    Raises
    ------
    BadTihai
        When start or target lie outside the tala, limits contradict each other, or there is too much to try.
    """
    _require_limits(wanted)
    if wanted.in_rounds:
        found = _chakradars(wanted)
    else:
        found = (piece for piece in _plain(wanted) if not wanted.kind or _is_called(piece, wanted.kind))
    return tuple(islice(found, MOST_FOUND))


def offers(wanted: Wanted) -> tuple[Offer, ...]:
    """Return the nearest changes of what is wanted for which something lands; at most :data:`MOST_OFFERS`."""
    made: list[Offer] = []
    for words, changed in _changes(wanted):
        try:
            count = len(find(changed))
        except BadTihai:
            continue
        if count:
            made.append(Offer(words, changed, count))
        if len(made) == MOST_OFFERS:
            break
    return tuple(made)


def _require_limits(wanted: Wanted) -> None:
    for name, least, most in (
        ("palla", wanted.palla_least, wanted.palla_most),
        ("dam", wanted.dam_least, wanted.dam_most),
    ):
        if least is not None and most is not None and least > most:
            raise BadTihai(f"The {name} is to be at least {matras(least)} and at most {matras(most)}: swap them.")
    if wanted.in_rounds and wanted.subdivision > FINEST_IN_ROUNDS:
        raise BadTihai(
            f"What is made of rounds is sought in parts down to 1/{FINEST_IN_ROUNDS} of a matra, "
            f"not 1/{wanted.subdivision}: there would be more than anyone reads."
        )
    if wanted.start is None and wanted.palla is None:
        raise BadTihai("To begin on any matra, write the palla: then every start that makes it land is found.")


def _plain(wanted: Wanted) -> Iterator[Piece]:
    if wanted.palla is not None:
        solutions = starts_and_dams(
            wanted.tala,
            wanted.palla,
            wanted.target,
            wanted.subdivision,
            wanted.rule,
            start=wanted.start,
            dam_most=Fraction(wanted.tala.matras, 2) if wanted.dam_most is None else wanted.dam_most,
        )
    else:
        solutions = solve(
            wanted.tala,
            wanted.start or ONE,
            wanted.target,
            wanted.subdivision,
            wanted.rule,
            palla_most=wanted.palla_most or None,
            dam_most=Fraction(wanted.tala.matras, 2) if wanted.dam_most is None else wanted.dam_most,
        )
    return (_piece(wanted, each) for each in solutions if _within_limits(wanted, each.palla, each.dam, each.cycles))


def _piece(wanted: Wanted, found: Solution) -> Piece:
    palla = wanted.palla
    if palla is None:
        last = found.last_stroke if wanted.rule == LandingRule.WITHIN else _last_of(found.palla)
        palla = filler(found.palla, last, wanted.syllables)
    return Piece(wanted.tala, found.start, wanted.target, wanted.rule, palla, found.dam)


def _last_of(palla: Fraction) -> Fraction:
    """Length of the last stroke where the landing does not hang on it."""
    return min(palla, ONE)


def _is_called(piece: Piece, name: str) -> bool:
    return any(kind.key == name for kind in piece.kinds)


def _chakradars(wanted: Wanted) -> Iterator[Piece]:
    phrases = [wanted.palla] if wanted.palla is not None else _phrases(wanted)
    if not phrases:
        return iter(())
    dam_most = _DAM_IN_ROUNDS if wanted.dam_most is None else wanted.dam_most
    if len(phrases) * wanted.tala.matras * dam_most * wanted.subdivision**2 > MOST_TRIED:
        raise BadTihai(
            "That is more than is searched at once: take a coarser division, a shorter palla or a shorter dam."
        )
    solutions = solve_chakradars(
        wanted.tala,
        ONE if wanted.start is None else wanted.start,
        wanted.target,
        wanted.subdivision,
        kind=cast("ChakradarKind", wanted.kind) if wanted.kind in get_args(ChakradarKind) else None,
        pallas=phrases,
        bol_most=0 if wanted.kind == "nauhakka" else None,
        dam_most=dam_most,
        round_dam_most=_ROUND_DAM,
    )
    leads = wanted.kind in ("chakradar", "sadharan")  # nine statements without a bol are called otherwise
    kept = (each for each in solutions if _within_limits(wanted, each.palla.length, each.dam, each.cycles))
    return (_piece_in_rounds(wanted, each) for each in kept if each.bol or not leads)


def _phrases(wanted: Wanted) -> list[Passage]:
    """Sketch phrases of every length to try: whole matras up to half an avartan, or as the limits say."""
    closing = _THREE if wanted.kind == "kamali" else 1
    least = max(wanted.palla_least or ONE, Fraction(closing))
    most = Fraction(wanted.tala.matras, 2) if wanted.palla_most is None else wanted.palla_most
    parts = math.lcm(*(each.denominator for each in (wanted.palla_least, wanted.palla_most) if each is not None))
    counts = range(math.ceil(least * parts), math.floor(most * parts) + 1)
    return [phrase(Fraction(count, parts), closing) for count in counts]


def _piece_in_rounds(wanted: Wanted, found: ChakradarSolution) -> Piece:
    syllables = wanted.syllables if wanted.palla is None else found.palla.system
    written = "sargam" if syllables == "sargam" else "bols"
    palla = wanted.palla
    if palla is None:
        palla = filler(found.palla.length, ONE, wanted.syllables, len(closing_onsets(found.palla)))
    bol = filler(found.bol, min(found.bol, ONE), written) if found.bol else None
    return Piece(
        wanted.tala, found.start, wanted.target, LandingRule.WITHIN, palla, found.dam, bol, round_dam=found.round_dam
    )


def _within_limits(wanted: Wanted, palla: Fraction, dam: Fraction, cycles: int) -> bool:
    return (
        (wanted.palla is not None or wanted.palla_least is None or palla >= wanted.palla_least)
        and (wanted.palla is not None or wanted.palla_most is None or palla <= wanted.palla_most)
        and (wanted.dam_least is None or dam >= wanted.dam_least)
        and (wanted.dam_most is None or dam <= wanted.dam_most)
        and (wanted.cycles_most is None or cycles <= wanted.cycles_most)
    )


def _changes(wanted: Wanted) -> Iterator[tuple[str, Wanted]]:
    """Yield changes of what is wanted, those that leave the most alone first."""
    finer = next((each for each in SUBDIVISIONS if each > wanted.subdivision and each % wanted.subdivision == 0), None)
    if finer is not None:
        yield f"in parts of 1/{finer} of a matra", replace(wanted, subdivision=finer)
    yield from _starts(wanted)
    if wanted.cycles_most is not None:
        yield "over more avartans", replace(wanted, cycles_most=None)
    if wanted.dam_least is not None or wanted.dam_most is not None:
        yield "with any dam up to an avartan", replace(wanted, dam_least=None, dam_most=Fraction(wanted.tala.matras))
    if wanted.palla is None and (wanted.palla_least is not None or wanted.palla_most is not None):
        yield "with a palla of any length up to an avartan", replace(wanted, palla_least=None, palla_most=None)
    if wanted.target != 1:
        yield "landing on sam", replace(wanted, target=ONE)
    if wanted.kind:
        yield "of any kind", replace(wanted, kind="")
    if not wanted.in_rounds:
        other = LandingRule.AFTER if wanted.rule == LandingRule.WITHIN else LandingRule.WITHIN
        yield f"counted {other}", replace(wanted, rule=other)


def _starts(wanted: Wanted) -> Iterator[tuple[str, Wanted]]:
    """Yield the nearest other start for which something lands."""
    if wanted.start is None or (wanted.in_rounds and wanted.subdivision > 1):  # each start takes a whole search
        return
    tala, most = wanted.tala, wanted.tala.matras * wanted.subdivision // 2
    plainly = wanted.palla is not None and not wanted.in_rounds
    if plainly and not find(replace(wanted, start=None)):  # asked once, and not for every matra
        return
    for count in range(1, most + 1):
        for way in (-1, 1):
            start = tala.wrap(wanted.start - 1 + Fraction(way * count, wanted.subdivision))
            moved = replace(wanted, start=start)
            if find(moved):
                by = matras(Fraction(count, wanted.subdivision))
                yield f"from {tala.name_of(start)}, {by} {'earlier' if way < 0 else 'later'}", moved
                return


def said_of(piece: Piece) -> str:
    """Say in a line what a piece is made of: "palla 5, dam 1, from matra 9"."""
    begin = "" if piece.start == 1 else f", from matra {spoken(piece.start)}"
    dam = f"dam {spoken(piece.dam)}" if piece.dam else "no dam"
    if piece.round_dam is None:
        return f"palla {spoken(piece.palla.length)}, {dam}{begin}"
    bol = f"bol {spoken(piece.bol.length)}, " if piece.bol is not None else ""
    between = f"{spoken(piece.round_dam)} between rounds" if piece.round_dam else "no dam between rounds"
    return f"{bol}palla {spoken(piece.palla.length)}, {dam}, {between}{begin}"
