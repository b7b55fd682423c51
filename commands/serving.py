"""The demo and the dashboard."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import (
    archive_option,
    json_option,
    open_archive,
)
from commands.printing import print_json, print_verdicts, progress, verdicts_of

if TYPE_CHECKING:
    pass

DEFAULT_PORT = 8050


@click.command()
@archive_option
@click.option("--no-serve", is_flag=True, help="End after printing the verdicts.")
@click.option("--port", type=click.IntRange(1, 65535), default=DEFAULT_PORT, show_default=True)
@json_option
def demo(archive_path: Path, no_serve: bool, port: int, as_json: bool) -> None:
    """Run the main job on the sample performances and serve them."""
    from annotate.archive import Archive
    from annotate.demo import take_in_samples

    archive = Archive.open(archive_path, create=True)
    with progress("Listening to the sample performances") as moved:
        slugs = take_in_samples(archive, moved)
    verdicts = verdicts_of(archive, slugs)
    if as_json:
        print_json([verdict.to_json() for verdict in verdicts])
    else:
        print_verdicts(archive, verdicts)
    if not no_serve:
        _serve_on(archive_path, port)


@click.command()
@click.option("--port", type=click.IntRange(1, 65535), default=DEFAULT_PORT, show_default=True)
@archive_option
def serve(port: int, archive_path: Path) -> None:
    """Serve the dashboard on 127.0.0.1."""
    open_archive(archive_path)
    _serve_on(archive_path, port)


def _serve_on(archive_path: Path, port: int) -> None:
    from dashboard.server import serve as serve_dashboard

    serve_dashboard(
        archive_path,
        port=port,
        ready=lambda: click.echo(f"The dashboard is at http://127.0.0.1:{port} (Ctrl-C ends it)."),
    )
