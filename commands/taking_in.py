"""Taking in: recordings, and annotations made elsewhere."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.params import (
    A_FILE,
    archive_option,
    json_option,
    login_or,
    who_option,
)
from commands.printing import concert_row, print_json, progress

if TYPE_CHECKING:
    pass


@click.command()
@click.argument("audio", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--raga", required=True, help="The raga, as in 'Desh'.")
@click.option("--tala", required=True, help="The tala, as in 'teental'.")
@click.option("--title", help="The title (default: the file's name). With one file only.")
@click.option("--sa", help="Sa in Hz or as a note name (D, C#3). Default: heard from the drone.")
@click.option("--on", "performed_on", type=click.DateTime(["%Y-%m-%d"]), help="The day of the performance.")
@who_option
@archive_option
@json_option
def ingest(
    audio: tuple[Path, ...],
    raga: str,
    tala: str,
    title: str | None,
    sa: str | None,
    performed_on: datetime | None,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Take recordings into the archive; prints the short name of each."""
    if title and len(audio) > 1:
        raise click.UsageError("--title names one recording and several files came; take them in one by one.")
    from annotate.archive import Archive
    from annotate.intake import take_in
    from ingest.decode import probe
    from ingest.note_names import hz_of
    from theory.talas import get_tala

    # everything is looked at before anything is taken in: one bad file leaves the archive as it was
    get_tala(tala)
    sa_hz = hz_of(sa) if sa else None
    for path in audio:
        probe(path)
    archive = Archive.open(archive_path, create=True)
    taken: list[dict[str, Any]] = []
    for path in audio:
        with progress(f"Listening to {path.name}") as moved:
            slug = take_in(
                archive,
                path,
                raga=raga,
                tala=tala,
                title=title,
                sa=sa_hz,
                performed_on=performed_on.date() if performed_on else None,
                who=login_or(who),
                progress=moved,
            )
        taken.append(concert_row(archive, slug))
        if not as_json:
            click.echo(slug)
    if as_json:
        print_json(taken)


@click.command()
@click.argument("recording")
@click.option("--sams", type=A_FILE, help="CSV: sam_s, and section and cycle if known.")
@click.option("--tihais", type=A_FILE, help="CSV: start_s, landing_s, and palla, dam, rule ... if known.")
@click.option("--phrases", type=A_FILE, help="CSV: start_s, end_s, swaras, role.")
@click.option("--sections", type=A_FILE, help="CSV: start_s, end_s, label or section, kind, tala.")
@click.option("--raga", default="", help="The raga, for a recording that the archive does not hold yet.")
@click.option("--title", default="", help="The title, for a recording that the archive does not hold yet.")
@who_option
@archive_option
@json_option
def load(
    recording: str,
    sams: Path | None,
    tihais: Path | None,
    phrases: Path | None,
    sections: Path | None,
    raga: str,
    title: str,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Load annotations made elsewhere (plain CSV).

    A recording that the archive does not hold yet is made, without sound.
    """
    if not any((sams, tihais, phrases, sections)):
        raise click.UsageError("Nothing to load: name at least one of --sams, --tihais, --phrases, --sections.")
    from annotate.archive import Archive
    from annotate.tables_in import load as load_tables

    archive = Archive.open(archive_path, create=True)
    slug = load_tables(
        archive,
        recording,
        sams=sams,
        tihais=tihais,
        phrases=phrases,
        sections=sections,
        raga=raga,
        title=title,
        who=login_or(who),
    )
    state = archive.state(slug)
    counts = {
        "recording": slug,
        "sections": len(state.sections),
        "sams": len(state.marked_sams),
        "tihais": len(state.tihais),
        "phrases": len(state.phrases),
    }
    if as_json:
        print_json(counts)
    else:
        click.echo(f"{slug}: now {', '.join(f'{n} {what}' for what, n in counts.items() if what != 'recording')}.")
