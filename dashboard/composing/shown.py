"""What the page shows, as plain values for its templates: solutions, the piece that is opened, what is carried over.

Conventions: every link is an address of the page; whatever is said of music comes from ``theory``.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from dashboard import words
from dashboard.composing.asked import (
    CARRIED,
    CHOICES,
    PATH,
    PIECE,
    SA_NAMES,
    Asked,
    address,
    carried_into,
    laya_ratios,
    piece_fields,
    sa_hz,
    wanted_fields,
)
from dashboard.composing.run import SmallRun, drawing_data, small_run
from theory.carry import carry, faster
from theory.composing import MOST_FOUND, PLAIN_KINDS, ROUND_KINDS, SUBDIVISIONS, Piece, find, offers, said_of
from theory.errors import LayakoshError
from theory.filler import filler
from theory.kinds import Kind, all_kinds
from theory.layout import lay_out, to_html
from theory.mends import Mend, apply
from theory.numbers import matras, spoken
from theory.passage import Passage
from theory.talas import Tala, all_talas, tala_variants
from theory.tihai import Tihai

COUNTED = {1: "whole matras", 2: "halves", 3: "thirds", 4: "quarters", 6: "sixths", 8: "eighths"}


@dataclass(frozen=True)
class Choice:
    """One of several to choose from: what stands in the address, and in words."""

    value: str
    words: str
    chosen: bool = False


@dataclass(frozen=True)
class Row:
    """One solution in the list: what it is made of, the sum as taught, its names, how it runs, and where it opens."""

    said: str
    sum: str
    kinds: tuple[Kind, ...]
    avartans: str
    small: SmallRun
    href: str
    score: str
    key: str


def form_of(asked: Asked) -> dict[str, Any]:
    """Return what the form offers and holds."""
    fields = asked.fields
    tala = asked.wanted.tala if asked.wanted is not None else None
    return {
        "fields": fields,
        "talas": tala_choices(fields["tala"], tala),
        "kinds": _kind_choices(fields["kind"]),
        "parts": [Choice(str(each), COUNTED[each], str(each) == fields["parts"]) for each in SUBDIVISIONS],
        "rules": [Choice(str(rule), text, str(rule) == fields["by"]) for rule, text in words.RULES.items()],
        "places": places_of(tala) if tala is not None else [],
        "sas": [
            Choice(str(step), f"{name} ({sa_hz(step):.0f} Hz)", str(step) == fields["sa"])
            for step, name in enumerate(SA_NAMES)
        ],
    }


def places_of(tala: Tala) -> list[Choice]:
    """Return matras of a tala that people begin on and aim at: sam, where vibhags begin, mukhras."""
    khali = {mark.matra for mark in tala.marks if mark.kind == "khali"}
    named: dict[Fraction, list[str]] = {Fraction(1): ["sam"]}
    for start in tala.vibhag_starts[1:]:
        named.setdefault(Fraction(start), []).append("khali" if start in khali else "a vibhag begins")
    for gat, matra in tala.mukhra_starts:
        named.setdefault(matra, []).append(f"mukhra of a {gat} gat")
    return [Choice(spoken(matra), ", ".join(said)) for matra, said in sorted(named.items())]


def counted_of(asked: Asked) -> dict[str, str]:
    """Return how long what is written lasts, by the name of its field."""
    wanted, piece = asked.wanted, asked.piece
    told = {"palla": matras(wanted.palla.length) if wanted is not None and wanted.palla is not None else ""}
    return told | {"plays": f"{matras(piece.palla.length)}: {words.unbroken(piece.paper.sum)}" if piece else ""}


def found_of(asked: Asked) -> dict[str, Any]:
    """Return the solutions, simplest first; or why there are none, and what to change.

    A fault in what is wanted is told under ``error``.
    """
    if asked.wanted is None:
        return {"error": "", "wrong": asked.wrong}
    try:
        pieces = find(asked.wanted)
        near = offers(asked.wanted) if not pieces else ()
    except LayakoshError as error:
        return {"error": str(error), "wrong": asked.wrong}
    most = int(asked.fields["most"])
    bare = {**asked.fields, **dict.fromkeys((*PIECE, *CARRIED, "kept"), "")}
    changes = [(offer.words, address({**bare, **wanted_fields(offer.wanted)}), offer.count) for offer in near]
    return {
        "error": "",
        "wrong": asked.wrong,
        "count": len(pieces),
        "defined": all_kinds()[asked.wanted.kind].sentence if asked.wanted.kind else "",
        "heading": _heading(asked, len(pieces)),
        "rows": [_row(asked, piece) for piece in pieces[:most]],
        "rest": max(len(pieces) - most, 0),
        "more": address({**asked.fields, "most": str(min(most + 200, 1000))}),
        "offers": changes,
        "narrower": _narrower(asked, pieces) if pieces else [],
        "filled": asked.wanted.palla is None,
    }


def _heading(asked: Asked, count: int) -> str:
    wanted = asked.wanted
    if wanted is None:
        return ""
    more = " and more" if count == MOST_FOUND else ""
    ways = "1 way" if count == 1 else f"{count}{more} ways"
    return f"{ways} to land on {wanted.tala.name_of(wanted.target)} in {wanted.tala.name}"


def _narrower(asked: Asked, pieces: Sequence[Piece]) -> list[Choice]:
    """Offer to narrow what was found by the avartans it takes, and to widen it to any start of a written palla."""
    anywhere = asked.wanted is not None and asked.wanted.palla is not None and asked.wanted.start is not None
    first = [Choice(asked.address(**{"from": "any", "most": None}), "from any matra")] if anywhere else []
    counts = Counter(piece.cycles for piece in pieces[:120])
    if asked.fields["cycles"]:
        return [*first, Choice(asked.address(cycles=None, most=None), "any number of avartans")]
    narrower = [] if len(counts) < 2 else sorted(counts)[:4]
    return first + [
        Choice(asked.address(cycles=str(each), most=None), f"within {each} avartan{'' if each == 1 else 's'}")
        for each in narrower
        if each
    ]


def _row(asked: Asked, piece: Piece) -> Row:
    opened = piece_fields(piece)
    fields = {**asked.fields, **dict.fromkeys(CARRIED, ""), "kept": "", **opened}
    cycles = piece.cycles
    return Row(
        said_of(piece),
        words.unbroken(piece.paper.sum),
        piece.kinds,
        "within the avartan" if cycles == 0 else f"{cycles} avartan{'' if cycles == 1 else 's'}",
        small_run(piece),
        address(fields),
        score_address(asked, piece),
        key_of(piece),
    )


def key_of(piece: Piece) -> str:
    """Return a text that tells pieces of one search apart."""
    return "|".join(piece_fields(piece).values())


def score_address(asked: Asked, piece: Piece) -> str:
    """Return where the score of a piece is fetched."""
    told = {name: asked.fields[name] for name in CHOICES if name != "most"} | {
        "tala": piece.tala.key,
        "to": str(piece.target),
        "by": str(piece.rule),
        "from": "1",
        "palla": "",
        **piece_fields(piece),
    }
    return address(told).replace(PATH, f"{PATH}/score", 1)


def opened_of(asked: Asked, *, may_keep: bool) -> dict[str, Any] | None:
    """Return what is shown of the piece that is opened; None where none is."""
    piece = asked.piece
    if piece is None:
        return {"error": asked.wrong, "fields": asked.fields} if set(asked.wrong) & set(PIECE) else None
    paper, said = piece.paper, said_of(piece)
    return {
        "fields": asked.fields,
        "wrong": asked.wrong,
        "heading": f"{said[0].upper()}{said[1:]}",
        "lands": paper.lands,
        "sentence": words.unbroken(paper.sentence),
        "sum": words.unbroken(paper.sum),
        "lines": [words.unbroken(line) for line in paper.lines if line != paper.sum],
        "kinds": piece.kinds,
        "other": words.unbroken(paper.other_rule.sentence),
        "other_sum": words.unbroken(paper.other_sum),
        "mends": [(words.unbroken(mend.sentence), _mended(asked, piece, mend)) for mend in paper.mends],
        "hits": [
            f"Round {dha.round}: dha {dha.dha} of palla {dha.phrase} meets the target (no. {dha.number} of all)."
            for dha in paper.hits
        ],
        "layout": _layout(piece),
        "drawing": json.dumps(drawing_data(piece), separators=(",", ":")),
        "score": score_address(asked, piece),
        "is_filler": _is_filler(piece),
        "palla_matras": matras(piece.palla.length),
        "may_keep": may_keep,
        "carry": carry_of(asked),
        "heard": {"laya": asked.per_minute, "sa": asked.fields["sa"], "theka": asked.fields["theka"] == "on"},
        "key": key_of(piece),
    }


def _is_filler(piece: Piece) -> bool:
    """Tell whether a palla is nothing but plain syllables."""
    last = piece.palla.length - piece.palla.last_onset
    candidates = [(system, closing) for system in ("bols", "sargam") for closing in (1, 3)]
    return any(_filled(piece.palla, last, system, closing) for system, closing in candidates)


def _filled(palla: Passage, last: Fraction, system: Any, closing: int) -> bool:
    try:
        return filler(palla.length, last, system, closing) == palla
    except LayakoshError:
        return False


def _mended(asked: Asked, piece: Piece, mend: Mend) -> str:
    """Return the address of a piece as a mend makes it; empty where it cannot be written in the address."""
    start, tihai = apply(mend, piece.start, piece.tihai)
    changed = _as_piece(piece, start, tihai)
    return "" if changed is None else asked.address(**piece_fields(changed))


def _as_piece(piece: Piece, start: Fraction, tihai: Tihai) -> Piece | None:
    if piece.round_dam is None:
        if not isinstance(tihai.palla, Passage):
            return None
        return replace(piece, start=start, palla=tihai.palla, dam=tihai.dam)
    if tihai.palla == piece.tihai.palla:
        return replace(piece, start=start, round_dam=tihai.dam)
    return None


def _layout(piece: Piece) -> str:
    from dashboard.composing.run import flat_passage

    caption = f"Written out in {piece.tala.name}: a row for each avartan, a cell for each matra"
    return to_html(lay_out(flat_passage(piece), piece.tala, piece.start), caption)


def carry_of(asked: Asked) -> dict[str, Any]:
    """Return what becomes of the opened piece in another tala or laya."""
    piece = asked.piece
    chosen = asked.fields["into"]
    told: dict[str, Any] = {
        "talas": tala_choices(chosen, None, none="choose a tala"),
        "ratios": [
            Choice(
                ratio,
                f"{spoken(Fraction(ratio))} times as fast ({names})" if ratio != "1" else "as it is (thah)",
                ratio == asked.fields["ratio"],
            )
            for ratio, names in laya_ratios()
        ],
        "sentence": "",
        "choices": [],
        "error": asked.wrong.get("into", "") or asked.wrong.get("ratio", ""),
    }
    if piece is None or not chosen or told["error"]:
        return told
    try:
        tala, ratio = carried_into(asked)
        if piece.target >= tala.matras + 1:
            told["error"] = f"{tala.name} has no matra {spoken(piece.target)}: it is aimed at sam there."
            piece = replace(piece, target=Fraction(1))
        carried = carry(
            piece.tihai, piece.tala, tala, start=piece.start, rule=piece.rule, target=piece.target, ratio=ratio
        )
    except LayakoshError as error:
        return told | {"error": str(error)}
    moved = faster(piece.tihai, ratio)
    told["sentence"] = words.unbroken(f"Left as it is: {carried.sentence}")
    for choice in carried.choices:
        there = _carried_piece(piece, tala, choice.start, choice.paper.tihai, moved)
        told["choices"].append(
            {
                "words": words.unbroken(choice.sentence),
                "changes": ", ".join(choice.changes) or "nothing",
                "small": small_run(there) if there is not None else None,
                "href": _open_elsewhere(asked, there) if there is not None else "",
                "score": score_address(asked, there) if there is not None else "",
            }
        )
    return told


def _carried_piece(piece: Piece, tala: Tala, start: Fraction, tihai: Tihai, moved: Tihai) -> Piece | None:
    """Write a carried tihai as a piece; at another laya its rounds are written out, and it cannot be taken apart."""
    target = replace(piece, tala=tala, start=start)
    if piece.round_dam is None:
        palla = tihai.palla
        return replace(target, palla=palla, dam=tihai.dam) if isinstance(palla, Passage) else None
    if tihai.palla == piece.tihai.palla:
        return replace(target, round_dam=tihai.dam)
    if isinstance(tihai.palla, Passage) and tihai.palla == moved.palla:
        return replace(target, palla=tihai.palla, dam=tihai.dam, bol=None, round_dam=None)
    return None


def _open_elsewhere(asked: Asked, piece: Piece) -> str:
    """Return the address of a piece in another tala: what was wanted goes with it as far as it can."""
    fields: Mapping[str, str] = {
        **asked.fields,
        **dict.fromkeys(CARRIED, ""),
        "kept": "",
        "tala": piece.tala.key,
        "to": str(piece.target),
        "from": str(piece.start),
        **piece_fields(piece),
    }
    return address(fields)


def tala_choices(value: str, tala: Tala | None = None, none: str = "") -> list[Choice]:
    """Return every tala with its variants; the one that is chosen by whatever spelling."""
    key = tala.key if tala is not None else value
    first = [Choice("", none, not value)] if none else []
    made = []
    for each in all_talas():
        made.append(Choice(each.key, f"{each.name}, {each.matras}", each.key == key))
        made += [Choice(other.key, f"{other.name}, {other.matras}", other.key == key) for other in tala_variants(each)]
    return first + made


def _kind_choices(value: str) -> list[Choice]:
    kinds = all_kinds()
    rows = [("", "any plain tihai")] + [(key, f"{kinds[key].name} ({kinds[key].by})") for key in PLAIN_KINDS]
    rows += [(key, f"{kinds[key].name} ({kinds[key].by})") for key in ROUND_KINDS]
    return [Choice(key, text, key == value) for key, text in rows]
