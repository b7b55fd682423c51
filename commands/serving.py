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
from commands.printing import print_json_list, print_verdicts, progress, verdicts_of

if TYPE_CHECKING:
    from dashboard.access.sharing import Sharing

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
        print_json_list(verdict.to_json() for of_one in verdicts for verdict in of_one)
    else:
        print_verdicts(archive, verdicts)
    if not no_serve:
        _serve_on(archive_path, port)


@click.command()
@click.option("--port", type=click.IntRange(1, 65535), default=DEFAULT_PORT, show_default=True)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="The address to listen on; another than this machine's own needs people ('layakosh people').",
)
@click.option("--name", "names", multiple=True, help="A name under which people reach it: concerts.example.org.")
@click.option("--behind-proxy", "proxy", default="", help="The address of the reverse proxy in front, to believe it.")
@click.option("--https", is_flag=True, help="People reach it by https only (the proxy's): cookies go no other way.")
@click.option(
    "--largest",
    type=click.FloatRange(0.001, 1000),
    default=4.0,
    show_default=True,
    help="The largest recording that may be sent from a browser, in GB.",
)
@archive_option
def serve(
    port: int, host: str, names: tuple[str, ...], proxy: str, https: bool, largest: float, archive_path: Path
) -> None:
    """Serve the dashboard, to this machine alone or to people who log in."""
    from dashboard.access.sharing import Sharing
    from dashboard.memory import spare_memory

    spare_memory()
    open_archive(archive_path).index("recordings", ["recording"])  # with a bar here, and not while a page is waited for
    _serve_on(archive_path, port, Sharing(host, names, proxy, https, int(largest * 1e9)))


def _serve_on(archive_path: Path, port: int, sharing: Sharing | None = None) -> None:
    from dashboard.access.sharing import Sharing
    from dashboard.server import serve as serve_dashboard

    sharing = sharing or Sharing()
    serve_dashboard(archive_path, port, sharing, ready=lambda: _say_where(port, sharing))


def _say_where(port: int, sharing: Sharing) -> None:
    if sharing.proxy:
        scheme = "https" if sharing.https else "http"
        click.echo(f"The dashboard is at {scheme}://{sharing.names[0]} (by way of {sharing.proxy}; Ctrl-C ends it).")
        return
    host = f"[{sharing.host}]" if ":" in sharing.host else sharing.host
    click.echo(f"The dashboard is at http://{host}:{port} (Ctrl-C ends it).")
    if sharing.beyond_this_machine:
        click.echo(
            "Passwords and sound cross the network unencrypted. In a network that you do not trust, put a reverse "
            "proxy with TLS in front (--behind-proxy, --https).",
            err=True,
        )
