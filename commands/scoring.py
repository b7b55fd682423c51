"""Notation on a page: a tihai, a phrase, a draft or a theka as MusicXML, with tab where a tuning is given."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.fret_options import FretOptions, fret_options
from commands.params import CLOCK, archive_option, json_option, open_archive
from commands.printing import print_json
from theory.errors import LayakoshError

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.exchange.score import Score


@click.command()
@click.argument("recording")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--tihai", "tihai_key", help="A tihai, by its key: t01.")
@click.option("--phrase", "phrase_key", help="A phrase, by its key: p01.")
@click.option("--cycle", type=click.IntRange(0), help="The draft of one avartan.")
@click.option("--from", "start_s", type=CLOCK, help="The draft of a stretch: where it begins.")
@click.option("--to", "end_s", type=CLOCK, help="Where it ends.")
@click.option("--theka", is_flag=True, help="The theka of the tala of --section.")
@click.option("--section", help="The section, for --cycle and --theka, where several could be meant.")
@click.option(
    "--repeats",
    type=click.Choice(["written", "signs"]),
    default="written",
    show_default=True,
    help="A tihai written out in avartans, or its palla between repeat signs.",
)
@click.option("--tuning", default="", help="For a staff of tab: strings in order, G,D,A,E or G3+G3,D4+D4.")
@fret_options
@archive_option
@json_option
def score(
    recording: str,
    file: Path,
    tihai_key: str | None,
    phrase_key: str | None,
    cycle: int | None,
    start_s: float | None,
    end_s: float | None,
    theka: bool,
    section: str | None,
    repeats: str,
    tuning: str,
    archive_path: Path,
    as_json: bool,
    **fretting: Any,
) -> None:
    """Write a tihai, a phrase, a draft or a theka as MusicXML into FILE, which must be new.

    Swaras or bols stand under the notes. The middle Sa is the note nearest to the recording's, or --sa. With --tuning a
    second staff is tab, laid as the other options say (see layakosh frets).
    """
    stretch_given = start_s is not None or end_s is not None
    asked = [tihai_key is not None, phrase_key is not None, cycle is not None, stretch_given, theka]
    if sum(asked) != 1:
        raise click.UsageError("Say what: one of --tihai, --phrase, --cycle, --from with --to, --theka.")
    if stretch_given and (start_s is None or end_s is None):
        raise click.UsageError("Give both --from and --to.")
    given = FretOptions(**fretting)
    if not tuning and (given.string is not None or given.sa_fret is not None):
        raise click.UsageError("--string and --sa-fret go with --tuning.")
    from annotate.exchange.midi_keys import sa_key
    from annotate.exchange.musicxml_out import LEFT_OUT, musicxml
    from annotate.exchange.new_file import write_new
    from annotate.exchange.tab import Hand
    from theory.fretboard import note_to_semitones

    archive = open_archive(archive_path)
    state = archive.state(recording)
    stretch = (start_s or 0.0, end_s or 0.0) if stretch_given else None
    if stretch is not None or cycle is not None:
        asked_for, sa_hz = _draft(archive, recording, stretch, cycle or 0, section)
    else:
        asked_for, sa_hz = _written_down(archive, recording, tihai_key, phrase_key, section), state.recording.sa_hz
    if tuning:
        board, middle_sa = given.instrument(tuning)
        hand = Hand(board, middle_sa, given.string, given.stretch, given.bend)
    else:
        middle_sa = note_to_semitones(given.sa) if given.sa else sa_key(sa_hz)[0]
        hand = None
    part = "tabla" if asked_for.system == "bols" else state.recording.lead or "melody"
    if hand is not None and asked_for.system == "bols":
        raise LayakoshError("Bols have no place on the frets: leave --tuning out.")
    text = musicxml(asked_for, part, sa=middle_sa, hand=hand, repeats="signs" if repeats == "signs" else "written")
    write_new(file, text)
    if as_json:
        print_json({"file": str(file), "title": asked_for.title, "left_out": LEFT_OUT})
    else:
        click.echo(f"{file}: {asked_for.title}.\nThis format does not hold: {LEFT_OUT}.")


def _written_down(
    archive: Archive, recording: str, tihai_key: str | None, phrase_key: str | None, section: str | None
) -> Score:
    """Return a tihai, a phrase, or the theka of a section."""
    from annotate.errors import NoSuchRow
    from annotate.exchange import score as scores

    state, grid = archive.state(recording), archive.grid(recording)
    title = state.recording.title
    if tihai_key is not None:
        return scores.of_tihai(state.tihai(tihai_key), grid, title)
    if phrase_key is not None:
        found = next((each for each in state.phrases if each.phrase == phrase_key), None)
        if found is None:
            raise NoSuchRow("phrase", phrase_key, recording, [each.phrase for each in state.phrases])
        return scores.of_phrase(found, grid, title)
    parts = [each for each in grid.sections if section in (None, each.section)]
    if len(parts) != 1:
        known = ", ".join(f"'{each.section}'" for each in grid.sections) or "none"
        raise LayakoshError(f"Of which section is the theka meant? Name one with --section (with a grid: {known}).")
    return scores.of_theka(parts[0])


def _draft(
    archive: Archive, recording: str, stretch: tuple[float, float] | None, cycle: int, section: str | None
) -> tuple[Score, float | None]:
    """Return the draft of a stretch or an avartan, and the middle Sa that it was heard from, in Hz."""
    from annotate.exchange.score import of_draft
    from annotate.transcription import transcribe, transcribe_cycle

    if stretch is not None:
        drafted = transcribe(archive, recording, *stretch)
    else:
        drafted = transcribe_cycle(archive, recording, cycle, section)
    return of_draft(drafted, archive.state(recording).recording.title), drafted.sa_hz
