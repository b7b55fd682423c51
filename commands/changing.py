"""Changing what was written down: a tihai, a phrase, or what is said of the recording; with others at the same row."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from commands.history import which_rows
from commands.params import archive_option, json_option, login_or, open_archive, repeated, who_option
from commands.printing import print_json

if TYPE_CHECKING:
    from annotate.errors import BothChanged
    from annotate.history.merging import Keep, Written
    from annotate.records import ByItself


@click.command()
@click.argument("recording")
@click.argument("row")
@click.argument("settings", metavar="[FIELD=VALUE]...", nargs=-1)
@click.option(
    "--seen", type=click.IntRange(min=1), help="The revision on which you looked at it (default: the latest)."
)
@click.option("--keep", type=click.Choice(["mine", "theirs"]), help="Whose version, where both changed the same thing.")
@click.option("--withdraw", is_flag=True, help="Take the row away; its history stays.")
@who_option
@archive_option
@json_option
def change(
    recording: str,
    row: str,
    settings: tuple[str, ...],
    seen: int | None,
    keep: str | None,
    withdraw: bool,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Change a tihai, a phrase, or a recording's title, raga and so on.

    ROW is the key of a tihai or phrase (t01), or the recording's own name. Without a field it shows the row and the
    revision; give that with --seen. When somebody else has changed the row meanwhile, what the two of you changed is
    put together where it is different things (the times, the sum on paper, any other field); where it is the same,
    both versions are shown, and --keep says whose is to stay.
    """
    told = _settings(settings)
    if withdraw and (told or seen or keep):
        raise click.UsageError("--withdraw goes alone: it takes the whole row away.")
    archive, who = open_archive(archive_path), login_or(who)
    table, key = which_rows(archive, recording, None, row)
    if table not in ("tihais", "phrases", *([] if withdraw else ["recordings"])):
        raise _not_here(table, recording, row)
    if withdraw:
        number = archive.withdraw(recording, table, key, who=who)
        said = f"{recording}: {row} withdrawn (revision {number}). To have it back: layakosh undo {recording}"
        _tell(as_json, {"recording": recording, "revision": number}, said)
        return
    from annotate.errors import BothChanged, NoSuchRow
    from annotate.records import WORD_FOR

    state = archive.state(recording)
    present = archive.ledger(recording).state(seen or state.revision).rows[table]
    if key not in present:
        raise NoSuchRow(WORD_FOR[table], key, recording, list(present))
    record = cast("ByItself", present[key])
    if not told:
        _show(recording, row, record, seen or state.revision, as_json)
        return
    from annotate.history.fields import with_fields
    from annotate.history.merging import change_merging
    from annotate.history.words import field_word

    try:
        written = change_merging(
            archive,
            recording,
            with_fields(record, told),
            who=who,
            why=f"{', '.join(told)} changed",
            seen=seen or state.revision,
            keep=cast("Keep", keep or ""),
        )
    except BothChanged as both:
        raise _with_ways_out(both, recording, row, settings) from None
    merged = {name: list(map(field_word, getattr(written.merged, name))) for name in ("mine", "theirs", "clashing")}
    plain: dict[str, object] = {"recording": recording, "revision": written.revision or None, **merged, "kept": keep}
    _tell(as_json, plain, _told_of(recording, row, written, keep))


def _settings(settings: tuple[str, ...]) -> dict[str, str]:
    """Return the values by field, or say how they are written."""
    told: dict[str, str] = {}
    for setting in settings:
        field, equals, value = setting.partition("=")
        if not equals or not field:
            raise click.UsageError(f"'{setting}' is not written as FIELD=VALUE: dam=1/2, label='the long one'.")
        if field in told:
            raise click.UsageError(f"{field} is given twice. Give it once.")
        told[field] = value
    return told


def _not_here(table: str, recording: str, row: str) -> click.UsageError:
    others = {
        "sections": f"A section is changed with: layakosh sections {recording} --set {shlex.quote(row)}",
        "sams": f"A marked sam is moved or dropped with: layakosh sam {recording} move FROM TO, or drop TIME",
        "recordings": f"A whole recording is withdrawn with: layakosh withdraw {shlex.quote(recording)}",
    }
    return click.UsageError(others[table])


def _show(recording: str, row: str, record: ByItself, seen: int, as_json: bool) -> None:
    """Print a row with its fields, and how to change it as it was seen here."""
    from annotate.history.changes import plain_row
    from annotate.history.words import field_names, field_word, value_words

    fields = {field_word(name): value_words(name, getattr(record, name)) for name in field_names(record)}
    again = repeated(click.get_current_context(), "change", recording, row)
    lines = [f"{row} of {recording} as of revision {seen}", *(f"  {field}: {value}" for field, value in fields.items())]
    lines.append(f"To change it: {again} FIELD=VALUE --seen {seen}")
    _tell(as_json, {"recording": recording, "row": row, "seen": seen, "fields": plain_row(record)}, "\n".join(lines))


def _with_ways_out(both: BothChanged, recording: str, row: str, settings: tuple[str, ...]) -> Exception:
    """Return the error with the commands that write what this person wanted, or the other."""
    from annotate.errors import ArchiveError

    ctx, asked = click.get_current_context(), ("change", recording, row, *settings, "--seen", str(both.seen), "--keep")
    mine, theirs = repeated(ctx, *asked, "mine"), repeated(ctx, *asked, "theirs")
    if both.theirs is None:
        return ArchiveError(f"{both}\nTo bring the row back as you have it: {mine}")
    return ArchiveError(
        f"{both}\nYours where both changed:  {mine}\nTheirs where both changed: {theirs}\n"
        "What only one of you changed is kept either way."
    )


def _told_of(recording: str, row: str, written: Written, keep: str | None) -> str:
    from annotate.history.words import field_word

    def words(names: tuple[str, ...]) -> str:
        return ", ".join(map(field_word, names))

    merged = written.merged
    if not written.revision:
        return f"{recording}: {row} is so already; nothing was written."
    lines = [f"{recording}: {row} changed (revision {written.revision}): {words(merged.mine) or 'nothing of yours'}."]
    if merged.theirs:
        lines.append(f"Put together with what somebody else changed meanwhile: {words(merged.theirs)}.")
    if merged.clashing:
        lines.append(f"Both had changed {words(merged.clashing)}; kept: {keep}.")
    return "\n".join(lines)


def _tell(as_json: bool, plain: dict[str, object], words: str) -> None:
    if as_json:
        print_json(plain)
    else:
        click.echo(words)
