"""What was played of a raga, as figures: its swaras, steps, turns and resting places, by whom, and over the years."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd
from dash import html

from annotate.errors import BadAnnotation
from annotate.statistics.counted import Of
from annotate.statistics.ngrams import ngram_usage
from annotate.statistics.performances import COLUMN_OF
from annotate.statistics.shares import shares, trends
from dashboard.figures.intervals import intervals_drawing
from dashboard.figures.profile import groups_figure, profile_figure
from dashboard.figures.steps import SIGNS, Kind, Step, steps_figure
from dashboard.later import Tell
from dashboard.library import Library
from dashboard.pages.counted_words import (
    BY_WORDS,
    instances_address,
    number_link,
    percent,
    swara_name,
    swara_words,
)
from dashboard.pages.drawn import drawing, drawn
from dashboard.pages.late import Asked, LatePart, version_of_all
from dashboard.pages.phrases import by_of
from dashboard.parts import Column, Part, table
from theory.clock import format_clock
from theory.errors import UnknownName
from theory.ragas import get_raga
from theory.swaras import letters, split_symbol

MOST_TURNS = 30
MOST_GROUPS = 6
LEAST_SHARE = 0.002
"""A swara heard for less of the time is a slide's or a slip's; it is in the table and not in the figure."""
_SOUND = "The numbers, and their sound"
_MEASURED = {
    "as written": "As written: by the notation of phrases, stretched over their time.",
    "as heard": "As heard: by the melody followed in the sound, each moment counted to the nearest semitone.",
}
_NOTHING = "No phrase of it in swaras is written down yet. Write some down on the page of a performance."


def _make_profile(library: Library, asked: Asked, tell: Tell) -> Part:
    raga = asked["raga"]
    written = shares(library.archive, raga, "swaras")
    heard = shares(library.archive, raga, "heard", tell=tell)
    both = {"as written": _by_item(written), "as heard": _by_item(heard)}
    told = {name: found for name, found in both.items() if found}
    if not told:
        return html.P(f"{_NOTHING} Nor was the melody of any of its recordings followed with Sa known.")
    leading = _leading(raga)
    swaras = [
        letter
        for letter in letters()
        if letter in _own(raga) or any(found.get(letter, 0.0) >= LEAST_SHARE for found in told.values())
    ]
    figure = profile_figure(
        [_label(letter, raga, leading) for letter in swaras],
        {name: [found.get(letter, 0.0) for letter in swaras] for name, found in told.items()},
        "share of time",
    )
    caption = " ".join(_MEASURED[name] for name in told)
    if len(told) > 1:
        caption += " The two are measured differently and never added up."
    return drawn(
        figure, caption, table=_profile_table(raga, written, heard, leading), summary=_SOUND, narrow=True, small=True
    )


def _profile_table(raga: str, written: pd.DataFrame, heard: pd.DataFrame, leading: Mapping[str, str]) -> Part:
    columns = [Column("Swara"), Column("As written", number=True), Column("that is", number=True)]
    columns += [Column("As heard", number=True), Column("that is", number=True)]
    kinds: Sequence[tuple[Of, pd.DataFrame]] = (("swaras", written), ("heard", heard))
    by_item = [(of, {row["item"]: row for row in found.to_dict("records")}) for of, found in kinds]
    rows = []
    for letter in letters():
        cells: list[Part] = []
        for of, found in by_item:
            row = found.get(letter)
            if row is None:
                cells += ["", ""]
                continue
            href = instances_address(raga, of, letter)
            cells += [
                number_link(percent(row["share"]), href, f"{letter} in {raga}"),
                format_clock(row["sounding_s"], 1),
            ]
        if any(cells):
            rows.append([html.Span(swara_words(letter, leading), title=swara_name(letter)), *cells])
    return table("Share of the time of all swaras, and that time (min:s)", columns, rows, cards=False)


def _label(letter: str, raga: str, leading: Mapping[str, str]) -> str:
    """What stands under a bar: the letter, its role; in brackets where the raga does not have it."""
    own = _own(raga)
    said = f"({letter})" if own and letter not in own else letter
    return f"{said}<br>{leading[letter]}" if letter in leading else said


def _own(raga: str) -> tuple[str, ...]:
    try:
        return get_raga(raga).swaras
    except UnknownName:
        return ()


def _leading(raga: str) -> dict[str, str]:
    try:
        known = get_raga(raga)
    except UnknownName:
        return {}
    return {letter: role for letter, role in ((known.samvadi, "samvadi"), (known.vadi, "vadi")) if letter}


def _by_item(found: pd.DataFrame) -> dict[str, float]:
    return {str(item): float(share) for item, share in zip(found["item"], found["share"], strict=True)}


def _make_steps(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga = asked["raga"]
    found = ngram_usage(library.archive, raga, 2)
    if found.empty or not found["count"].sum():
        return html.P(_NOTHING)
    steps = steps_of(found)
    used = {step.source for step in steps} | {step.target for step in steps}
    swaras = [letter for letter in letters() if letter in used]
    caption = (
        "Row: the swara left; column: the swara gone to, octaves together. The larger the sign, the more often; "
        "hollow: a step of aroha or avaroha that nobody played. Both are one typical way of the sources; a step in "
        "neither is no fault."
    )
    return drawn(
        steps_figure(swaras, steps),
        caption,
        table=_runs_table(raga, found, 2, len(found)),
        summary=_SOUND,
        narrow=True,
        small=True,
    )


def steps_of(found: pd.DataFrame) -> list[Step]:
    """Return the steps between letters, octaves taken together, from runs of two swaras.

    Parameters
    ----------
    found : DataFrame
        From :func:`annotate.statistics.ngrams.ngram_usage` of length 2.
    """
    sums: dict[tuple[str, str], dict[str, Any]] = {}
    for row in found.to_dict("records"):
        source, target = (split_symbol(symbol)[0].letter for symbol in str(row["item"]).split())
        told = sums.setdefault(
            (source, target), {"count": 0, "up": False, "down": False, "usual": False, "known": True}
        )
        told["count"] += int(row["count"])
        if pd.isna(row["unusual"]):
            told["known"] = False
            continue
        told["up"] |= bool(row["in_aroha"])
        told["down"] |= bool(row["in_avaroha"])
        told["usual"] |= not row["unusual"]
    return [Step(source, target, told["count"], _kind(told)) for (source, target), told in sums.items()]


def _kind(told: Mapping[str, Any]) -> Kind:
    if not told["known"]:
        return "untold"
    if told["up"] or told["down"]:
        return "both" if told["up"] and told["down"] else "aroha" if told["up"] else "avaroha"
    return "other" if told["usual"] else "unusual"


def _make_turns(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga = asked["raga"]
    found = ngram_usage(library.archive, raga, 3)
    played, unplayed = found[found["count"] > 0], found[found["count"] == 0]
    if played.empty:
        return html.P(_NOTHING)
    parts: list[Part] = [_runs_table(raga, played, 3, MOST_TURNS)]
    if len(unplayed):
        parts.append(
            html.P(
                [
                    "Of aroha and avaroha nobody played: ",
                    html.Span("; ".join(unplayed["item"]), className="notation"),
                    ".",
                ]
            )
        )
    return parts


_SIGN_WORDS: Mapping[Kind, str] = {
    "aroha": "▲ aroha",
    "avaroha": "▼ avaroha",
    "both": "◆ both",
    "other": "",
    "unusual": "✕ unusual",
    "untold": "",
}


def _runs_table(raga: str, found: pd.DataFrame, length: int, most: int) -> Part:
    rows = []
    for row in found.head(most).to_dict("records"):
        told = {
            "known": not pd.isna(row["unusual"]),
            "up": bool(row["in_aroha"]) if not pd.isna(row["in_aroha"]) else False,
            "down": bool(row["in_avaroha"]) if not pd.isna(row["in_avaroha"]) else False,
            "usual": not pd.isna(row["unusual"]) and not row["unusual"],
        }
        kind = _kind(told)
        href = instances_address(raga, "ngrams", row["item"], length=str(length))
        count = int(row["count"])
        rows.append(
            [
                html.Span(row["item"], className="notation"),
                number_link(str(count), href, row["item"]) if count else "0",
                percent(row["share"]),
                str(row["performances"]),
                html.Span(_SIGN_WORDS[kind], title=row["why"] or SIGNS[kind][2]),
            ]
        )
    columns = [
        Column("Swaras"),
        Column("Times", number=True),
        Column("Share", number=True),
        Column("Performances", number=True),
        Column("By the sources"),
    ]
    cut = f", the {most} most played of {len(found)}" if len(found) > most else ""
    return table(f"Neighbouring swaras within a phrase{cut}", columns, rows, cards=False)


def _make_endings(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga = asked["raga"]
    found = shares(library.archive, raga, "endings")
    if found.empty:
        return html.P(_NOTHING)
    by_item, leading = _by_item(found), _leading(raga)
    swaras = [letter for letter in letters() if letter in by_item]
    rows = [
        [
            html.Span(swara_words(row["item"], leading), title=swara_name(row["item"])),
            number_link(str(row["count"]), instances_address(raga, "endings", row["item"]), f"ends on {row['item']}"),
            percent(row["share"]),
        ]
        for row in found.to_dict("records")
    ]
    columns = [Column("Swara"), Column("Phrases", number=True), Column("Share", number=True)]
    return drawn(
        profile_figure(
            [_label(letter, raga, leading) for letter in swaras],
            {"phrases": [by_item[letter] for letter in swaras]},
            "share of phrases",
        ),
        "The swara that a phrase ends on, whatever its octave (nyas).",
        table=table("Phrases by their last swara", columns, rows, cards=False),
        summary=_SOUND,
        narrow=True,
        small=True,
    )


def _make_by(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga, by = asked["raga"], by_of(asked)
    found = shares(library.archive, raga, "swaras", by)
    if found.empty:
        return html.P(f"Nothing to tell apart {BY_WORDS[by]}: {_NOTHING[0].lower()}{_NOTHING[1:]}")
    column = COLUMN_OF[by]
    found = found.assign(value=found[column].astype(str))
    most = found.groupby("value")["sounding_s"].sum().sort_values(ascending=False, kind="stable").index
    shown = sorted(str(value) for value in most[:MOST_GROUPS])
    swaras = [letter for letter in letters() if letter in set(found["item"])]
    groups = {value: _by_item(found[found["value"] == value]) for value in (str(each) for each in most)}
    columns = [Column(BY_WORDS[by].removeprefix("by ").capitalize()), *(Column(each, number=True) for each in swaras)]
    rows = [
        [
            value,
            *(
                number_link(
                    percent(by_item[letter]),
                    instances_address(raga, "swaras", letter, by=by, value=value),
                    f"{letter} of {value}",
                )
                if letter in by_item
                else ""
                for letter in swaras
            ),
        ]
        for value, by_item in groups.items()
    ]
    cut = (
        f" The {MOST_GROUPS} with the most are drawn; the table has all {len(groups)}."
        if len(groups) > MOST_GROUPS
        else ""
    )
    return drawn(
        groups_figure(
            [_label(letter, raga, _leading(raga)) for letter in swaras],
            {value: [groups[value].get(letter, 0.0) for letter in swaras] for value in shown},
        ),
        f"Share of the written time of each swara, {BY_WORDS[by]}.{cut}",
        table=table("Share of written time", columns, rows),
        summary=_SOUND,
        narrow=True,
        small=True,
    )


def _make_trends(library: Library, asked: Asked, _tell: Tell) -> Part:
    raga = asked["raga"]
    try:
        found = trends(library.archive, raga, "swaras")
    except BadAnnotation as error:
        return html.P(str(error))
    order = {letter: number for number, letter in enumerate(letters())}
    found = found.sort_values("item", key=lambda items: items.map(order))
    change, low, high = (list(100 * found[name]) for name in ("change_per_year", "low_per_year", "high_per_year"))
    first = found.iloc[0]
    rows = [
        [
            row["item"],
            percent(row["share"]),
            f"{100 * row['change_per_year']:+.2f}",
            f"{100 * row['low_per_year']:+.2f} to {100 * row['high_per_year']:+.2f}",
        ]
        for row in found.to_dict("records")
    ]
    columns = [
        Column("Swara"), Column("Mean share", number=True), Column("Change (points a year)", number=True),
        Column("95 % interval", number=True),
    ]  # fmt: skip
    caption = (
        f"Change of each swara's share of written time a year, {first['first_year']} to {first['last_year']}, over "
        f"{first['performances']} performances (median of all pairs). Full sign: the interval leaves out no change."
    )
    caption += f" With {first['note']} the interval promises more than it keeps." if first["note"] else ""
    return drawing(
        "intervals",
        intervals_drawing(list(found["item"]), change, low, high, "change (percentage points a year)", "swara"),
        caption,
        table=table("Change over the years", columns, rows, cards=False),
    )


PROFILE = LatePart("raga-profile", ("raga", "by"), _make_profile, version_of_all)
STEPS = LatePart("raga-steps", ("raga", "by"), _make_steps, version_of_all)
TURNS = LatePart("raga-turns", ("raga", "by"), _make_turns, version_of_all)
ENDINGS = LatePart("raga-endings", ("raga", "by"), _make_endings, version_of_all)
BY = LatePart("raga-by", ("raga", "by"), _make_by, version_of_all)
TRENDS = LatePart("raga-trends", ("raga", "by"), _make_trends, version_of_all)
PARTS = (PROFILE, STEPS, TURNS, ENDINGS, BY, TRENDS)
