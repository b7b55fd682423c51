"""The melody in swaras: a draft of the notation of a stretch, and how long each swara sounds."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import CLOCK, archive_option, json_option, open_archive
from commands.printing import print_json, print_table, progress

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.swaras import SwarasHeard
    from annotate.transcription import Transcription

MOST_LISTED = 12

sa_option = click.option(
    "--sa",
    help="The middle Sa: Hz, or a note with its octave, D3 (default: the recording's, in the octave most played in).",
)


@click.command()
@click.argument("recording")
@click.option("--from", "start_s", type=CLOCK, help="Where the stretch begins; with --to.")
@click.option("--to", "end_s", type=CLOCK, help="Where it ends.")
@click.option("--cycle", type=click.IntRange(0), help="One avartan, instead of --from and --to.")
@click.option("--section", help="The section that --cycle counts in, where several have such an avartan.")
@click.option(
    "--parts",
    type=click.IntRange(1, 16),
    help="Into how many parts every matra is divided (default: each as it was played).",
)
@sa_option
@archive_option
@json_option
def transcribe(
    recording: str,
    start_s: float | None,
    end_s: float | None,
    cycle: int | None,
    section: str | None,
    parts: int | None,
    sa: str | None,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Draft the notation of a stretch, one avartan a line.

    A proposal to be corrected by ear: what is doubtful is listed below it.
    """
    stretch = _stretch(start_s, end_s, cycle, section)
    from annotate.transcription import transcribe as of_stretch
    from annotate.transcription import transcribe_cycle

    archive = open_archive(archive_path)
    with _listening(archive, recording) as tell:
        if stretch is not None:
            drafted = of_stretch(archive, recording, *stretch, parts, tell, _hz(sa))
        else:
            drafted = transcribe_cycle(archive, recording, cycle or 0, section, parts, tell, _hz(sa))
    if as_json:
        print_json(drafted.to_json())
    else:
        _print_draft(recording, drafted, stretch)


@click.command()
@click.argument("recording")
@click.option("--from", "start_s", type=CLOCK, help="Where the stretch begins (default: at the start).")
@click.option("--to", "end_s", type=CLOCK, help="Where it ends (default: at the end).")
@sa_option
@archive_option
@json_option
def swaras(
    recording: str, start_s: float | None, end_s: float | None, sa: str | None, archive_path: Path, as_json: bool
) -> None:
    """How long each swara sounds, and which are held.

    Of the time in which the lead sounds, octaves together.
    """
    from annotate.swaras import swaras_of

    archive = open_archive(archive_path)
    with _listening(archive, recording) as tell:
        heard = swaras_of(archive, recording, start_s, end_s, tell, _hz(sa))
    if as_json:
        print_json(heard.to_json())
    else:
        _print_swaras(recording, heard)


def _stretch(
    start_s: float | None, end_s: float | None, cycle: int | None, section: str | None
) -> tuple[float, float] | None:
    """Return the stretch that is asked for; None for an avartan."""
    if cycle is not None:
        if start_s is not None or end_s is not None:
            raise click.UsageError("Give either --from and --to, or --cycle.")
        return None
    if start_s is None or end_s is None:
        raise click.UsageError("Say which stretch: --from T --to T, or --cycle N.")
    if section is not None:
        raise click.UsageError("--section goes with --cycle.")
    return start_s, end_s


def _hz(sa: str | None) -> float | None:
    from ingest.note_names import hz_of

    return None if sa is None else hz_of(sa)


@contextmanager
def _listening(archive: Archive, recording: str) -> Iterator[Callable[[float], None] | None]:
    """Show a bar where the melody has yet to be followed."""
    if recording in archive and archive.melody(recording) is None:
        with progress("Following the melody") as tell:
            yield tell
    else:
        yield None


def _print_draft(recording: str, drafted: Transcription, stretch: tuple[float, float] | None) -> None:
    from theory.clock import format_clock
    from theory.layout import lay_out, legend, to_terminal

    tala = drafted.tala
    times = f"{format_clock(drafted.matra_s[0], 1)} to {format_clock(drafted.matra_s[-1], 1)}"
    click.secho(f"{drafted.section}, {times}: {tala.name}, {legend(tala)}", bold=True)
    click.echo(f"Middle Sa: {drafted.sa_hz:.1f} Hz.")
    layout = lay_out(drafted.draft.passage, tala, drafted.matra)
    width = shutil.get_terminal_size((120, 24)).columns
    click.echo(to_terminal(layout, width, first_avartan=drafted.cycle, numbered=True))
    if stretch is not None:
        _print_left_out(recording, drafted, stretch)
    if drafted.doubtful_sams_s:
        places = ", ".join(format_clock(sam_s, 1) for sam_s in drafted.doubtful_sams_s)
        click.echo(f"The grid is in doubt of the sam at {places}: see layakosh doubts {recording}")
    doubtful = sorted((each for each in drafted.draft.notes if each.doubtful), key=lambda each: each.sureness)
    if not drafted.draft.notes:
        click.echo("The lead is not heard here.")
    elif not doubtful:
        click.echo(f"A draft: {len(drafted.draft.notes)} notes, none of them doubtful. Correct it by ear.")
    else:
        click.echo(
            f"A draft: {len(doubtful)} of {len(drafted.draft.notes)} notes are doubtful, the most doubtful first:"
        )
        for each in doubtful[:MOST_LISTED]:
            cycle, matra = drafted.place(each.note.onset)
            why = f"or {each.other}" if each.other else "hardly sounds"
            where = f"avartan {cycle}, matra {_mixed(matra.numerator, matra.denominator)}"
            at = format_clock(drafted.time_s(each.note.onset), 1)
            click.echo(f"  {at:>8}  {where}: {each.note.symbol} ({why})")
        if len(doubtful) > MOST_LISTED:
            click.echo(f"  and {len(doubtful) - MOST_LISTED} more: --json lists every note.")


def _print_left_out(recording: str, drafted: Transcription, stretch: tuple[float, float]) -> None:
    """Say which part of the stretch has no matras of this section."""
    from theory.clock import format_clock

    first_s, last_s = drafted.matra_s[0], drafted.matra_s[-1]
    parts = [(stretch[0], first_s, first_s - stretch[0] > drafted.matra_s[1] - first_s)]
    parts += [(last_s, stretch[1], stretch[1] - last_s > last_s - drafted.matra_s[-2])]
    for start_s, end_s, left_out in parts:
        if left_out:
            click.echo(
                f"Not drafted, '{drafted.section}' has no matras there: {format_clock(start_s, 1)} to "
                f"{format_clock(end_s, 1)}. See layakosh sections {recording}"
            )


def _mixed(numerator: int, denominator: int) -> str:
    whole, rest = divmod(numerator, denominator)
    return f"{whole} {rest}/{denominator}" if rest else str(whole)


def _print_swaras(recording: str, heard: SwarasHeard) -> None:
    from theory.clock import format_clock

    held: dict[str, list[float]] = {}
    for each in heard.held:
        held.setdefault(each.swara.strip(".'"), []).append(each.end_s - each.start_s)
    rows = []
    for swara, share in heard.shares.items():
        of_raga = swara in heard.raga
        if of_raga or share >= 0.005:
            times_s = held.get(swara, [])
            note = "" if of_raga or not heard.raga else "not in the raga's table"
            longest = f"{max(times_s):.1f} s" if times_s else ""
            rows.append([swara, f"{share:.1%}", str(len(times_s) or ""), longest, note])
    stretch = f"{format_clock(heard.start_s, 1)} to {format_clock(heard.end_s, 1)}"
    click.secho(f"{recording}, {stretch}: the lead sounds for {heard.voiced_s:.0f} s", bold=True)
    click.echo(f"Middle Sa: {heard.sa_hz:.1f} Hz.")
    print_table("", ["swara", "share of that", "times held", "longest", ""], rows)
    longest_held = sorted(heard.held, key=lambda each: each.start_s - each.end_s)[:MOST_LISTED]
    if longest_held:
        places = (
            f"{each.swara} {each.end_s - each.start_s:.1f} s at {format_clock(each.start_s, 1)}"
            for each in longest_held
        )
        click.echo("Held longest: " + ", ".join(places))
