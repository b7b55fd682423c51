"""Packs for students: pieces with sheets, sounds and notation, as a folder or a zip that opens in any browser."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.ending import cleared_when_ended
from commands.fret_options import FretOptions
from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json, progress
from commands.sheet_options import hand_of, sheet_options
from commands.showing_progress import spoken_bytes
from theory.errors import LayakoshError

if TYPE_CHECKING:
    from annotate.practice.packs.making import Made

NO_SPEED = "none"
SLOWEST = 25


@click.command()
@click.argument("name")
@click.option(
    "--tihais", multiple=True, metavar="R/K,K", help="Tihais of a recording: desh-gat/t01,t03. May be repeated."
)
@click.option(
    "--phrases", multiple=True, metavar="R/K,K", help="Phrases of a recording: desh-gat/p02. May be repeated."
)
@click.option("--course", metavar="C", help="A course: its chapters, with their notes, become headings of the page.")
@click.option("--raga", default="", help="A raga whose ascent and descent open the sheet of all pieces.")
@click.option(
    "--licence",
    "licence_text",
    help="What the musician allows: CC-BY-4.0, CC-BY-SA-4.0, CC-BY-NC-4.0, CC-BY-NC-SA-4.0, CC-BY-ND-4.0, "
    "CC-BY-NC-ND-4.0, CC0-1.0, students (all rights reserved, for my students only), or own words.",
)
@click.option("--zip", "zipped", is_flag=True, help="Make one zip file instead of a folder.")
@click.option("--one-page", is_flag=True, help="Make one page with everything in it: for phones.")
@click.option(
    "--to",
    "around",
    type=click.Path(path_type=Path),
    default=Path(),
    help="The folder in which it is made (default: this one).",
)
@click.option("--replace", is_flag=True, help="Put it in the place of a pack that is there already.")
@click.option(
    "--speeds", default="50,65,80,100", show_default=True, help="Of the recording, in percent; none leaves it out."
)
@click.option(
    "--notation-speeds",
    default="60,100",
    show_default=True,
    help="Of what is played from the notation, in percent of the laya as played; none leaves it out.",
)
@click.option("--no-pdf", is_flag=True, help="Leave the sheets as PDF out; they are there as HTML.")
@sheet_options
@click.option(
    "--workers", type=click.IntRange(1, 64), default=2, show_default=True, help="How many work on it at once."
)
@archive_option
@json_option
def pack(
    name: str,
    tihais: tuple[str, ...],
    phrases: tuple[str, ...],
    course: str | None,
    raga: str,
    licence_text: str | None,
    zipped: bool,
    one_page: bool,
    around: Path,
    replace: bool,
    speeds: str,
    notation_speeds: str,
    script: str,
    paper: str,
    played: bool,
    no_pdf: bool,
    tuning: str,
    workers: int,
    archive_path: Path,
    as_json: bool,
    **fretting: Any,
) -> None:
    """Make a pack called NAME: a page with players, sheets, sounds, MusicXML and MIDI, for students.

    It opens offline in any browser, from the disk: index.html. It says whose performance it is and what --licence
    allows; without one, that copying is not allowed. --sa is the note of Sa in MusicXML, MIDI and on the neck; left
    out, the nearest to each recording's own. Of a course, its own licence counts where --licence is left out.
    """
    from annotate.courses.shelf import Courses
    from annotate.practice.packs.chapters import CoursePieces, of_course
    from annotate.practice.packs.licences import NONE, licence_of
    from annotate.practice.packs.making import make_pack
    from annotate.practice.packs.names import folder_of
    from annotate.practice.packs.wishes import PackWishes
    from annotate.practice.pieces import pieces
    from annotate.practice.sheets.wishes import SheetWishes
    from theory.fretboard import note_to_semitones

    given = FretOptions(**fretting)
    if zipped and one_page:
        raise click.UsageError("Either --zip or --one-page.")
    if not tuning and (given.string is not None or given.sa_fret is not None):
        raise click.UsageError("--string and --sa-fret go with --tuning.")
    if course and (tihais or phrases):
        raise click.UsageError("--course goes without --tihais and --phrases: its chapters name the pieces.")
    archive = open_archive(archive_path)
    lessons = Courses(archive).get(course).content if course else None
    held = of_course(archive, lessons) if lessons else CoursePieces((), pieces(archive, tihais, phrases), ())
    licence_text = licence_text or (lessons.licence if lessons else "") or None
    licence = NONE if licence_text is None else licence_of(licence_text)
    hand = hand_of(given, tuning)
    sa = hand.sa if hand is not None else note_to_semitones(given.sa) if given.sa else None
    wishes = PackWishes(
        " ".join(name.split()) or "Pack",
        licence,
        _speeds(speeds, "--speeds", 100),
        _speeds(notation_speeds, "--notation-speeds", 200),
        SheetWishes(script=script, paper=paper, hand=hand, played=played, raga=raga),  # type: ignore[arg-type]
        pdf=not no_pdf,
        sa=sa,
        chapters=held.chapters,
    )
    place = around / (folder_of(wishes.title) + (".zip" if zipped else ".html" if one_page else ""))
    with cleared_when_ended(), progress(f"Making {place.name}") as tell:
        made = make_pack(archive, held.pieces, wishes, place, replace=replace, workers=workers, tell=tell)
    if as_json:
        print_json(_told(made, held.lacks))
    else:
        click.echo(_words(made))
    for each in (*held.lacks, *made.lacks):
        click.echo(each, err=True)
    if licence is NONE:
        click.echo(_ask_for_licence(), err=True)


def _speeds(text: str, option: str, most: int) -> tuple[Fraction, ...]:
    """Read speeds in percent, the slowest first, each once."""
    if text.strip() in ("", NO_SPEED):
        return ()
    found = set()
    for each in text.split(","):
        try:
            speed = Fraction(each.strip().rstrip("%").strip())
        except (ValueError, ZeroDivisionError):
            raise LayakoshError(
                f"{option}: '{each.strip()}' is no speed. Write percents, 50,65,80,100, or none."
            ) from None
        if not SLOWEST <= speed <= most:
            raise LayakoshError(f"{option}: a speed is {SLOWEST} to {most} percent, not {each.strip()}.")
        found.add(speed)
    return tuple(sorted(found))


def _words(made: Made) -> str:
    pieces = len(made.pack.pieces)
    sounds = sum(len(each.sounds) for each in made.pack.pieces)
    ways = {".zip": "unpack it, then open index.html", ".html": "open it"}
    open_it = ways.get(made.place.suffix, "open its index.html")
    return (
        f"{made.place}: {pieces} {'piece' if pieces == 1 else 'pieces'}, {sounds} sounds, {spoken_bytes(made.size)}. "
        f"{made.pack.licence.name}.\nTo use it, {open_it} in a browser."
    )


def _told(made: Made, left_out: tuple[str, ...]) -> dict[str, Any]:
    return {
        "place": str(made.place),
        "pieces": [each.piece.address for each in made.pack.pieces],
        "sounds": sum(len(each.sounds) for each in made.pack.pieces),
        "bytes": made.size,
        "licence": made.pack.licence.key,
        "lacks": [*left_out, *made.lacks],
    }


def _ask_for_licence() -> str:
    from annotate.practice.packs.licences import STANDARD

    return (
        "No licence was given, so the pack says that copying is not allowed. Ask the musicians what they allow, then "
        f"say it with --licence: {', '.join(STANDARD)}, or their own words."
    )
