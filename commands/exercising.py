"""Exercises: questions about tihais of the archive or made up, printed or in the terminal."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.params import MATRAS, archive_option, json_option, open_archive, rule_option
from commands.printing import print_json

if TYPE_CHECKING:
    from annotate.archive import Archive
    from annotate.practice.exercises.drawn import ExerciseSet
    from annotate.practice.exercises.shown import Shown
    from annotate.practice.pieces import Piece
    from theory.exercises.wishes import ExerciseWishes

PRINTED = (".html", ".pdf")
KINDS = ("start", "dam", "palla", "lands", "chakradar")


@click.command()
@click.argument("what", nargs=-1, metavar="[PIECE...] [FILE.html or FILE.pdf]")
@click.option("--tala", default="", help="Only in this tala; what is made up is in it (default: teental).")
@click.option("--raga", default="", help="Only about tihais of this raga.")
@click.option("--kind", "kinds", type=click.Choice(KINDS), multiple=True, help="A kind of question; may be repeated.")
@rule_option
@click.option("--target", type=MATRAS, default="1", show_default=True, help="Of what is made up: where it lands.")
@click.option("--number", type=click.IntRange(1, 200), default=10, show_default=True, help="So many questions.")
@click.option("--difficulty", type=click.IntRange(1, 5), help="1, the easiest, to 5 (default: mixed, easiest first).")
@click.option("--laya", type=click.IntRange(10, 480), help="Matras a minute (default: as played, or drawn).")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="The same seed, the same questions.")
@click.option("--made-up", is_flag=True, help="Make all of it up; no archive is needed.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="What is printed on."
)
@archive_option
@json_option
def exercises(
    what: tuple[str, ...],
    tala: str,
    raga: str,
    kinds: tuple[str, ...],
    rule: str,
    target: Fraction,
    number: int,
    difficulty: int | None,
    laya: int | None,
    seed: int,
    made_up: bool,
    paper: Any,
    archive_path: str | Path,
    as_json: bool,
) -> None:
    """Questions on tihais: find the start, the dam, the palla; does it land?

    About pieces that are named (desh-gat-in-teental/t01,t03), or about tihais of the whole archive, as far as it has
    any that fit; the rest is made up. With a file they are printed, the answers on a page of their own; without one
    they stand in the terminal, the answers below. The seed is printed: with it you get the same sheet again.
    """
    from annotate.practice.exercises.drawn import exercises as draw
    from theory.exercises.wishes import PLAIN, ExerciseWishes
    from theory.tihai import LandingRule

    names, file = _told(what)
    wishes = ExerciseWishes(
        tala or "teental", kinds or PLAIN, LandingRule(rule), target, difficulty, laya, number, seed
    )
    archive = None if made_up and not names else open_archive(archive_path)
    found = _pieces(archive, names) if archive is not None else ()
    made = draw(archive, wishes, pieces=found, tala=tala, raga=raga)
    if file is not None:
        _write(made, file, paper, _again(what, made.wishes, made_up, tala, raga))
        for note in made.notes:
            click.echo(note)
        click.echo(f"{file}: {len(made.questions)} questions, seed {seed}.")
    elif as_json:
        print_json(_plain(made))
    else:
        _print(made)


def _told(what: Sequence[str]) -> tuple[list[str], Path | None]:
    """Tell the pieces from the file, which comes last."""
    if what and Path(what[-1]).suffix.lower() in PRINTED:
        return list(what[:-1]), Path(what[-1])
    if what and "/" not in what[-1]:
        raise click.UsageError(f"'{what[-1]}' is neither RECORDING/ROW nor a file that ends in .html or .pdf.")
    return list(what), None


def _pieces(archive: Archive, names: Sequence[str]) -> tuple[Piece, ...]:
    """Return the pieces that are named; several of a recording are its tihais."""
    from annotate.practice.pieces import piece, pieces

    named = (pieces(archive, tihais=[name]) if "," in name else (piece(archive, name),) for name in names)
    return tuple(each for several in named for each in several)


def _write(made: ExerciseSet, file: Path, paper: Any, again: str) -> None:
    from annotate.practice.exercises.printed import exercises_html, exercises_pdf

    if file.suffix.lower() == ".pdf":
        file.write_bytes(exercises_pdf(made, paper=paper, again=again))
    else:
        file.write_text(exercises_html(made, paper=paper, again=again), encoding="utf-8")


def _again(what: Sequence[str], wishes: ExerciseWishes, made_up: bool, tala: str, raga: str) -> str:
    """Return the command that makes the same set of the same archive."""
    told = wishes.to_dict()
    parts = ["layakosh", "exercises", *_told(what)[0]]
    for option, value in (("--tala", tala), ("--raga", raga)):
        parts += [option, value] if value else []
    for kind in told.get("kinds", ()):
        parts += ["--kind", kind]
    names = {"rule": "--rule", "target": "--target", "level": "--difficulty", "per_minute": "--laya"}
    for name, option in names.items():
        parts += [option, str(told[name])] if name in told else []
    parts += ["--number", str(wishes.number), "--seed", str(wishes.seed), *(["--made-up"] if made_up else [])]
    return shlex.join(parts)


def _plain(made: ExerciseSet) -> dict[str, Any]:
    """Return a set as plain values, the answers in it."""
    from annotate.practice.exercises.shown import shown_all
    from theory.numbers import stored

    return {
        "wishes": made.wishes.to_dict(),
        "notes": list(made.notes),
        "questions": [
            {
                "number": told.number,
                "kind": question.kind,
                "asked": question.asked,
                "difficulty": told.level,
                "given": dict(told.given),
                "question": told.sentence,
                "origin": told.origin,
                "piece": question.address,
                "per_minute": question.per_minute,
                "answer": stored(question.answer),
                "others": [stored(each) for each in question.others],
                "sum": told.sum,
            }
            for told, question in zip(shown_all(made), made.questions, strict=True)
        ],
        "to_play": [
            {"piece": each.address, "name": each.name, "notation": each.notation, "facts": each.facts}
            for each in made.to_play
        ],
    }


def _print(made: ExerciseSet) -> None:
    from annotate.practice.exercises.shown import counted_words, heading, shown_all

    questions = shown_all(made)
    click.secho(f"{heading(made)}, seed {made.wishes.seed}", bold=True)
    for line in (*counted_words(made), *made.notes):
        click.echo(line)
    for each in questions:
        _print_question(each)
    click.secho("\nAnswers", bold=True)
    for each in questions:
        click.echo(f"{each.number:>3}. {each.answer}\n     {each.sum}")
    if made.to_play:
        click.secho("\nTo sing or play, in this order", bold=True)
        for number, goes in enumerate(made.to_play, 1):
            click.echo(f"{number:>3}. {goes.notation}\n     {goes.name}; {goes.facts}")


def _print_question(each: Shown) -> None:
    click.echo(f"\n{each.number:>3}. {each.kind} (difficulty {each.level}, {each.origin})")
    click.echo("     " + "; ".join(f"{term}: {value}" for term, value in each.given))
    click.echo(f"     {each.sentence}")
