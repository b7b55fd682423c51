"""Courses: listed, shown, made, changed; their history, undo, and the whole as one Markdown file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from commands.course_printing import print_course, print_courses, print_history
from commands.params import archive_option, json_option, login_or, open_archive, repeated, who_option
from commands.printing import print_json
from theory.errors import LayakoshError

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.courses.course import Course
    from annotate.courses.ordering import Keep
    from annotate.courses.shelf import Courses, Kept
    from annotate.courses.taking_back import TakenBack

JOBS = ("new", "history", "undo", "redo", "take_out", "put_back", "taken_out", "markdown")
"""Options of which each is a job by itself."""

seen_option = click.option(
    "--seen", type=click.IntRange(min=1), help="The revision on which you looked at it (default: the latest)."
)
keep_option = click.option(
    "--keep", type=click.Choice(["mine", "theirs"]), help="Whose version, where both changed the same thing."
)


@click.command()
@click.argument("course", required=False)
@click.option("--new", metavar="TITLE", help="Make a course; prints the name it goes by.")
@click.option("--title", help="What it is called.")
@click.option("--for", "for_whom", metavar="WHOM", help="Who it is for: second year, mandolin.")
@click.option("--licence", help="Under which licence it may be passed on.")
@click.option("--history", is_flag=True, help="Who changed what, when.")
@click.option("--undo", is_flag=True, help="Take back your latest edit of it; again, the one before.")
@click.option("--redo", is_flag=True, help="Bring back what was undone last.")
@click.option("--everyone", is_flag=True, help="With --undo and --redo: go by everyone's edits.")
@click.option("--revision", type=click.IntRange(min=1), help="With --undo: take back this revision.")
@click.option("--take-out", is_flag=True, help="Take it out of the list; its history stays.")
@click.option("--put-back", is_flag=True, help="Put a course back that was taken out.")
@click.option("--taken-out", is_flag=True, help="List those that were taken out instead.")
@click.option(
    "--markdown", type=click.Path(path_type=Path, allow_dash=True), help="Write all of it as a Markdown file (-: here)."
)
@seen_option
@keep_option
@who_option
@archive_option
@json_option
def course(course: str | None, who: str, archive_path: Path, as_json: bool, **asked: Any) -> None:
    """Courses: pieces ordered into chapters, with notes.

    Without COURSE (the name it goes by) lists them. With it shows its chapters, or changes what is asked. Chapters are
    added, changed and moved by "chapter". What others changed meanwhile is put together with yours.
    """
    from annotate.courses.shelf import Courses

    _refuse_mixtures(course, asked)
    courses = Courses(open_archive(archive_path))
    if course is None:
        if asked["new"]:
            _make(courses, asked, login_or(who), as_json)
        else:
            print_courses(courses, asked["taken_out"], as_json)
        return
    if asked["history"]:
        print_history(courses.get(course), as_json)
    elif asked["undo"] or asked["redo"]:
        _take_back(courses, course, asked, login_or(who), as_json)
    elif asked["take_out"] or asked["put_back"]:
        _turn(courses, course, asked["put_back"], login_or(who), as_json)
    elif asked["markdown"]:
        _write_markdown(courses.archive, courses.get(course).content, asked["markdown"])
    elif any(asked[name] is not None for name in ("title", "for_whom", "licence")):
        kept = courses.get(course)
        told = {name: asked[name].strip() for name in ("title", "for_whom", "licence") if asked[name] is not None}
        write(courses, kept, asked["seen"], lambda was: replace(was, **told), asked["keep"], who, as_json)
    else:
        print_course(courses.archive, courses.get(course), as_json)


def _refuse_mixtures(course: str | None, asked: dict[str, Any]) -> None:
    jobs = [name for name in JOBS if asked[name]]
    if len(jobs) > 1:
        first, second = (f"--{name.replace('_', '-')}" for name in jobs[:2])
        raise click.UsageError(f"{first} and {second} do not go together: give one.")
    job = jobs[0] if jobs else ""
    if (job in ("new", "taken_out")) != (course is None) and (job or (course is None and _changes(asked))):
        if course is None:
            raise click.UsageError("Name the course that is meant: layakosh course COURSE ...")
        raise click.UsageError(f"--{job.replace('_', '-')} goes without the name of a course.")
    if job and job != "new" and _changes(asked):
        raise click.UsageError(f"--{job.replace('_', '-')} goes without --title, --for and --licence.")
    if job == "new" and asked["title"]:
        raise click.UsageError("--new gives the title already: leave --title out.")
    if (asked["everyone"] or asked["revision"]) and job not in ("undo", "redo"):
        raise click.UsageError("--everyone and --revision go with --undo (--everyone also with --redo).")
    if asked["revision"] and (job == "redo" or asked["everyone"]):
        raise click.UsageError("--revision goes with --undo, and without --everyone: a revision is one.")


def _changes(asked: dict[str, Any]) -> bool:
    return any(asked[name] is not None for name in ("title", "for_whom", "licence"))


def write(courses: Courses, kept: Kept, seen: int | None, edit: Any, keep: str | None, who: str, as_json: bool) -> None:
    """Write an edit of a course as it was seen, and say what became of it; where both changed the same, the ways out.

    ``edit`` makes of the course as it was seen what it is to be.
    """
    from annotate.courses.errors import BothEdited, CourseError
    from annotate.courses.shelf import revision_of

    number = seen or kept.latest.number
    was = revision_of(kept, number).content
    try:
        written = courses.edit(kept.key, edit(was), seen=number, who=login_or(who), keep=cast("Keep", keep or ""))
    except BothEdited as both:
        ctx = click.get_current_context()
        raise CourseError(
            f"{both}\nGive the same again with --seen {number} and --keep mine, or --keep theirs. What only one of you "
            f"changed is kept either way. As it is now: {repeated(ctx, 'course', kept.key)}"
        ) from None
    latest = written.kept.latest
    if as_json:
        print_json({"course": kept.key, "revision": latest.number if written.wrote else None, "why": latest.why})
        return
    if not written.wrote:
        click.echo(f"{kept.key} is so already; nothing was written.")
        return
    click.echo(f"{kept.key}: {latest.why} (revision {latest.number}).")
    if written.merged.theirs:
        click.echo(f"Put together with what somebody else changed meanwhile: {'; '.join(written.merged.theirs)}.")


def _make(courses: Courses, asked: dict[str, Any], who: str, as_json: bool) -> None:
    from annotate.courses.course import Course

    made = Course(asked["new"].strip(), (asked["for_whom"] or "").strip(), (asked["licence"] or "").strip())
    kept = courses.keep(made, who=who, why="made")
    if as_json:
        print_json({"course": kept.key, "revision": 1})
        return
    ctx = click.get_current_context()
    click.echo(f"{kept.key}\nTo go on: {repeated(ctx, 'chapter', kept.key, '--new', 'TITLE')}")


def _take_back(courses: Courses, key: str, asked: dict[str, Any], who: str, as_json: bool) -> None:
    from annotate.courses import taking_back

    if asked["revision"]:
        done = taking_back.take_back(courses, key, asked["revision"], who)
    elif asked["undo"]:
        done = taking_back.undo(courses, key, who, everyone=asked["everyone"])
    else:
        done = taking_back.redo(courses, key, who, everyone=asked["everyone"])
    _tell_taken_back(key, done, as_json)


def _tell_taken_back(key: str, done: TakenBack, as_json: bool) -> None:
    if as_json:
        told = {"course": key, "revision": done.revision, "kind": done.kind, "edit": done.edit.number}
        print_json({**told, "changes": list(done.changes)})
        return
    word = "Took back" if done.kind == "undo" else "Brought back"
    click.echo(f"{word} {done.words}, as revision {done.revision} of {key}:")
    for line in done.changes or ("nothing was left to change",):
        click.echo(f"  {line}")


def _turn(courses: Courses, key: str, put_back: bool, who: str, as_json: bool) -> None:
    kept = courses.get(key)
    if kept.latest.withdrawn != put_back:
        raise LayakoshError(f"The course '{key}' is {'there' if put_back else 'taken out'} already.")
    seen = kept.latest.number
    turned = courses.put_back(key, who=who) if put_back else courses.withdraw(key, seen=seen, who=who)
    if as_json:
        print_json({"course": key, "revision": turned.latest.number})
    elif put_back:
        click.echo(f"{key} is put back.")
    else:
        click.echo(f"{key} is taken out. To have it back: layakosh course {key} --put-back")


def _write_markdown(archive: Archive, content: Course, path: Path) -> None:
    from annotate.courses.as_markdown import to_markdown
    from annotate.exchange.new_file import write_new

    text = to_markdown(archive, content)
    if str(path) == "-":
        click.echo(text, nl=False)
        return
    write_new(path, text)
    click.echo(f"{path}: {content.title}")
