"""Query by example: a passage, a phrase or a sound file, and what in the archive is like it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import A_FILE, CLOCK, archive_option, json_option, open_archive
from commands.printing import print_json, print_table, progress

if TYPE_CHECKING:
    from annotate.alike.asked import Asked
    from annotate.alike.seek import Sought
    from annotate.archive import Archive


@click.command()
@click.argument("recording", required=False)
@click.option("--from", "start_s", type=CLOCK, help="Where the passage begins; with RECORDING and --to.")
@click.option("--to", "end_s", type=CLOCK, help="Where it ends.")
@click.option("--phrase", default="", help="Instead of a passage: a phrase in swaras or bols, in quotes.")
@click.option("--sound", type=A_FILE, help="Instead of a passage: a sound file of one, played for this.")
@click.option("--sa", help="With --sound: its Sa, Hz or a note with its octave (default: as it is heard in it).")
@click.option("--raga", default="", help="With --phrase or --sound: the raga whose steps it may be moved by.")
@click.option(
    "--by",
    type=click.Choice(["any", "melody", "tabla", "both"]),
    default="any",
    show_default=True,
    help="Which has to be alike: melody, tabla, both, or whichever is.",
)
@click.option(
    "--transposed",
    type=click.Choice(["also", "only", "not"]),
    default="also",
    show_default=True,
    help="Whether the melody may lie higher or lower.",
)
@click.option("--same-laya", is_flag=True, help="Only where it takes as many matras (off the grid: as long).")
@click.option("--within", multiple=True, help="Look only in this recording; may be given several times.")
@click.option("--top", type=click.IntRange(1, 1000), default=20, show_default=True, help="How many are listed.")
@archive_option
@json_option
def like(
    recording: str | None,
    start_s: float | None,
    end_s: float | None,
    phrase: str,
    sound: Path | None,
    sa: str | None,
    raga: str,
    by: str,
    transposed: str,
    same_laya: bool,
    within: tuple[str, ...],
    top: int,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Find what in the archive is like a passage, the likest first.

    A passage of RECORDING (--from, --to), a phrase ("m P N S'", "DhaTiTe Dha") or a sound file. Transposition, by
    semitones or by steps of the raga, and another laya are allowed for.
    """
    from annotate.alike.seek import seek
    from ingest.finding.like import Wanted

    archive = open_archive(archive_path)
    asked = _asked(archive, recording, (start_s, end_s), (phrase, sound), (sa, raga))
    wanted = Wanted(by, transposed, not same_laya)  # type: ignore[arg-type] # click has checked them
    with progress("Looking through the recordings") as tell:
        sought = seek(archive, asked, wanted, within or None, top, tell)
    if as_json:
        print_json([each.to_json() for each in sought.likes])
    else:
        _print(sought)


def _asked(
    archive: Archive,
    recording: str | None,
    stretch: tuple[float | None, float | None],
    instead: tuple[str, Path | None],
    details: tuple[str | None, str],
) -> Asked:
    """Return what is looked for: exactly one of the three ways to say it."""
    from annotate.alike.asked import passage_of, phrase_of, sound_file_of
    from ingest.note_names import hz_of

    (start_s, end_s), (phrase, sound), (sa, raga) = stretch, instead, details
    if sum(each is not None for each in (recording, phrase or None, sound)) != 1:
        raise click.UsageError("Say what to look for: RECORDING --from T --to T, --phrase TEXT, or --sound FILE.")
    if sa is not None and sound is None:
        raise click.UsageError("--sa goes with --sound.")
    if recording is not None:
        if start_s is None or end_s is None:
            raise click.UsageError("Say which passage: --from T --to T.")
        return passage_of(archive, recording, start_s, end_s)
    if start_s is not None or end_s is not None:
        raise click.UsageError("--from and --to go with RECORDING.")
    if sound is not None:
        return sound_file_of(sound, None if sa is None else hz_of(sa), raga)
    return phrase_of(phrase, raga)


def _print(sought: Sought) -> None:
    from annotate.alike.likes import place_words
    from theory.clock import format_clock

    rows = [
        [str(number), each.recording, format_clock(each.start_s, 1), format_clock(each.end_s, 1), place_words(each),
         each.alike_words, f"{each.height:.1f}", each.moved_words, each.laya_words]
        for number, each in enumerate(sought.likes, 1)
    ]  # fmt: skip
    columns = ["", "recording", "from", "to", "where", "how alike", "stands out", "melody lies", "laya"]
    if rows:
        print_table("", columns, rows)
    else:
        click.echo("Nothing is like it.")
    many = f"{sought.searched} recording{'' if sought.searched == 1 else 's'}"
    click.echo(f"Looked through {many}. 'Stands out': times the usual spread above what that recording is like anyway.")
    if sought.not_measured:
        click.echo(f"Never measured, so not looked through: {', '.join(sought.not_measured)}")
