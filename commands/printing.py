"""What the commands print: JSON, tables for the terminal, progress, verdicts."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.verify import Verdict


def print_json(value: Any) -> None:
    """Print a value as JSON; texts keep their own letters."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2))


def print_json_list(values: Iterable[Any]) -> None:
    """Print values as a JSON list, each as soon as it is there: a large archive has hundreds of thousands."""
    before = "["
    for value in values:
        text = json.dumps(value, ensure_ascii=False, indent=2).replace("\n", "\n  ")
        click.echo(f"{before}\n  {text}", nl=False)
        before = ","
    click.echo("\n]" if before == "," else "[]")


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


def bar_when_told(label: str) -> Callable[[float], None]:
    """Return a function that shows a bar on standard error from when it is first told a share until it is told 1."""
    shown = ExitStack()
    click.get_current_context().call_on_close(shown.close)
    moved: list[Callable[[float], None]] = []

    def tell(share: float) -> None:
        if not moved:
            moved.append(shown.enter_context(progress(label)))
        moved[0](share)
        if share >= 1:
            shown.close()
            moved.clear()

    return tell


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


def verdicts_of(archive: Archive, slugs: Iterable[str]) -> Iterator[list[Verdict]]:
    """Give the verdicts on every tihai, one recording after the other."""
    from annotate.verify import verify_recording

    return (verify_recording(archive, slug) for slug in slugs)


def print_verdicts(archive: Archive, verdicts: Iterable[Sequence[Verdict]]) -> None:
    """Print the verdicts as they come, those of a performance together, and how many land."""
    there = landing = 0
    for of_one in filter(None, verdicts):
        slug = of_one[0].recording
        click.secho(f"\n{archive.state(slug).recording.title}  ({slug})\n", bold=True)
        for verdict in of_one:
            _print_verdict(verdict)
        there += len(of_one)
        landing += sum(verdict.verdict == "lands" for verdict in of_one)
    if there:
        click.echo(f"\n{landing} of {there} land as played.")
        return
    click.echo("No tihais yet. Record one: layakosh tihai RECORDING --starts T1,T2,T3 --landing T --palla TEXT --dam N")


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
