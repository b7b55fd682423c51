"""A tihai on a sheet: its cycle, its run, the notation, the sum, the neck, and how it was played."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from annotate.archive import Archive
from annotate.exchange.score import Stretch
from annotate.exchange.tab import Hand
from annotate.practice.pieces import Piece
from annotate.practice.sheets.as_played import AsPlayed, as_played, played_drawing
from annotate.practice.sheets.credit import credit
from annotate.practice.sheets.cycle import Bar, Run, cycle_drawing, run_drawings
from annotate.practice.sheets.drawing import Drawing, Places
from annotate.practice.sheets.facts import piece_facts
from annotate.practice.sheets.key import key_of_written
from annotate.practice.sheets.neck import neck_drawing
from annotate.practice.sheets.piece_page import PiecePage, fretted, tuning_words
from annotate.practice.sheets.systems import Span, Written, systems
from annotate.practice.sheets.wishes import SheetWishes
from annotate.records import TihaiRecord
from theory import wording
from theory.layout import legend
from theory.numbers import matras, spoken
from theory.paper import PaperCheck, check
from theory.passage import Passage, silence
from theory.recognise import recognise
from theory.talas import tala_variants
from theory.tihai import Chain, LandingRule, Tihai, Unit, landing_offset


@dataclass(frozen=True, kw_only=True)
class TihaiPage(PiecePage):
    """What stands on the page of a tihai beside that."""

    run: tuple[Drawing, ...]
    sum: str
    lines: tuple[str, ...]
    sentence: str
    mends: tuple[str, ...]
    played: AsPlayed | None
    played_figure: Drawing | None
    schools: tuple[str, ...]
    kind: Literal["tihai"] = "tihai"


def tihai_page(
    archive: Archive, piece: Piece, record: TihaiRecord, wishes: SheetWishes, places: Places, width: float
) -> TihaiPage:
    """Put together the page of a tihai.

    Raises
    ------
    theory.errors.BadFretting
        A swara lies nowhere on the strings.
    """
    tihai = nested(piece)
    paper = check(piece.tala, piece.start, tihai, record.rule, record.target) if piece.tala is not None else None
    hand = wishes.hand if piece.script == "sargam" else None
    written = _written(piece, tihai, record.rule, wishes, hand)
    played = as_played(archive, piece) if wishes.played else None
    return TihaiPage(
        title=f"Tihai {piece.key}",
        label=record.label,
        credit=credit(piece.recording, wishes.licence),
        facts=(*piece_facts(piece), *_counts(tihai, record, paper)),
        legend=legend(piece.tala) if piece.tala is not None else "",
        cycle=cycle_drawing(piece.tala, wishes.script, places, width) if piece.tala is not None else None,
        run=tuple(run_drawings(piece.tala, _run(piece, tihai, record.rule), places, width)) if piece.tala else (),
        systems=tuple(systems(written, places, width)),
        sum=paper.sum if paper is not None else f"{wording.terms(tihai)} = {spoken(tihai.length)}",
        lines=tuple(line for line in paper.lines if line != paper.sum) if paper is not None else (),
        sentence=paper.sentence if paper is not None else "",
        mends=tuple(mend.sentence for mend in paper.mends) if paper is not None else (),
        neck=neck_drawing(hand.board, written.places, wishes.script, places, width) if hand is not None else None,
        tuning=tuning_words(hand),
        played=played,
        played_figure=played_drawing(played, places, 0.62 * width) if played is not None else None,
        schools=_schools(paper, record.rule),
        key=key_of_written(written),
    )


def nested(piece: Piece) -> Tihai:
    """Return a piece's tihai; where its palla ends with a tihai of its own, as a chakradar does, that one nested."""
    unit = piece.unit
    assert isinstance(unit, Tihai)
    assert isinstance(unit.palla, Passage)
    found = recognise(unit.palla)
    if found is None or found.held or found.after.length or found.passage != unit.palla:
        return unit
    inner: Unit = Chain((found.before, found.tihai)) if found.before.length else found.tihai
    return Tihai(inner, unit.dam)


def _written(piece: Piece, tihai: Tihai, rule: LandingRule, wishes: SheetWishes, hand: Hand | None) -> Written:
    palla, gap = piece.unit.palla, silence(tihai.dam)  # type: ignore[union-attr]
    assert isinstance(palla, Passage)
    name = "palla" if isinstance(tihai.palla, Passage) else "round"
    spans = tuple(
        Span(onset, onset + palla.length, f"{name} {number}") for number, onset in enumerate(tihai.statement_onsets, 1)
    )
    spans += tuple(
        Span(onset + begin, onset + end, "", inner=True)
        for onset in tihai.statement_onsets
        for begin, end in _inner(tihai.palla)
    )
    stretches = tuple(each for _ in range(tihai.times) for each in (Stretch(palla), Stretch(gap)))
    return Written(
        passage=piece.passage,
        tala=piece.tala,
        start=piece.start,
        script=wishes.script,
        spans=spans,
        lands=landing_offset(tihai, rule),
        board=hand.board if hand is not None else None,
        places=fretted(hand, piece, stretches),
    )


def _inner(round_: Unit) -> tuple[tuple[Fraction, Fraction], ...]:
    """Return from where to where the phrases of a chakradar's round go, from the round's beginning."""
    before, inner = (round_.part_onsets[-1], round_.parts[-1]) if isinstance(round_, Chain) else (Fraction(0), round_)
    if not isinstance(inner, Tihai):
        return ()
    return tuple((before + at, before + at + inner.palla.length) for at in inner.statement_onsets)


def _run(piece: Piece, tihai: Tihai, rule: LandingRule) -> Run:
    begin = piece.start - 1
    bars = tuple(
        Bar(
            begin + onset,
            begin + onset + tihai.palla.length,
            tuple(begin + onset + stroke for stroke in tihai.palla.onsets),
            str(number),
        )
        for number, onset in enumerate(tihai.statement_onsets, 1)
    )
    return Run(bars, begin + landing_offset(tihai, rule))


def _counts(tihai: Tihai, record: TihaiRecord, paper: PaperCheck | None) -> tuple[str, ...]:
    aim = paper.tala.name_of(record.target) if paper is not None else ""
    return tuple(
        filter(
            None,
            (
                f"palla {matras(tihai.palla.length)}",
                f"dam {matras(tihai.dam)}" if tihai.dam else "no dam",
                f"aims at {aim}" if aim and record.target != Fraction(1) else "",
            ),
        )
    )


def _schools(paper: PaperCheck | None, rule: LandingRule) -> tuple[str, ...]:
    """Say where schools differ."""
    if paper is None:
        return ()
    within = "Counted within: the last stroke of each palla belongs to it, and that of the third one lands."
    after = "Counted after: the landing stroke follows the third palla."
    other = f"{paper.other_rule.sentence} {f'Then the sum is {paper.other_sum}.' if paper.other_sum else ''}".strip()
    names = "; ".join(f"{kind.name} ({kind.by}): {kind.meaning}" for kind in paper.kinds)
    variants = ", ".join(each.key for each in tala_variants(paper.tala))
    return (
        f"{within if rule == LandingRule.WITHIN else after} {other}",
        *([f"What it is called: {names}."] if names else []),
        *([f"{paper.tala.name} is also divided or played otherwise: {variants}."] if variants else []),
    )
