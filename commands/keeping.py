"""Keeping an archive: checking it, mending it, taking it into one file and putting it back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option
from commands.printing import print_json, progress
from commands.showing_progress import spoken_bytes

if TYPE_CHECKING:
    from annotate.check.findings import Finding

A_PATH = click.Path(path_type=Path)
DAMAGED = 1
"""Exit code where damage was found and is not mended."""


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


@click.command()
@click.argument("file", metavar="[BACKUP]", required=False, type=A_PATH)
@click.option("--repair", is_flag=True, help="Save what can be saved; what is damaged is moved to set-aside/.")
@click.option(
    "--listen", is_flag=True, help="Decode every listening copy to its end, and hold originals against their digests."
)
@archive_option
@json_option
def check(file: Path | None, repair: bool, listen: bool, archive_path: Path, as_json: bool) -> None:
    """Find and name all damage of an archive, or of a BACKUP.

    Nothing is written without --repair. Exit code 0: sound (also after a repair that mended everything); 1: damage.
    """
    if file is not None:
        if repair or listen:
            raise click.UsageError("A backup is only looked at: --repair and --listen are for archives.")
        _check_backup(file, as_json)
        return
    from annotate.check.findings import damage_in
    from annotate.check.repairing import repair as mend
    from annotate.check.whole import check as look
    from annotate.errors import NotAnArchive
    from annotate.store.opening import store_at

    store = store_at(archive_path)
    try:
        with progress("Checking") as tell:
            findings = list(look(store, listen=listen, tell=tell))
        done: list[str] = []
        if repair:
            with progress("Mending") as tell:
                done = mend(store, findings, tell)
            with progress("Checking again") as tell:
                left = list(look(store, listen=listen, tell=tell))
        else:
            left = findings
    except OSError as error:
        raise NotAnArchive(f"{store.place} cannot be read: {error.strerror or error}.") from error
    if as_json:
        told = {"sound": not damage_in(left), "findings": [each.to_json() for each in findings]}
        print_json(told | ({"done": done, "left": [each.to_json() for each in left]} if repair else {}))
    else:
        _print_findings(findings, done if repair else None, left)
    if damage_in(left):
        raise click.exceptions.Exit(DAMAGED)


def _check_backup(file: Path, as_json: bool) -> None:
    from annotate.backup.reading import open_backup, verify

    with open_backup(file) as kept, progress(f"Reading {file.name}") as tell:
        verify(kept, tell)
        contents = kept.contents
    if as_json:
        told = {
            "sound": True,
            "recordings": contents.recordings,
            "files": len(contents.members),
            "bytes": contents.size,
        }
        print_json(told | {"made": contents.made.isoformat()})
    else:
        click.echo(
            f"{file}: sound. {contents.recordings} recordings in {len(contents.members)} files, "
            f"{spoken_bytes(contents.size)}, as of {contents.made:%Y-%m-%d %H:%M} UTC."
        )


def _print_findings(findings: list[Finding], done: list[str] | None, left: list[Finding]) -> None:
    """Print what was found, what was done, and what is left; notes after damage."""
    for finding in sorted(findings, key=lambda each: not each.damage):
        click.secho(f"{finding.kind}: {finding.where}", bold=finding.damage)
        click.echo(f"    {finding.means}")
        click.echo(f"    {finding.mend}")
    for line in done or ():
        click.echo(f"done: {line}")
    count = sum(finding.damage for finding in left)
    if not count:
        click.echo("The archive is sound." if done is None or not done else "The archive is sound again.")
        return
    by_repair = sum(finding.damage and finding.job is not None for finding in left)
    hint = ""
    if done is None and by_repair:
        hint = f" 'layakosh check --repair' mends {by_repair} of them as it says above."
    click.echo(f"{count} damaged.{hint}")
