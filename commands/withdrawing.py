"""Withdrawing a whole recording, bringing it back, and removing it for good."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option, login_or, open_archive, repeated, who_option
from commands.printing import print_json
from commands.showing_progress import spoken_bytes

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.withdrawing import Withdrawn


@click.command()
@click.argument("recording")
@who_option
@archive_option
@json_option
def withdraw(recording: str, who: str, archive_path: Path, as_json: bool) -> None:
    """Take a recording out of the archive; nothing of it is lost.

    It is gone from lists, searches, statistics and the dashboard at once. "bring-back" brings it back with its
    annotations and its history.
    """
    from annotate.withdrawing import withdraw_recording

    number = withdraw_recording(open_archive(archive_path), recording, login_or(who))
    if as_json:
        print_json({"recording": recording, "revision": number})
        return
    again = repeated(click.get_current_context(), "bring-back", recording)
    click.echo(f"{recording} is withdrawn (revision {number}); nothing of it is lost. To have it back: {again}")


@click.command("bring-back")
@click.argument("recording", required=False)
@who_option
@archive_option
@json_option
def bring_back(recording: str | None, who: str, archive_path: Path, as_json: bool) -> None:
    """Bring a withdrawn recording back, as it was; without RECORDING list those that are withdrawn."""
    from annotate.withdrawing import bring_back as bring_it_back

    archive = open_archive(archive_path)
    if recording is None:
        _list(archive, as_json)
        return
    number = bring_it_back(archive, recording, login_or(who))
    if as_json:
        print_json({"recording": recording, "revision": number})
    else:
        click.echo(f"{recording} is back, with its annotations and its history (revision {number}).")


@click.command()
@click.argument("recording")
@click.option("--yes", is_flag=True, help="Remove it without asking for its name to be typed.")
@who_option
@archive_option
@json_option
def remove(recording: str, yes: bool, who: str, archive_path: Path, as_json: bool) -> None:
    """Remove a withdrawn recording for good, which frees its room on the disk.

    Its annotations, history, evidence and sound are gone then, and only a backup has them. It asks for the name to be
    typed. A removal that was stopped half way is finished by running it again, or by "check --repair".
    """
    from annotate.removing import begun
    from annotate.removing import remove as remove_for_good

    archive = open_archive(archive_path)
    if recording not in begun(archive.store):
        there = _to_remove(archive, recording)
        if not yes:
            _ask(there)
    freed = remove_for_good(archive, recording, login_or(who))
    if as_json:
        print_json({"recording": recording, "bytes": freed})
    else:
        click.echo(f"{recording} is removed for good; {spoken_bytes(freed)} are free again.")


def _to_remove(archive: Archive, recording: str) -> Withdrawn:
    from annotate.removing import refuse_in_use
    from annotate.withdrawing import of

    refuse_in_use(archive, recording)
    return of(archive, recording)


def _ask(there: Withdrawn) -> None:
    """Ask for the recording's name to be typed."""
    kept = f" and {there.kept}" if there.kept else ""
    click.echo(
        f"{there.recording.title} ({there.slug}) was withdrawn {there.by_and_when}. Its sound{kept} will be gone for "
        "good; only a backup would have it.",
        err=True,
    )
    typed = click.prompt(f"Type {there.slug} to remove it", default="", show_default=False, err=True)
    if typed.strip() != there.slug:
        raise click.UsageError(f"'{typed}' is not its name, so nothing was removed.")


def _list(archive: Archive, as_json: bool) -> None:
    from annotate.withdrawing import withdrawn

    found = withdrawn(archive)
    if as_json:
        print_json(
            [
                {
                    "recording": each.slug,
                    "title": each.recording.title,
                    "who": each.who,
                    "when": each.when.isoformat(),
                    "rows": dict(each.rows),
                }
                for each in found
            ]
        )
        return
    if not found:
        click.echo("No recording is withdrawn.")
    for each in found:
        click.secho(each.slug, bold=True)
        click.echo(f"  {each.recording.title}: withdrawn {each.by_and_when}" + (f"; {each.kept}" if each.kept else ""))
