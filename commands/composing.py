"""Composing: sums on paper with no recording, what lands, another tala or laya."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from commands.params import MATRAS, archive_option, json_option, rule_option
from commands.printing import print_json, print_table

if TYPE_CHECKING:
    from fractions import Fraction

    from theory.paper import PaperCheck
    from theory.recognise import Recognised
    from theory.solve import Solution
    from theory.solve_chakradar import ChakradarKind, ChakradarSolution
    from theory.tihai import Tihai

CHAKRADARS = ("sadharan", "farmaishi", "kamali")


@click.command()
@click.option("--tala", required=True, help="The tala, as in 'teental'.")
@click.option("--start", required=True, type=MATRAS, help="The matra on which it starts; sam is 1.")
@click.option("--palla", default="", help="The palla in sargam or bols, one word a matra.")
@click.option("--dam", type=MATRAS, default="0", show_default=True, help="The gap in matras.")
@click.option("--bol", default="", help="For a chakradar: what comes before the tihai in each round.")
@click.option("--round-dam", type=MATRAS, help="For a chakradar or nauhakka: the gap between its rounds, in matras.")
@click.option("--text", default="", help="Instead of a palla: a passage written out, in which the tihai is found.")
@rule_option
@click.option("--target", type=MATRAS, default="1", show_default=True, help="The matra it aims at: 1 is sam.")
@archive_option
@json_option
def paper(
    tala: str,
    start: Fraction,
    palla: str,
    dam: Fraction,
    bol: str,
    round_dam: Fraction | None,
    text: str,
    rule: str,
    target: Fraction,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Check a tihai's arithmetic, with no recording at all.

    With --bol or --round-dam it is a chakradar: three rounds, each the bol and then the tihai.
    """
    del archive_path  # every command takes --archive; these need none
    from theory.paper import check
    from theory.talas import get_tala
    from theory.tihai import LandingRule
    from theory.wording import shape

    if bool(palla) == bool(text):
        raise click.UsageError("Give either --palla, or --text with the tihai written out.")
    found, in_tala = _found(text) if text else None, get_tala(tala)
    tihai = found.tihai if found is not None else _written(palla, dam, bol, round_dam)
    begin = in_tala.wrap(start - 1 + found.before.length) if found is not None else start
    result = check(in_tala, begin, tihai, LandingRule(rule), target)
    if as_json:
        print_json({**result.to_json(), "found": shape(tihai)} if found is not None else result.to_json())
        return
    if found is not None:
        click.echo(f"Found: {shape(tihai)}, from {in_tala.name_of(begin)}")
    print_paper(result)


@click.command()
@click.option("--tala", required=True, help="The tala, as in 'teental'.")
@click.option("--start", type=MATRAS, help="The matra to begin on (default: sam; with --palla, any).")
@click.option("--target", type=MATRAS, default="1", show_default=True, help="The matra to land on: 1 is sam.")
@click.option("--subdivision", type=click.IntRange(1, 16), default=1, show_default=True, help="Parts of a matra.")
@click.option("--palla", default="", help="A palla in sargam or bols: find every start and dam that makes it land.")
@rule_option
@click.option("--chakradar", type=click.Choice([*CHAKRADARS, "any"]), help="Find chakradars of this kind instead.")
@click.option("--longest-palla", type=MATRAS, help="In matras (default: one avartan).")
@click.option("--longest-dam", type=MATRAS, help="In matras (default: half an avartan; in chakradars 2).")
@click.option("--cycles", type=click.IntRange(0), help="At most so many avartans.")
@click.option("--most", type=click.IntRange(1), default=20, show_default=True, help="Print so many, simplest first.")
@archive_option
@json_option
def solve(
    tala: str,
    start: Fraction | None,
    target: Fraction,
    subdivision: int,
    palla: str,
    rule: str,
    chakradar: str | None,
    longest_palla: Fraction | None,
    longest_dam: Fraction | None,
    cycles: int | None,
    most: int,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Every palla and dam that lands, simplest first.

    With --palla: every start and dam that makes it land. With --chakradar: every chakradar.
    """
    del archive_path
    from theory.notation import parse
    from theory.solve import solve as find
    from theory.solve import starts_and_dams
    from theory.talas import get_tala
    from theory.tihai import LandingRule

    in_tala, by = get_tala(tala), LandingRule(rule)
    given = parse(palla) if palla else None
    if chakradar:
        from theory.solve_chakradar import solve_chakradars

        if rule == LandingRule.AFTER:
            raise click.UsageError("Chakradars are counted within: leave out --rule after.")
        rounds = solve_chakradars(
            in_tala,
            1 if start is None else start,
            target,
            subdivision,
            kind=None if chakradar == "any" else cast("ChakradarKind", chakradar),
            pallas=[given] if given is not None else (),
            dam_most=2 if longest_dam is None else longest_dam,
        )
        _answer([each for each in rounds if cycles is None or each.cycles <= cycles], CHAKRADAR_COLUMNS, most, as_json)
        return
    widest = in_tala.matras // 2 if longest_dam is None else longest_dam
    if given is not None:
        plain = starts_and_dams(in_tala, given, target, subdivision, by, start=start, dam_most=widest)
    else:
        begin = 1 if start is None else start
        plain = find(in_tala, begin, target, subdivision, by, palla_most=longest_palla, dam_most=widest)
    _answer([each for each in plain if cycles is None or each.cycles <= cycles], PLAIN_COLUMNS, most, as_json)


@click.command()
@click.option("--palla", required=True, help="The palla in sargam or bols, one word a matra.")
@click.option("--dam", type=MATRAS, default="0", show_default=True, help="The gap in matras.")
@click.option("--from-tala", required=True, help="The tala it is played in.")
@click.option("--to-tala", required=True, help="The tala it goes to; the same for another laya only.")
@click.option("--start", type=MATRAS, help="The matra it begins on there (default: the one from which it lands).")
@click.option("--ratio", type=MATRAS, default="1", show_default=True, help="How many times as fast: 2 is dugun.")
@rule_option
@click.option("--target", type=MATRAS, default="1", show_default=True, help="The matra to land on: 1 is sam.")
@click.option("--subdivision", type=click.IntRange(1, 16), default=1, show_default=True, help="Parts of a matra.")
@archive_option
@json_option
def carry(
    palla: str,
    dam: Fraction,
    from_tala: str,
    to_tala: str,
    start: Fraction | None,
    ratio: Fraction,
    rule: str,
    target: Fraction,
    subdivision: int,
    archive_path: Path,
    as_json: bool,
) -> None:
    """The same palla in another tala or laya: what must change for it to land, best first."""
    del archive_path
    from theory.carry import carry as carry_over
    from theory.notation import parse
    from theory.talas import get_tala
    from theory.tihai import LandingRule, Tihai

    carried = carry_over(
        Tihai(parse(palla), dam),
        get_tala(from_tala),
        get_tala(to_tala),
        start=start,
        rule=LandingRule(rule),
        target=target,
        ratio=ratio,
        subdivision=subdivision,
    )
    if as_json:
        print_json(carried.to_json())
        return
    click.echo(f"{carried.original.tala.name}: {carried.original.sum}. {carried.original.sentence}")
    click.echo(f"{carried.unchanged.tala.name}: {carried.sentence}")
    for number, choice in enumerate(carried.choices, 1):
        click.echo(f"  {number}. {choice.sentence}")


PLAIN_COLUMNS = {"start": "from", "palla": "palla", "dam": "dam", "sum": "sum"}
CHAKRADAR_COLUMNS = {
    "kind": "kind", "bol": "bol", "palla": "palla", "dam": "dam", "round_dam": "between rounds", "sum": "sum",
}  # fmt: skip


def _answer(
    solutions: Sequence[Solution] | Sequence[ChakradarSolution], columns: dict[str, str], most: int, as_json: bool
) -> None:
    """Print what lands: all of it as JSON, the simplest as a table."""
    if as_json:
        print_json([each.to_json() for each in solutions])
        return
    if not solutions:
        click.echo("Nothing lands within these limits: try a finer --subdivision, a longer dam, or another --start.")
        return
    shown = [each.to_json() for each in solutions[:most]]
    tala, target = solutions[0].tala, solutions[0].target
    print_table(
        f"{len(solutions)} way{'' if len(solutions) == 1 else 's'} to land on {tala.name_of(target)} in {tala.name}",
        list(columns.values()),
        [[_cell(row[name]) for name in columns] for row in shown],
    )
    if len(solutions) > most:
        click.echo(f"{len(solutions) - most} more; --most {len(solutions)} prints them all.")


def _cell(value: str) -> str:
    """Write a stored count for people, other texts as they are."""
    from theory.numbers import parse_matras, spoken

    return spoken(parse_matras(value)) if value.replace("/", "").isdigit() else value


def _found(text: str) -> Recognised:
    from theory.errors import BadTihai
    from theory.notation import parse
    from theory.recognise import recognise

    found = recognise(parse(text))
    if found is None:
        raise BadTihai("No tihai is in this text: nothing in it comes three times at equal distances.")
    return found


def _written(palla: str, dam: Fraction, bol: str, round_dam: Fraction | None) -> Tihai:
    """Make the tihai that the options describe: plain, or a chakradar of it."""
    from theory.notation import parse
    from theory.tihai import Chain, Tihai

    inner = Tihai(parse(palla), dam)
    if not bol and round_dam is None:
        return inner
    unit = Chain((parse(bol), inner)) if bol else inner
    return Tihai(unit) if round_dam is None else Tihai(unit, round_dam)


def print_paper(result: PaperCheck) -> None:
    """Print a check on paper: line by line, mends, names, and the sum by the other rule."""
    for line in result.lines:
        click.echo(line)
    click.echo(result.sentence)
    for mend in result.mends:
        click.echo(f"  - {mend.sentence}")
    for kind in result.kinds:
        click.echo(kind.sentence)
    for dha in result.hits:
        click.echo(
            f"Round {dha.round}: dha {dha.dha} of palla {dha.phrase} meets the target (no. {dha.number} of all)."
        )
    click.echo(result.other_rule.sentence)
    if result.other_sum:
        click.echo(f"  {result.other_sum}")
