"""Keeping an archive: checking it, mending it, taking it into one file and putting it back."""

from __future__ import annotations

from pathlib import Path

import click

from commands.params import archive_option, json_option
from commands.printing import print_json, progress
from commands.showing_progress import spoken_bytes

A_PATH = click.Path(path_type=Path)


@click.command()
@click.argument("file", type=A_PATH)
@click.option("--no-sound", is_flag=True, help="Leave listening copies and originals out.")
@click.option(
    "--evidence",
    is_flag=True,
    help="Take in the evidence of all recordings; without it only of those whose sound the archive does not keep: "
    "'listen-again' measures the others anew.",
)
@click.option("--replace", is_flag=True, help="Write over a file of that name.")
@archive_option
@json_option
def backup(file: Path, no_sound: bool, evidence: bool, replace: bool, archive_path: Path, as_json: bool) -> None:
    """Write the archive into one file; others may go on editing.

    By default all that cannot be made again is within, and the sound. 'layakosh check FILE' holds a backup against its
    digests, 'layakosh restore FILE' puts it back.
    """
    from annotate.backup.writing import write_backup
    from annotate.store.opening import store_at

    with progress(f"Writing {file.name}") as tell:
        written = write_backup(
            store_at(archive_path), file, sound=not no_sound, evidence=evidence, replace=replace, tell=tell
        )
    contents = written.contents
    told = {
        "file": str(file),
        "recordings": contents.recordings,
        "revisions": contents.holds("revision"),
        "sound_files": contents.holds("sound"),
        "evidence_files": contents.holds("evidence"),
        "bytes": contents.size,
        "left_out": list(written.left_out),
    }
    if as_json:
        print_json(told)
        return
    click.echo(
        f"{file}: {contents.recordings} recordings, {contents.holds('revision')} revisions, "
        f"{contents.holds('sound')} files of sound, {contents.holds('evidence')} of evidence, "
        f"{spoken_bytes(contents.size)}."
    )
    if written.left_out:
        some = ", ".join(written.left_out[:4]) + (" ..." if len(written.left_out) > 4 else "")
        click.echo(f"Left out, since no part of an archive: {some}", err=True)


@click.command()
@click.argument("file", type=A_PATH)
@archive_option
@json_option
def restore(file: Path, archive_path: Path, as_json: bool) -> None:
    """Put a backup back, into a new or empty place (--archive).

    Every file of it is held against its digest before anything is in place.
    """
    from annotate.backup.restoring import restore_backup
    from annotate.store.opening import store_at

    with progress(f"Restoring {file.name}") as tell:
        contents = restore_backup(file, store_at(archive_path), tell)
    if as_json:
        print_json({"archive": str(archive_path), "recordings": contents.recordings, "bytes": contents.size})
        return
    click.echo(f"{archive_path}: {contents.recordings} recordings, as of {contents.made:%Y-%m-%d %H:%M} UTC.")
    if contents.holds("sound") and not contents.holds("evidence"):
        click.echo("The evidence is not in the backup: 'layakosh listen-again' measures it from the sound.")
