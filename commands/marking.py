"""Marking: sams, tihais and phrases in a recording."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import (
    CLOCK,
    CLOCKS,
    MATRAS,
    SAM_JOB,
    archive_option,
    json_option,
    login_or,
    open_archive,
    rule_option,
    who_option,
)
from commands.printing import print_json, print_table, print_verdicts, verdicts_of

if TYPE_CHECKING:
    from fractions import Fraction


@click.command()
@click.argument("recording")
@click.argument("times", metavar="TIME...", nargs=-1, required=True, type=SAM_JOB)
@who_option
@archive_option
@json_option
def sam(recording: str, times: tuple[float | str, ...], who: str, archive_path: Path, as_json: bool) -> None:
    """Mark sams and refit the grid.

    Times are seconds, m:s or h:m:s, in ascending order. "move FROM TO" in their place moves a marked sam,
    "drop TIME..." takes marked sams away.
    """
    job, places_s = _sam_job(times)
    from annotate.marking import drop_sams, mark_sams, move_sam

    archive, who = open_archive(archive_path), login_or(who)
    if job == "move":
        move_sam(archive, recording, *places_s, who=who)
    elif job == "drop":
        drop_sams(archive, recording, places_s, who=who)
    else:
        mark_sams(archive, recording, places_s, who=who)
    rows = archive.grid(recording).sams().to_dict(orient="records")
    if as_json:
        print_json(rows)
        return
    from theory.clock import format_clock

    print_table(
        f"Sams of {recording} after the fit",
        ["section", "cycle", "sam", "source", "confidence"],
        [
            [row["section"], str(row["cycle"]), format_clock(row["sam_s"]), row["source"], f"{row['confidence']:.2f}"]
            for row in rows
        ],
    )


def _sam_job(times: tuple[float | str, ...]) -> tuple[str, list[float]]:
    """Return the job (empty: to mark) and its times; a word may only stand first."""
    job = times[0] if isinstance(times[0], str) else ""
    rest = times[1:] if job else times
    places_s = [each for each in rest if not isinstance(each, str)]
    if len(places_s) < len(rest):
        raise click.UsageError("'move' and 'drop' stand before the times, once.")
    if job == "move" and len(places_s) != 2:
        raise click.UsageError("'move' wants two times: where the sam is marked, and where it belongs.")
    if job == "drop" and not places_s:
        raise click.UsageError("'drop' wants the time of at least one marked sam.")
    return job, places_s


@click.command()
@click.argument("recording")
@click.option("--starts", required=True, type=CLOCKS, help="Where the three pallas start: T1,T2,T3.")
@click.option("--landing", required=True, type=CLOCK, help="Where the landing stroke falls.")
@click.option(
    "--palla", default="", help="The palla in sargam or bols, one word a matra: 'R m P N S'' or 'Dha TiTe Dha'."
)
@click.option("--dam", type=MATRAS, help="The gap in matras (1, 1/2, '1 1/2').")
@click.option(
    "--start", type=MATRAS, help="The matra on which it starts (default: as heard, on the subdivision in use)."
)
@rule_option
@click.option("--target", type=MATRAS, default="1", show_default=True, help="The matra it aims at: 1 is sam.")
@click.option("--played-by", default="", help="Who plays it: mandolin, tabla, both ...")
@who_option
@archive_option
@json_option
def tihai(
    recording: str,
    starts: list[float],
    landing: float,
    palla: str,
    dam: Fraction | None,
    start: Fraction | None,
    rule: str,
    target: Fraction,
    played_by: str,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """Record a tihai and say whether it lands."""
    from annotate.marking import record_tihai

    archive = open_archive(archive_path)
    record = record_tihai(
        archive,
        recording,
        palla_s=starts,
        landing_s=landing,
        palla=palla,
        dam=dam,
        start=start,
        rule=rule,
        target=target,
        played_by=played_by,
        who=login_or(who),
    )
    (verdicts,) = verdicts_of(archive, [recording])
    verdict = next(verdict for verdict in verdicts if verdict.tihai == record.tihai)
    if as_json:
        print_json(verdict.to_json())
    else:
        print_verdicts(archive, [[verdict]])


@click.command()
@click.argument("recording")
@click.option("--from", "start_s", required=True, type=CLOCK, help="Where the phrase begins.")
@click.option("--to", "end_s", required=True, type=CLOCK, help="Where it ends.")
@click.option("--swaras", required=True, help="The phrase in sargam: 'R m P N S''.")
@click.option("--role", default="", help="mukhra, sthayi, antara, tan, pakad ...")
@who_option
@archive_option
@json_option
def phrase(
    recording: str, start_s: float, end_s: float, swaras: str, role: str, who: str, archive_path: Path, as_json: bool
) -> None:
    """Record a phrase."""
    from annotate.marking import record_phrase

    record = record_phrase(
        open_archive(archive_path), recording, start_s=start_s, end_s=end_s, swaras=swaras, role=role, who=login_or(who)
    )
    if as_json:
        print_json({"recording": recording, "phrase": record.phrase})
    else:
        click.echo(f"{recording}: phrase {record.phrase} recorded.")
