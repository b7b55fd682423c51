"""The command line: one thin command per job, in the package ``commands``; here they are put together.

Conventions: every command takes ``--archive``; a command that prints a table takes ``--json``. Bad input ends with a
message of one or two lines on standard error and exit code 2; the archive is then as it was. Heavy imports stay inside
the command that needs them, so that a command without audio starts at once.
"""

from __future__ import annotations

from typing import Any

import click

from commands.changing import change
from commands.chaptering import chapter
from commands.columns import columns
from commands.composing import carry, paper, solve
from commands.compositions import compositions
from commands.coursing import course
from commands.exchanging import export
from commands.exercising import exercises
from commands.fretting import frets
from commands.going_back import as_of, redo, undo
from commands.history import compare, history
from commands.keeping import backup, check, restore
from commands.liking import like
from commands.listening_again import listen_again
from commands.loading import load
from commands.looking import concerts, grid, phrases, verify
from commands.marking import phrase, sam, tihai
from commands.packing import pack
from commands.people import people
from commands.proposing import accept, learnt, propose, reject
from commands.recurring import recurring
from commands.reference import raga_check, ragas, talas
from commands.scoring import score
from commands.searching import find_phrases, find_tihais, like_tihai
from commands.sectioning import doubts, sections
from commands.serving import demo, serve
from commands.sheeting import sheet
from commands.sounding import practice_sound
from commands.statistics import agreement, raga_use, side_by_side
from commands.taking_in import ingest
from commands.transcribing import swaras, transcribe
from commands.withdrawing import bring_back, remove, withdraw
from theory.errors import LayakoshError

PROGRAM = "layakosh"


class BadInput(click.ClickException):
    """What a user sees of a :class:`~theory.errors.LayakoshError`: the message, and exit code 2."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        """Print the message to standard error."""
        click.echo(f"{PROGRAM}: {self.message}", file=file, err=file is None)


class Commands(click.Group):
    """A group whose commands turn the project's errors into messages and list themselves in the order of the work."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; a user never sees a traceback for bad input."""
        try:
            return super().invoke(ctx)
        except LayakoshError as error:
            raise BadInput(str(error)) from None
        except BrokenPipeError:
            raise  # whoever read the output has enough: click ends quietly
        except OSError as error:
            from annotate.errors import advice

            place = f"{error.filename}: " if error.filename else ""
            raise BadInput(f"{place}{error.strerror or error}. {advice(error)}") from None

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        """Commands in the order in which they are defined here: the order of the work."""
        return list(self.commands)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(package_name="layakosh", prog_name=PROGRAM)
def main() -> None:
    """Find the sams of a concert recording, write down its tihais, and see whether they land."""


RECORDED = (
    demo,
    ingest,
    listen_again,
    load,
    export,
    score,
    concerts,
    sections,
    sam,
    doubts,
    grid,
    tihai,
    phrase,
    change,
    history,
    compare,
    undo,
    redo,
    as_of,
    withdraw,
    bring_back,
    remove,
    transcribe,
    swaras,
    propose,
    accept,
    reject,
    learnt,
    verify,
    phrases,
    recurring,
    find_tihais,
    like_tihai,
    like,
    find_phrases,
    raga_use,
    side_by_side,
    agreement,
    sheet,
    practice_sound,
    pack,
    exercises,
    course,
    chapter,
    columns,
    check,
    backup,
    restore,
    serve,
    people,
)
ON_PAPER = (paper, solve, carry, compositions, frets, talas, ragas, raga_check)

for command in (*RECORDED, *ON_PAPER):
    main.add_command(command)

if __name__ == "__main__":
    main()
