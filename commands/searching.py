"""Searching the whole archive: tihais by their arithmetic, phrases by swaras and contour, the same tihai elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from commands.frames import Columns, print_frame
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


_TIHAI: Columns = {
    "recording": ("recording", str),
    "tihai": ("tihai", str),
    "first_palla_s": ("at", _place),
    "raga": ("raga", _raga),
    "tala": ("tala", str),
    "start": ("start", _count),
    "palla_length": ("palla", _count),
    "dam": ("dam", _count),
    "rule": ("rule", str),
    "palla": ("written", str),
    "laya_matras_per_min": ("laya", "{:.0f}".format),
    "verdict": ("verdict", str),
    "landing_dev_ms": ("off, ms", "{:+.0f}".format),
}


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
    print_frame(found, "Tihais", _TIHAI, as_json=as_json, none="No tihai is like that.", most=most)


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
    mark = {True: "yes", False: ""}.__getitem__
    columns: Columns = {
        **{name: _TIHAI[name] for name in ("recording", "tihai", "first_palla_s", "raga")},
        "same_arithmetic": ("same arithmetic", mark),
        "same_swaras": ("same swaras", mark),
        "same_octaves": ("same octaves", mark),
        **{name: _TIHAI[name] for name in ("palla", "dam", "rule", "laya_matras_per_min", "verdict")},
    }
    none = f"No other tihai has the arithmetic or the swaras of '{tihai}'."
    print_frame(found, f"Like {tihai} of {recording}", columns, as_json=as_json, none=none, most=most)


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
    columns: Columns = {
        "recording": ("recording", str),
        "phrase": ("phrase", str),
        "start_s": ("from", _place),
        "end_s": ("to", _place),
        "raga": ("raga", _raga),
        "swaras": ("swaras", str),
        "role": ("role", str),
        "tala": ("tala", str),
        "matra": ("matra", "{:.2f}".format),
        "laya_matras_per_min": ("laya", "{:.0f}".format),
    }
    found = find_phrases(open_archive(archive_path), search)
    print_frame(found, "Phrases", columns, as_json=as_json, none="No phrase is like that.", most=most)
