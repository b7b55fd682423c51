"""Statistics: how a raga is used, two sides compared, how far two annotators agree."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.frames import Columns, print_frame, rows_of
from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json, progress
from commands.searching import most_option

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.statistics.agreement import Agreement, Marks

OF = ("phrases", "roles", "ngrams", "swaras", "heard", "endings", "places")

of_option = click.option(
    "--of",
    type=click.Choice(OF),
    default="phrases",
    show_default=True,
    help="phrases, their roles, ngrams (runs of swaras), the time of swaras as written or as heard in the sound, "
    "endings (nyas), places in the avartan.",
)
length_option = click.option(
    "--length", type=click.IntRange(2, 6), default=3, show_default=True, help="Swaras in a run, for --of ngrams."
)


def _told_of_reading(of: str) -> AbstractContextManager[Callable[[float], None] | None]:
    """Only what was heard takes long enough to be told of: the evidence of every recording is read."""
    return progress("Reading what was heard") if of == "heard" else nullcontext()


def _percent(share: float) -> str:
    return f"{share:.1%}"


def _points(difference: float) -> str:
    return f"{100 * difference:+.1f}"


_SHARES: Columns = {
    "year": ("year", "{:.0f}".format),
    "instrument": ("instrument", str),
    "musician": ("musician", str),
    "recording": ("recording", str),
    "item": ("", str),
    "swaras": ("swaras", str),
    "role": ("role", str),
    "tala": ("tala", str),
    "matra": ("matra", str),
    "count": ("times", str),
    "sounding_s": ("seconds", "{:.1f}".format),
    "share": ("share", _percent),
    "share_of_phrases": ("share of phrases", _percent),
    "share_of_time": ("share of time", _percent),
    "performances": ("performances", str),
    "of_performances": ("of", str),
    "mean_matra": ("begins about", "matra {:.2f}".format),
    "leading": ("", str),
    "in_aroha": ("in aroha", {True: "yes", False: ""}.__getitem__),
    "in_avaroha": ("in avaroha", {True: "yes", False: ""}.__getitem__),
    "why": ("unusual", str),
}
_TRENDS: Columns = {
    "item": ("", str),
    "share": ("mean share", _percent),
    "change_per_year": ("points a year", _points),
    "low_per_year": ("from", _points),
    "high_per_year": ("to", _points),
}


@click.command("raga-use")
@click.argument("raga")
@of_option
@click.option(
    "--by",
    type=click.Choice(["year", "instrument", "musician", "performance"]),
    default=None,
    help="Split by it; a performance by several musicians counts for each.",
)
@length_option
@click.option("--change", is_flag=True, help="How the shares change over the years, with 95 % intervals.")
@most_option
@archive_option
@json_option
def raga_use(
    raga: str,
    of: str,
    by: str | None,
    length: int,
    change: bool,
    most: int | None,
    archive_path: Path,
    as_json: bool,
) -> None:
    """What a raga is played with, over all its performances.

    Shares are of all that was counted. Swaras as written (--of swaras) and as heard (--of heard) are never mixed.
    """
    if change and by:
        raise click.UsageError("--change goes over all performances: leave --by out.")
    from annotate.statistics.shares import trends

    archive = open_archive(archive_path)
    with _told_of_reading(of) as tell:
        rows = (
            trends(archive, raga, of, length, tell)  # type: ignore[arg-type]
            if change
            else _use(archive, raga, of, by or "", length, tell)
        )
    columns = {name: shown for name, shown in (_TRENDS if change else _SHARES).items() if name in rows}
    title = f"{raga}: {of}" + (" over the years" if change else f" by {by}" if by else "")
    none = f"Nothing of {raga} is written down that could be counted."
    if of == "heard":
        none = f"No melody of {raga} was followed. Take a recording in: layakosh ingest AUDIO --raga R --tala T"
    print_frame(rows, title, columns, as_json=as_json, none=none, most=most)
    if change and not as_json:
        first = rows.iloc[0]
        click.echo(f"{first['performances']} performances, {first['first_year']} to {first['last_year']}.")
        if first["note"]:
            click.echo(f"Note: {first['note']}: the intervals promise more than they keep.")


def _use(archive: Archive, raga: str, of: Any, by: Any, length: int, tell: Any) -> Any:
    from annotate.statistics.ngrams import ngram_usage
    from annotate.statistics.shares import shares
    from annotate.statistics.usage import phrase_usage, positions

    if of == "phrases":
        return phrase_usage(archive, raga, by).drop(columns="raga")
    if of == "places":
        return positions(archive, raga, by).drop(columns="raga")
    if of == "ngrams":
        return ngram_usage(archive, raga, length, by)
    return shares(archive, raga, of, by, length, tell)


@click.command("side-by-side")
@click.argument("first")
@click.argument("second")
@of_option
@length_option
@click.option(
    "--seed", type=int, default=20, show_default=True, help="Of the draws; the same seed, the same intervals."
)
@click.option(
    "--draws", type=click.IntRange(100, 100_000), default=2000, show_default=True, help="How often units are drawn."
)
@most_option
@archive_option
@json_option
def side_by_side(
    first: str,
    second: str,
    of: str,
    length: int,
    seed: int,
    draws: int,
    most: int | None,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Two performances or two ragas: the share of each item here and there, and how sure the difference is.

    FIRST and SECOND are each the short name of a recording, or a raga. The 95 % interval comes of drawing
    performances again (phrases, where a side is a single performance). Of twenty items of no difference one interval
    leaves 0 out by chance.
    """
    from annotate.statistics.side_by_side import side_by_side

    with _told_of_reading(of) as tell:
        found = side_by_side(open_archive(archive_path), first, second, of, length, seed, draws, tell)  # type: ignore[arg-type]
    if as_json:
        rows = found.rows if most is None else found.rows.head(most)
        print_json(found.to_json() | {"rows": rows_of(rows)})
        return
    columns: Columns = {
        "item": (of, str),
        "share_a": (found.a, _percent),
        "share_b": (found.b, _percent),
        "difference": ("difference, points", _points),
        "low": ("from", _points),
        "high": ("to", _points),
    }
    print_frame(found.rows, f"{found.a} and {found.b}: {of}", columns, as_json=False, none="", most=most)
    click.echo(f"Drawn again: {found.units_a} and {found.units_b} {found.drawn}, {draws} times, seed {seed}.")
    if found.note:
        click.echo(f"Note: {found.note}.")


@click.command()
@click.argument("sources", nargs=-1, required=True, metavar="RECORDING or A B")
@click.option("--between", nargs=2, metavar="A B", help="Two annotators of one recording, or of one JAMS file.")
@click.option("--table", type=click.Choice(["tihais", "phrases", "sections"]), default="phrases", show_default=True)
@click.option(
    "--label",
    type=click.Choice(["kind", "swaras"]),
    default="kind",
    show_default=True,
    help="What is compared: kind or role, or the swaras as written.",
)
@click.option(
    "--within",
    "tolerance_s",
    type=float,
    default=0.5,
    show_default=True,
    help="Seconds between two starts of one thing.",
)
@archive_option
@json_option
def agreement(
    sources: tuple[str, ...],
    between: tuple[str, str] | None,
    table: str,
    label: str,
    tolerance_s: float,
    archive_path: Path,
    as_json: bool,
) -> None:
    """How far two people agree on times and labels.

    Of one recording or JAMS file with --between A B; or of two recordings or files (CSV with start_s, end_s and
    label; lines of start, end and label with tabs between; JAMS).
    """
    from annotate.statistics.agreement import agreement

    first, second = _marks(sources, between, table, label, archive_path)
    found = agreement(first, second, tolerance_s)
    if as_json:
        print_json(found.to_json())
    else:
        _print_agreement(found)


def _marks(
    sources: tuple[str, ...], between: tuple[str, str] | None, table: Any, label: Any, archive_path: Path
) -> tuple[Marks, Marks]:
    from annotate.statistics.annotators import marks_by, marks_in_file, marks_of

    if len(sources) != (1 if between else 2):
        raise click.UsageError("Name one recording or JAMS file with --between A B, or two recordings or files.")
    if between:
        if _is_file(sources[0]):
            return marks_in_file(Path(sources[0]), between[0]), marks_in_file(Path(sources[0]), between[1])
        first, second = marks_by(open_archive(archive_path), sources[0], between, table, label)
        return first, second
    archive = None if all(_is_file(source) for source in sources) else open_archive(archive_path)
    first, second = (
        marks_in_file(Path(source)) if archive is None or _is_file(source) else marks_of(archive, source, table, label)
        for source in sources
    )
    return first, second


def _is_file(source: str) -> bool:
    """Short names of recordings have no dot in them."""
    return bool(Path(source).suffix)


def _print_agreement(found: Agreement) -> None:
    click.secho(f"{found.a} ({found.marks_a} marks) and {found.b} ({found.marks_b})", bold=True)
    click.echo(f"  both marked {found.pairs}, their starts within {found.tolerance_s:g} s: {found.found_by_both:.0%}")
    click.echo(f"  of all limits, starts and ends alike: {found.boundaries_by_both:.0%}")
    if found.pairs:
        for name in ("start", "end"):
            off, apart, far = (getattr(found, f"{name}_{what}_ms") for what in ("off", "apart", "apart_95"))
            click.echo(f"  {name}s: {found.b} {off:+.0f} ms (median), {apart:.0f} ms apart, 95 % within {far:.0f} ms")
        click.echo(f"  labels alike: {found.labels_alike:.0%}; kappa {_kappa(found)}")
    click.echo(f"  kappa of the labels at every moment: {_told(found.kappa_of_moments)}")
    for row in found.to_json()["labels"]:
        if row["label_a"] != row["label_b"]:
            click.echo(f"  {row['pairs']} x '{row['label_a']}' is '{row['label_b']}' for {found.b}")
    if found.note:
        click.echo(f"Note: {found.note}.")


def _kappa(found: Agreement) -> str:
    told = _told(found.kappa)
    return told if math.isnan(found.kappa_low) else f"{told} ({found.kappa_low:.2f} to {found.kappa_high:.2f})"


def _told(value: float) -> str:
    return "cannot be told (one label only)" if math.isnan(value) else f"{value:.2f}"
