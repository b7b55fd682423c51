"""Searching the whole archive: tihais by their arithmetic, phrases by swaras and contour, the same tihai elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.frames import print_rows
from commands.params import archive_option, json_option, open_archive
from theory.errors import LayakoshError

if TYPE_CHECKING:
    _ParamType = click.ParamType[Any]  # generic to the type checker, not to every click we run with
else:
    _ParamType = click.ParamType


class SpanType(_ParamType):
    """A count or a range of counts: ``5``, ``11/2``, ``4..6``, ``4..``, ``..6``."""

    name = "n or n..n"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Turn the text into a span."""
        from annotate.search.spans import parse_span

        try:
            return parse_span(value) if isinstance(value, str) else value
        except LayakoshError as error:
            self.fail(str(error), param, ctx)


SPAN = SpanType()
most_option = click.option(
    "--most", type=click.IntRange(min=1), help="How many rows are printed (default: 50; all with --json)."
)


def _place(time_s: float) -> str:
    from theory.clock import format_clock

    return format_clock(time_s)


def _count(stored: str) -> str:
    from fractions import Fraction

    from theory.numbers import spoken

    return spoken(Fraction(stored))


def _raga(key: str) -> str:
    from annotate.labels import raga_name

    return raga_name(key)


def _lines_of_tihai(row: dict[str, Any]) -> list[str]:
    """Where and how it lands; the sum and what is played."""
    off = "" if row["landing_dev_ms"] is None else f" {row['landing_dev_ms']:+.0f} ms"
    laya = "" if row["laya_matras_per_min"] is None else f"{row['laya_matras_per_min']:.0f} matras a minute"
    facts = [_raga(row["raga"]), row["tala"], laya, row["played_by"]]
    written = [f"from {_count(row['start'])}"] if row["start"] else []
    if row["palla_length"] and row["dam"]:
        written.append(f"palla {_count(row['palla_length'])}, dam {_count(row['dam'])}, counted {row['rule']}")
    head = f"{row['tihai']}  {_place(row['first_palla_s']):>10}  {row['verdict']}{off}  "
    same = [what for what in ("arithmetic", "swaras", "octaves") if row.get(f"same_{what}")]
    return [
        head + "; ".join(fact for fact in facts if fact),
        f"     {': '.join([*written, row['palla'] or 'no palla written down'])}",
        *([f"     the same {', '.join(same)}"] if same else []),
    ]


def _lines_of_phrase(row: dict[str, Any]) -> list[str]:
    place = "" if row["matra"] is None else f"matra {row['matra']:.2f} of {row['tala']}"
    laya = "" if row["laya_matras_per_min"] is None else f"{row['laya_matras_per_min']:.0f} matras a minute"
    facts = [_raga(row["raga"]), row["role"], place, laya]
    where = f"{row['phrase']}  {_place(row['start_s']):>10} to {_place(row['end_s'])}"
    return [f"{where}  {'; '.join(fact for fact in facts if fact)}", f"     {row['swaras']}"]


def _print_found(
    found: Any,
    lines_of: Callable[[dict[str, Any]], list[str]],
    none: str,
    *,
    as_json: bool,
    most: int | None,
) -> None:
    """Print what was found under the recording it is from."""

    def shown(rows: list[dict[str, Any]]) -> None:
        for slug in dict.fromkeys(row["recording"] for row in rows):
            click.secho(slug, bold=True)
            for row in rows:
                if row["recording"] == slug:
                    click.echo("\n".join(f"  {line}" for line in lines_of(row)))

    print_rows(found, shown, none=none, as_json=as_json, most=most)


@click.command("find-tihais")
@click.option("--tala", default="", help="Only in this tala.")
@click.option("--raga", default="", help="Only in this raga.")
@click.option("--start", type=SPAN, help="Matra on which it starts.")
@click.option("--palla", type=SPAN, help="Length of the palla on paper, in matras.")
@click.option("--dam", type=SPAN, help="Length of the dam on paper, in matras.")
@click.option("--target", type=SPAN, help="Matra it is aimed at.")
@click.option("--rule", type=click.Choice(["within", "after"]), default=None, help="Landing rule it is written by.")
@click.option("--kind", default="", help="bedam, damdar, chakradar ... by a source's definition or as written down.")
@click.option("--swaras", default="", help="Pattern of the palla: ? any one, * any number, [mM] one of these.")
@click.option(
    "--landing",
    type=click.Choice(["lands", "early", "late", "misses", "unknown"]),
    default=None,
    help="The verdict as played.",
)
@click.option("--on-paper", type=click.Choice(["lands", "misses"]), default=None, help="Whether the sum lands.")
@click.option("--played-by", default="", help="Who plays it, or part of the name.")
@click.option("--laya", type=SPAN, help="Matras a minute at that place.")
@click.option("--recording", default="", help="Only in this recording.")
@click.option("--noted-by", default="", help="Who wrote it down.")
@click.option(
    "--status",
    type=click.Choice(["proposed", "confirmed", "rejected"]),
    default=None,
    help="By default all but those rejected.",
)
@most_option
@archive_option
@json_option
def find_tihais(on_paper: str | None, most: int | None, archive_path: Path, as_json: bool, **asked: Any) -> None:
    """Tihais of the whole archive for which everything asked holds.

    Counts are exact: 5, 11/2, 5 1/2; a range is 4..6, 4.. or ..6, ends included.
    """
    from annotate.search.tihais import TihaiSearch, find_tihais

    asked["verdict"], asked["who"] = asked.pop("landing"), asked.pop("noted_by")
    given = {name: value for name, value in asked.items() if value}
    search = TihaiSearch(**given, on_paper=None if on_paper is None else on_paper == "lands")
    found = find_tihais(open_archive(archive_path), search)
    _print_found(found, _lines_of_tihai, "No tihai is like that.", as_json=as_json, most=most)


@click.command("like-tihai")
@click.argument("recording")
@click.argument("tihai")
@most_option
@archive_option
@json_option
def like_tihai(recording: str, tihai: str, most: int | None, archive_path: Path, as_json: bool) -> None:
    """The same tihai elsewhere: of the same arithmetic, of the same swaras.

    The arithmetic is tala, start, palla and dam; what is counted within and what is counted after are the same when
    they sound the same. Swaras are compared whatever their octave and rhythm.
    """
    from annotate.search.tihais import like_tihai

    found = like_tihai(open_archive(archive_path), recording, tihai)
    none = f"No other tihai has the arithmetic or the swaras of '{tihai}'."
    _print_found(found, _lines_of_tihai, none, as_json=as_json, most=most)


@click.command("find-phrases")
@click.argument("pattern", default="")
@click.option("--octaves", is_flag=True, help="A swara without a mark means the middle octave only.")
@click.option("--contour", default="", help="Moves: up, down, same, +2, -1, 0, ? any one, * any number.")
@click.option("--like", default="", help="A phrase whose contour it shares, wherever it begins.")
@click.option(
    "--by",
    type=click.Choice(["direction", "steps", "semitones"]),
    default="steps",
    show_default=True,
    help="How moves are compared: up and down, steps of the raga's own ladder, semitones.",
)
@click.option("--anywhere", is_flag=True, help="Pattern and contour may be those of a part of the phrase.")
@click.option("--raga", default="", help="Only in this raga.")
@click.option("--role", default="", help="mukhra, sthayi, tan ...")
@click.option("--tala", default="", help="Only in this tala.")
@click.option("--matra", type=SPAN, help="Where in the avartan it starts, within an eighth of a matra.")
@click.option("--laya", type=SPAN, help="Matras a minute.")
@click.option("--recording", default="", help="Only in this recording.")
@click.option("--noted-by", default="", help="Who wrote it down.")
@most_option
@archive_option
@json_option
def find_phrases(pattern: str, most: int | None, archive_path: Path, as_json: bool, **asked: Any) -> None:
    """Phrases of the whole archive by swaras and contour.

    PATTERN stands for a whole phrase, in quotes: "R m P" these swaras in any octave and rhythm, ? any one swara,
    * any number, [mM] one of these, S' in the upper octave only. "* n D P" ends with n D P.
    """
    from annotate.search.phrases import PhraseSearch, find_phrases

    asked["who"] = asked.pop("noted_by")
    search = PhraseSearch(swaras=pattern, **{name: value for name, value in asked.items() if value})
    found = find_phrases(open_archive(archive_path), search)
    _print_found(found, _lines_of_phrase, "No phrase is like that.", as_json=as_json, most=most)
