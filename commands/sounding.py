"""Practice sound: a piece as played, slowly and in a loop, or played from its notation by our own instruments."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.ending import cleared_when_ended
from commands.params import MATRAS, archive_option, json_option, open_archive
from commands.printing import print_json, progress
from theory.errors import LayakoshError

if TYPE_CHECKING:
    from annotate.practice.sounds import SoundMade

_MOST_STEPS = 60


@click.command()
@click.argument("piece_address", metavar="PIECE")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--from",
    "source",
    type=click.Choice(["recording", "notation"]),
    default="recording",
    show_default=True,
    help="As it was played, or what is written down, played by our own instruments.",
)
@click.option("--speeds", default="50,65,80,100", show_default=True, help="Of the recording, in percent, in order.")
@click.option("--laya", default="", metavar="N,N", help="Of notation, in matras a minute (default: as played).")
@click.option("--from-laya", metavar="N", help="Of notation: the first laya of a climb ...")
@click.option("--to-laya", metavar="N", help="... and the last,")
@click.option("--step", metavar="N", default="10", show_default=True, help="so many matras a minute at a time.")
@click.option("--rounds", type=int, default=2, show_default=True, help="How often it comes at each speed or laya.")
@click.option("--count-in", type=MATRAS, help="Matras of clicks before it (default: one avartan).")
@click.option("--exactly", is_flag=True, help="The passage alone, each round counted in; not from sam to sam.")
@click.option("--before", type=int, default=0, show_default=True, help="From sam to sam: so many avartans earlier.")
@click.option("--after", type=int, help="Avartans after the sam (default: 1 where it lands on it, so that it rings).")
@click.option("--palla-alone", is_flag=True, help="Each palla by itself, in its place in the tala.")
@click.option("--clicks/--no-clicks", default=None, help="A click on every matra (default: under a recording).")
@click.option("--theka/--no-theka", default=None, help="The theka under it (default: under notation).")
@click.option("--tanpura/--no-tanpura", default=None, help="A soft tanpura under it (default: under notation).")
@click.option("--lehra", is_flag=True, help="A melodic cycle made from the raga's swaras under it.")
@click.option("--dam-clicks/--no-dam-clicks", default=True, show_default=True, help="Of notation: count each dam.")
@click.option("--sa", default="", metavar="HZ or NOTE", help="Sa of our instruments (default: the recording's).")
@click.option(
    "--under", "under_db", type=float, default=0.0, metavar="DB", help="What lies under it, louder or softer."
)
@click.option("--loudness", type=float, default=-16.0, show_default=True, metavar="LUFS", help="Of the whole file.")
@click.option("--mono", is_flag=True, help="One channel, and a third of the bits in MP3 and Opus.")
@click.option("--licence", default="", help="What the musician allows, for the tags.")
@archive_option
@json_option
def practice_sound(
    piece_address: str,
    file: Path,
    source: str,
    speeds: str,
    laya: str,
    from_laya: str | None,
    to_laya: str | None,
    step: str,
    archive_path: Path,
    as_json: bool,
    palla_alone: bool,
    sa: str,
    loudness: float,
    **wished: Any,
) -> None:
    """Make a sound to practise PIECE with (desh-gat/t02) and write it as FILE.flac, .mp3 or .opus, which must be new.

    From sam to sam, round after round without a gap, after a count-in of clicks: sam is high, khali low. From the
    recording it is played slowly at its own pitch; from notation it is plucked (bols: struck) at any Sa and laya, over
    theka and tanpura, each dam counted by clicks. All files are equally loud.
    """
    from annotate.practice.pieces import piece
    from annotate.practice.sounds import SoundWishes, write_sound
    from ingest.note_names import hz_of
    from theory.clock import format_clock

    if (from_laya is None) != (to_laya is None) or (laya and from_laya):
        raise click.UsageError("Give --from-laya with --to-laya, or --laya alone.")
    if source == "recording" and (laya or from_laya):
        raise click.UsageError("A laya goes with --from notation; a recording takes --speeds.")
    layas = _climb(from_laya, to_laya, step) if from_laya and to_laya else _numbers(laya, "--laya")
    wishes = SoundWishes(
        source=source,  # type: ignore[arg-type]
        speeds=_numbers(speeds, "--speeds"),
        layas=layas,
        pallas_alone=palla_alone,
        sa_hz=hz_of(sa) if sa else None,
        loudness_lufs=loudness,
        **wished,
    )
    archive = open_archive(archive_path)
    of = piece(archive, piece_address)
    with cleared_when_ended(), progress(f"Making {file.name}") as tell:
        made = write_sound(archive, of, wishes, file, tell)
    if as_json:
        print_json(_told(made))
        return
    for part in made.parts:
        if part.kind in ("count-in", "round", "closing"):
            click.echo(f"{format_clock(part.begin_s, 3)}  {part.words}")
    click.echo(
        f"{file}: {format_clock(made.duration_s, 3)}, {made.loudness_lufs:.1f} LUFS, peak {made.true_peak_db:.1f} dBTP."
    )
    for sentence in made.told:
        click.echo(sentence, err=True)


def _numbers(text: str, option: str) -> tuple[Fraction, ...]:
    return tuple(_number(each, option) for each in text.split(",") if each.strip())


def _number(text: str, option: str) -> Fraction:
    try:
        return Fraction(text.strip().rstrip("%").strip())
    except (ValueError, ZeroDivisionError):
        raise LayakoshError(f"{option}: '{text.strip()}' is no number. Write for example 50,65,80,100.") from None


def _climb(from_laya: str, to_laya: str, step: str) -> tuple[Fraction, ...]:
    """Layas from one to another, the last one included."""
    first, last = _number(from_laya, "--from-laya"), _number(to_laya, "--to-laya")
    by = _number(step, "--step")
    if by <= 0 or last < first or (last - first) / by > _MOST_STEPS:
        raise LayakoshError(
            f"From laya {first} to {last} by {by}: the last is to be above the first, in at most {_MOST_STEPS} steps."
        )
    steps = [first + by * number for number in range(int((last - first) / by) + 1)]
    return (*steps, last) if steps[-1] < last else tuple(steps)


def _told(made: SoundMade) -> dict[str, Any]:
    return {
        "file": str(made.path),
        "duration_s": made.duration_s,
        "loudness_lufs": round(made.loudness_lufs, 2),
        "true_peak_db": round(made.true_peak_db, 2),
        "parts": [
            {"begin_s": each.begin_s, "end_s": each.end_s, "words": each.words, "kind": each.kind}
            for each in made.parts
        ],
        "told": list(made.told),
    }
