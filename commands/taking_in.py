"""Taking in: recordings, and annotations made elsewhere."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import (
    archive_option,
    json_option,
    login_or,
    who_option,
)
from commands.printing import concert_rows, print_json
from commands.showing_progress import shown

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.intake_many import Outcome
    from annotate.intake_source import Source
    from ingest.listen import Sound

KEEP = ("compact", "original", "nothing")
STOPPED = 130
"""Exit code after Ctrl-C, as shells have it: 128 and the number of the signal."""
MOST_NAMED = 8
"""Files named at most where many are passed over."""


@click.command()
@click.argument("audio", nargs=-1, type=click.Path(path_type=Path))
@click.option("--join", is_flag=True, help="The files, in the order given, are the parts of one recording.")
@click.option("--stems", type=click.Path(path_type=Path), help="A folder with the stems of one recording.")
@click.option("--raga", required=True, help="The raga, as in 'Desh'.")
@click.option(
    "--tala",
    "talas",
    required=True,
    multiple=True,
    help="The tala, as in 'teental'. Given several times: each section's is chosen among them.",
)
@click.option("--title", help="The title (default: the file's name). With one recording only.")
@click.option("--sa", help="Sa in Hz or as a note name (D, C#3). Default: heard from the drone.")
@click.option(
    "--tempo-names",
    metavar="SCHOOL",
    help="By whose names of the laya gats are called: doubling, handbook or research (default: the archive's).",
)
@click.option("--on", "performed_on", type=click.DateTime(["%Y-%m-%d"]), help="The day of the performance.")
@click.option(
    "--keep",
    type=click.Choice(KEEP),
    default="compact",
    show_default=True,
    help="What to keep of the sound: a compact listening copy, the files as they came beside it, or nothing.",
)
@click.option(
    "--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Recordings taken in at the same time."
)
@click.option("--cluster", metavar="ADDRESS", help="Take them in on the workers of a Dask scheduler, tcp://HOST:PORT.")
@click.option("--quiet", is_flag=True, help="Show no progress.")
@who_option
@archive_option
@json_option
def ingest(
    audio: tuple[Path, ...],
    join: bool,
    stems: Path | None,
    raga: str,
    talas: tuple[str, ...],
    title: str | None,
    sa: str | None,
    tempo_names: str | None,
    performed_on: datetime | None,
    keep: str,
    workers: int,
    cluster: str | None,
    quiet: bool,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Take recordings into the archive; prints the short name of each.

    Every file is a recording of its own, and of a folder every sound file in it; with --join the files are the parts of
    one. A run that was stopped, whatever stopped it, goes on where it was when it is given again.
    """
    from annotate.archive import Archive
    from annotate.errors import ClusterOutOfReach
    from annotate.intake_cluster import take_in_by_cluster
    from annotate.intake_many import Order, take_in_each
    from annotate.intake_source import look_at, refuse_repeated
    from ingest.kind_names import tempo_school
    from ingest.note_names import hz_of
    from theory.talas import get_tala

    if cluster and workers > 1:
        raise click.UsageError("--workers is for this machine alone; how many a cluster works on, its own workers say.")
    # everything is looked at before anything is taken in: one bad file leaves the archive as it was
    for tala in talas:
        get_tala(tala)
    if tempo_names:
        tempo_school(tempo_names)
    sa_hz = hz_of(sa) if sa else None
    sounds, remarks = _sounds(audio, join, stems)
    sources = [look_at(sound) for sound in sounds]
    if title and len(sources) > 1:
        raise click.UsageError("--title names one recording and several came; take them in one by one.")
    refuse_repeated([(file.name, file.sha256) for source in sources for file in source.files])
    archive = Archive.open(archive_path, create=True)
    new, known = _without_known(archive, sources)
    how = {
        "raga": raga,
        "tala": talas,
        "title": title,
        "sa": sa_hz,
        "performed_on": performed_on.date() if performed_on else None,
        "keep": keep,
        "tempo_school": tempo_names,
        "who": login_or(who),
    }
    orders = [Order(source, how) for source in new]
    with shown([source.name for source in new], side_by_side=workers > 1 or bool(cluster), quiet=quiet) as display:
        for line in (*remarks, *known, *(line for source in new for line in _order_of_parts(source))):
            display.say(line)
        settled: list[Outcome] = []

        def ended(number: int, outcome: Outcome) -> None:
            settled.append(outcome)
            if outcome.error:
                display.failed(number)

        try:
            if cluster:
                outcomes = take_in_by_cluster(cluster, archive, orders, display.tell, ended, display.say)
            else:
                outcomes = take_in_each(archive, orders, workers, display.tell, ended)
        except (KeyboardInterrupt, ClusterOutOfReach) as broken_off:
            for slug in (outcome.slug for outcome in settled if outcome.slug):
                click.echo(slug)
            if isinstance(broken_off, ClusterOutOfReach):
                raise
            display.say("Stopped. Nothing of the recording in hand is in the archive; give the same again to go on.")
            raise click.exceptions.Exit(STOPPED) from None
    _report(archive, outcomes, known, as_json)


def _sounds(audio: tuple[Path, ...], join: bool, stems: Path | None) -> tuple[list[Sound], list[str]]:
    """The recordings that the arguments name, each with its files, and what is to be said of the rest."""
    from annotate.intake_source import sounds_in
    from ingest.listen import Sound, stems_in

    if stems is not None:
        if audio or join:
            raise click.UsageError(
                "--stems names the folder with everything of one recording; leave out the other files and --join "
                "(a mix of everything may lie in the folder too)."
            )
        return [stems_in(stems)], []
    if not audio:
        raise click.UsageError("Nothing to take in: name sound files, a folder of them, or --stems FOLDER.")
    folders = [path for path in audio if path.is_dir()]
    if join:
        if folders:
            raise click.UsageError(
                f"--join joins files in the order in which they are named, and '{folders[0]}' is a folder. "
                "Name its files instead."
            )
        if len(audio) < 2:
            raise click.UsageError("--join makes one recording of several files, and only one was named.")
        return [Sound(audio)], []
    sounds: list[Sound] = []
    remarks: list[str] = []
    for path in audio:
        here, passed_over = sounds_in(path) if path.is_dir() else ([Sound((path,))], [])
        sounds.extend(here)
        if passed_over:
            more = f" and {len(passed_over) - MOST_NAMED} more" if len(passed_over) > MOST_NAMED else ""
            remarks.append(f"No sound, passed over in '{path}': {', '.join(passed_over[:MOST_NAMED])}{more}")
    return sounds, remarks


def _without_known(archive: Archive, sources: list[Source]) -> tuple[list[Source], list[str]]:
    """What is not in the archive yet, and what to say of the rest; a single one that is there is an error."""
    from annotate.errors import AlreadyTakenIn
    from annotate.intake_source import refuse_known

    new, known = [], []
    for source in sources:
        try:
            refuse_known(archive, source)
            new.append(source)
        except AlreadyTakenIn as there:
            if len(sources) == 1:
                raise
            gone = f", withdrawn; to have it back: layakosh bring-back {there.slug}" if there.withdrawn else ""
            known.append(f"{source.name}: in the archive already, as '{there.slug}'{gone}")
    return new, known


def _order_of_parts(source: Source) -> list[str]:
    """For a recording of several files: what each is and where it begins."""
    from theory.clock import format_clock

    if len(source.files) == 1:
        return []
    lines = [f"One recording of {len(source.files)} files, {format_clock(source.duration_s)} long:"]
    for file in source.files:
        what = "" if file.role == "whole" else f"  {file.role}"
        lines.append(f"  from {format_clock(file.start_s):>10}  {file.name}{what}")
    return lines


def _report(archive: Archive, outcomes: list[Outcome], known: list[str], as_json: bool) -> None:
    """Print what was taken in, and end with exit code 2 where something was not."""
    from theory.errors import LayakoshError

    slugs = [outcome.slug for outcome in outcomes if outcome.slug]
    failed = [outcome for outcome in outcomes if outcome.error]
    if as_json:
        print_json(concert_rows(archive, slugs))
    else:
        for slug in slugs:
            click.echo(slug)
    if not failed:
        return
    if len(outcomes) + len(known) == 1:
        raise LayakoshError(failed[0].error)
    lines = [f"{len(failed)} of {len(outcomes)} recordings could not be taken in:"]
    lines += [f"  {each.order.source.name}: {each.error}" for each in failed]
    raise LayakoshError("\n".join(lines))
