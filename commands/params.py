"""Option and argument types that several commands share: matras, clock times, the archive, who says so."""

from __future__ import annotations

import getpass
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from theory.errors import LayakoshError

if TYPE_CHECKING:
    from annotate.archive import Archive

    _ParamType = click.ParamType[Any]  # generic to the type checker, not to every click we run with
else:
    _ParamType = click.ParamType


class MatrasType(_ParamType):
    """A count of matras: ``5``, ``11/2``, ``5 1/2`` or ``5.5``."""

    name = "matras"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Turn the text into a Fraction."""
        from theory.numbers import parse_matras

        try:
            return parse_matras(value) if isinstance(value, str) else value
        except LayakoshError as error:
            self.fail(str(error), param, ctx)


class ClockType(_ParamType):
    """A place in a recording: seconds, ``m:s`` or ``h:m:s``."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Turn the text into seconds."""
        from theory.clock import parse_clock

        try:
            return parse_clock(value) if isinstance(value, str) else value
        except LayakoshError as error:
            self.fail(str(error), param, ctx)


class SamJobType(ClockType):
    """A place in a recording, or one of the words ``move`` and ``drop``."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Leave the words as they are; turn any other text into seconds."""
        return value if value in ("move", "drop") else super().convert(value, param, ctx)


class ClockListType(ClockType):
    """Several places in a recording, separated by commas."""

    name = "t1,t2,t3"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Turn the text into a list of seconds."""
        if not isinstance(value, str):
            return value
        return [super(ClockListType, self).convert(part.strip(), param, ctx) for part in value.split(",")]


class PlaceType(_ParamType):
    """A folder, or a URL such as ``s3://bucket/prefix``, of which a path would lose a slash."""

    name = "place"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ARG002
        """Leave a URL as it is; turn any other text into a path."""
        return Path(value) if isinstance(value, str) and "://" not in value else value


class PointType(_ParamType):
    """A point in a recording's history: a revision's number, a day, a moment, or ``now``."""

    name = "when"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Turn the text into a point."""
        from annotate.history.points import parse_point

        try:
            return parse_point(value) if isinstance(value, str) else value
        except LayakoshError as error:
            self.fail(str(error), param, ctx)


MATRAS, CLOCK, CLOCKS, SAM_JOB = MatrasType(), ClockType(), ClockListType(), SamJobType()
PLACE, POINT = PlaceType(), PointType()
A_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)

archive_option = click.option(
    "--archive",
    "archive_path",
    type=PLACE,
    default=Path("archive"),
    envvar="LAYAKOSH_ARCHIVE",
    show_default=True,
    show_envvar=True,
    help="The folder of the archive, or s3://BUCKET/PREFIX.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of a table.")
who_option = click.option("--who", envvar="LAYAKOSH_WHO", default="", help="Who says so (default: your login name).")
rule_option = click.option(
    "--rule",
    type=click.Choice(["within", "after"]),
    default="within",
    show_default=True,
    help="within: the palla's last stroke lands; after: the landing stroke follows the third palla.",
)


def login_or(who: str) -> str:
    """Return who says so: the given name, else the login name."""
    if who:
        return who
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container without a user database
        return "unknown"


def repeated(ctx: click.Context, *parts: str) -> str:
    """Return a command to type, with the ``--archive`` and ``--who`` that were given on this command's own line."""
    words = ["layakosh", *parts]
    for option, name in (("--who", "who"), ("--archive", "archive_path")):
        if ctx.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE:
            words += [option, str(ctx.params[name])]
    return shlex.join(words)


def open_archive(path: str | Path) -> Archive:
    """Open an archive that exists; annotate is imported here, so that ``--help`` and ``paper`` start at once."""
    from annotate.archive import Archive
    from commands.printing import bar_when_told

    archive = Archive.open(path)
    archive.tell_reading = bar_when_told("Making the index of recordings that it has not seen")
    return archive
