"""What the commands print: JSON, tables for the terminal, progress, verdicts."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.verify import Verdict


def print_json(value: Any) -> None:
    """Print a value as JSON; texts keep their own letters."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table for the terminal; long cells fold."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table

    table = Table(title=title, title_justify="left", box=SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        table.add_column(column, overflow="fold")
    for row in rows:
        table.add_row(*row)
    Console().print(table)


@contextmanager
def progress(label: str) -> Iterator[Callable[[float], None]]:
    """Show a bar on standard error; give the function that moves it, called with the share done (0 to 1)."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as display:
        task = display.add_task(label, total=1.0)
        yield lambda share: display.update(task, completed=share)


def concert_rows(archive: Archive, slugs: Collection[str] | None = None) -> list[dict[str, Any]]:
    """Return what the archive holds of each performance, or of those named, as plain values."""
    from annotate.labels import raga_name
    from annotate.overview import overviews

    return [
        {
            "recording": each.recording.slug,
            "title": each.recording.title,
            "raga": raga_name(each.recording.raga),
            "talas": list(each.talas),
            "performed_on": each.recording.performed_on.isoformat() if each.recording.performed_on else None,
            "venue": each.recording.venue,
            "musicians": [{"role": role, "name": name} for role, name in each.recording.musicians],
            "duration_s": each.recording.duration_s,
            "files": [{"name": file.name, "role": file.role, "start_s": file.start_s} for file in each.recording.files],
            "sa_hz": each.recording.sa_hz,
            "sections": each.sections,
            "sams": each.sams,
            "sams_marked": each.sams_marked,
            "tihais": each.tihais,
            "phrases": each.phrases,
        }
        for each in overviews(archive, slugs)
    ]


def verdicts_of(archive: Archive, slugs: Iterable[str]) -> list[Verdict]:
    """Return the verdicts on every tihai of the given recordings."""
    from annotate.verify import verify_recording

    return [verdict for slug in slugs for verdict in verify_recording(archive, slug)]


def print_verdicts(archive: Archive, verdicts: Sequence[Verdict]) -> None:
    """Print the verdicts, a table per performance, and how many land."""
    if not verdicts:
        click.echo(
            "No tihais yet. Record one: layakosh tihai RECORDING --starts T1,T2,T3 --landing T --palla TEXT --dam N"
        )
        return
    for slug in dict.fromkeys(verdict.recording for verdict in verdicts):
        click.secho(f"\n{archive.state(slug).recording.title}  ({slug})\n", bold=True)
        for verdict in verdicts:
            if verdict.recording == slug:
                _print_verdict(verdict)
    landing = sum(verdict.verdict == "lands" for verdict in verdicts)
    click.echo(f"\n{landing} of {len(verdicts)} land as played.")


def _print_verdict(verdict: Verdict) -> None:
    """Where, the verdict, by how much and the sum; the sentence; the mends where the sum misses."""
    from theory.clock import format_clock

    colour = {"lands": "green", "misses": "red", "unknown": None}.get(verdict.verdict, "yellow")
    dev = "" if verdict.landing_dev_ms is None else f"{verdict.landing_dev_ms:+.0f} ms"
    click.echo(
        f"  {verdict.tihai}  {format_clock(verdict.landing_s):>10}  {click.style(f'{verdict.verdict:<7}', fg=colour)}"
        f"{dev:>8}  {verdict.paper.sum if verdict.paper else 'no sum written down'}"
    )
    click.echo(f"       {verdict.sentence}")
    for mend in verdict.paper.mends if verdict.paper else ():
        click.echo(f"       - {mend.sentence}")
