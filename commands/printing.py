"""What the commands print: JSON, tables for the terminal, progress, verdicts."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
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


def concert_row(archive: Archive, slug: str) -> dict[str, Any]:
    """Return what the archive holds of one performance, as plain values."""
    from annotate.labels import raga_name

    state = archive.state(slug)
    recording, sams = state.recording, archive.grid(slug).sams()
    return {
        "recording": slug,
        "title": recording.title,
        "raga": raga_name(recording.raga),
        "talas": list(dict.fromkeys(section.tala for section in state.sections if section.tala)),
        "performed_on": recording.performed_on.isoformat() if recording.performed_on else None,
        "venue": recording.venue,
        "musicians": [{"role": role, "name": name} for role, name in recording.musicians],
        "duration_s": recording.duration_s,
        "files": [{"name": file.name, "role": file.role, "start_s": file.start_s} for file in recording.files],
        "sa_hz": recording.sa_hz,
        "sections": len(state.sections),
        "sams": len(sams),
        "sams_marked": int((sams["source"] == "marked").sum()),
        "tihais": len(state.tihais),
        "phrases": len(state.phrases),
    }


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
