"""Who may log in to a shared dashboard. A password is typed at a prompt, never given as an argument."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json

if TYPE_CHECKING:
    from dashboard.access.people import People

JOBS = ("add", "role", "password", "remove")
ROLES = ("reader", "annotator")


@click.command()
@archive_option
@click.argument("job", required=False, type=click.Choice(JOBS))
@click.argument("name", required=False)
@click.option("--role", type=click.Choice(ROLES), help="reader: looks and listens; annotator: edits and adds as well.")
@json_option
def people(archive_path: Path, job: str | None, name: str | None, role: str | None, as_json: bool) -> None:
    """List who may log in; add somebody, change a role or a password, remove somebody.

    \b
    layakosh people
    layakosh people add NAME --role annotator
    layakosh people role NAME --role reader
    layakosh people password NAME
    layakosh people remove NAME

    The server need not be started again. A new password, and being removed, end what sessions there are.
    """
    from dashboard.access.people import People

    kept = People(open_archive(archive_path))
    if job is None:
        _list(kept, as_json)
        return
    if name is None:
        raise click.UsageError(f"Whom? layakosh people {job} NAME")
    if role is None and job in ("add", "role"):
        raise click.UsageError(f"Say the role: layakosh people {job} {name!r} --role {' or --role '.join(ROLES)}")
    if role is not None and job in ("password", "remove"):
        raise click.UsageError(f"'{job}' takes no --role; 'layakosh people role' changes it.")
    _do(kept, job, name, role)


def _do(kept: People, job: str, name: str, role: str | None) -> None:
    from dashboard.access.at_hand import ROLE_WORDS, Role
    from dashboard.access.names import person_name

    match job:
        case "add":
            kept.refuse_taken(person_name(name))
            person = kept.add(name, Role(str(role)), _asked())
            click.echo(f"{person.name} {ROLE_WORDS[person.role]}, and logs in with this name and password.")
        case "role":
            person = kept.set_role(name, Role(str(role)))
            click.echo(f"{person.name} {ROLE_WORDS[person.role]} from now on.")
        case "password":
            kept.known(name)
            person = kept.set_password(name, _asked())
            click.echo(f"{person.name} has a new password and has to log in again.")
        case "remove":
            person = kept.remove(name)
            click.echo(f"{person.name} may no longer log in. What they wrote down stays under their name.")


def _list(kept: People, as_json: bool) -> None:
    from dashboard.access.at_hand import ROLE_WORDS

    everybody = [each.person for each in kept.all()]
    if as_json:
        print_json([{"name": person.name, "role": person.role} for person in everybody])
        return
    for person in everybody:
        click.echo(f"{person.name}: {person.role}, {ROLE_WORDS[person.role]}")
    if not everybody:
        click.echo(
            "Nobody has a password, so the dashboard is for this machine alone. To share it: "
            "layakosh people add NAME --role annotator"
        )


def _asked() -> str:
    return str(click.prompt("Password", hide_input=True, confirmation_prompt="The same again"))
