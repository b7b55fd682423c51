"""Listening again: evidence made again, annotations left alone."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json
from commands.showing_progress import shown


@click.command("listen-again")
@click.argument("recordings", metavar="[RECORDING]...", nargs=-1)
@click.option(
    "--from",
    "files",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A file that the recording was taken in from; once for each. With one recording only.",
)
@click.option("--quiet", is_flag=True, help="Show no progress.")
@archive_option
@json_option
def listen_again(
    recordings: tuple[str, ...], files: tuple[Path, ...], quiet: bool, archive_path: Path, as_json: bool
) -> None:
    """Measure recordings again and replace their evidence; annotations are not touched.

    Without a name: those whose evidence is missing or was made by another version. It is measured from the files named,
    from the originals if they were kept, else from the listening copy.
    """
    if files and len(recordings) != 1:
        raise click.UsageError("--from names the files of one recording; name that recording, and no other.")
    from annotate.listen_again import listen_again as listen_to_it_again
    from theory.errors import LayakoshError

    archive = open_archive(archive_path)
    slugs = list(recordings or archive.without_evidence())
    for slug in slugs:
        archive.state(slug)  # every name is looked at first
    done: list[dict[str, str]] = []
    failed: list[str] = []
    with shown(slugs, side_by_side=False, quiet=quiet) as display:
        for number, slug in enumerate(slugs):
            try:
                what = listen_to_it_again(archive, slug, files, partial(display.tell, number))
                done.append({"recording": slug, "from": what})
            except LayakoshError as error:
                failed.append(str(error))
    if as_json:
        print_json(done)
    else:
        for row in done:
            click.echo(f"{row['recording']}: listened to again, from {row['from']}.")
        if not slugs:
            click.echo("The evidence of every recording with sound is there.")
    if failed:
        raise LayakoshError("\n".join(failed))
