"""What is played again and again: mukhras and recurring phrases of a recording or a raga, and taking one up."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option, login_or, open_archive, who_option
from commands.printing import print_json, print_table, progress

if TYPE_CHECKING:
    from annotate.recurring.across import RecurringInRaga
    from annotate.recurring.finding import RecurringPhrase
    from annotate.recurring.naming import ProposedName

MOST_TIMES = 6


@click.command()
@click.argument("recording", required=False)
@click.option("--raga", help="In all recordings of a raga, like phrases together, instead of one recording.")
@click.option("--take-up", "number", type=click.IntRange(1), help="Write this one of the list down, wherever it comes.")
@click.option("--role", help="The role of what is taken up: mukhra, pakad ... (default: that of its first name).")
@who_option
@archive_option
@json_option
def recurring(
    recording: str | None,
    raga: str | None,
    number: int | None,
    role: str | None,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """What is played again and again: the mukhra, and phrases.

    Phrases that come more often than the line's own habit makes likely, in alap too, each with all its places and
    names proposed from the raga's phrases, aroha and avaroha. Schools and teachers differ: a name is a proposal.
    """
    if (recording is None) == (raga is None):
        raise click.UsageError("Name either a recording, or a raga with --raga.")
    if raga is not None and number is not None:
        raise click.UsageError("--take-up goes with one recording.")
    if role is not None and number is None:
        raise click.UsageError("--role goes with --take-up.")
    archive = open_archive(archive_path)
    if raga is not None:
        from annotate.recurring.across import recurring_in_raga

        with progress("Listening for what comes again") as tell:
            found = recurring_in_raga(archive, raga, tell)
        print_json(found.to_json()) if as_json else _print_raga(raga, found)
        return
    from annotate.recurring.finding import recurring_in

    with progress("Listening for what comes again") as tell:
        heard = recurring_in(archive, str(recording), tell)
    if number is None:
        rows = [{"number": place, **each.to_json()} for place, each in enumerate(heard.phrases, 1)]
        print_json(rows) if as_json else _print_recording(str(recording), heard.phrases)
        return
    if number > len(heard.phrases):
        raise click.UsageError(f"--take-up {number}: '{recording}' has {len(heard.phrases)} of them.")
    from annotate.recurring.taking_up import take_up

    phrase = heard.phrases[number - 1]
    said = next((name.role for name in phrase.names if name.role), "") if role is None else role
    taken = take_up(archive, phrase, said, login_or(who))
    if as_json:
        print_json({"written": [each.phrase for each in taken.written], "known": taken.known, "role": said})
    else:
        as_what = f" as {said}" if said else ""
        click.echo(f"{phrase.text}: {len(taken.written)} written down{as_what}.")
        if taken.known:
            click.echo(f"{taken.known} were written down already.")
        if taken.written:
            click.echo(f"Take it back: layakosh undo {recording}")


def _print_recording(recording: str, phrases: tuple[RecurringPhrase, ...]) -> None:
    from theory.clock import format_clock

    rows = []
    for number, each in enumerate(phrases, 1):
        times = ", ".join(format_clock(coming.start_s, 1) for coming in each.comings[:MOST_TIMES])
        more = f" and {len(each.comings) - MOST_TIMES} more" if len(each.comings) > MOST_TIMES else ""
        rows.append([str(number), each.text, str(len(each.comings)), _named(each.names), times + more])
    print_table(f"Heard again and again in {recording}", ["", "swaras", "times", "proposed name", "at"], rows)
    _print_whys(phrases)


def _print_raga(raga: str, found: RecurringInRaga) -> None:
    rows = [
        [str(number), each.text, str(each.count), str(len(each.recordings)), _named(each.names)]
        for number, each in enumerate(found.groups, 1)
    ]
    print_table(f"Heard again and again in {raga}", ["", "swaras", "times", "performances", "proposed name"], rows)
    for slug, why in found.not_searched.items():
        click.echo(f"Not searched, {slug}: {why}")


def _print_whys(phrases: tuple[RecurringPhrase, ...]) -> None:
    for number, each in enumerate(phrases, 1):
        for name in each.names:
            click.echo(f"{number}, {name.name}: {name.why}")


def _named(names: tuple[ProposedName, ...]) -> str:
    return ", ".join(f"{each.name} ({each.agreement:.0%})" for each in names)
