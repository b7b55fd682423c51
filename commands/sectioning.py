"""Sections and doubts: how a recording is divided, and which sams to listen to."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from commands.params import CLOCK, archive_option, json_option, login_or, open_archive, who_option
from commands.printing import print_json, print_table, progress

if TYPE_CHECKING:
    from annotate.doubts import Doubt
    from annotate.other_readings import OtherReading
    from annotate.sections import SectionSummary


@click.command()
@click.argument("recording")
@click.option("--set", "changed", metavar="NAME", help="Change this section: --kind, --tala, --from, --to.")
@click.option("--split", "divided", metavar="NAME", help="Split this section: --at, --kind, --tala.")
@click.option("--join", "joined", metavar="NAME", help="Join this section with the one that follows it.")
@click.option(
    "--kind",
    help="alap, jor, jhala, vilambit gat, madhya gat, drut gat, tabla solo, talk, tuning, applause, "
    "or words of your own. With --split: of the second part.",
)
@click.option("--tala", help="The tala; 'none' where there is none. With --split: of the second part.")
@click.option("--from", "start_s", type=CLOCK, help="Where the section begins.")
@click.option("--to", "end_s", type=CLOCK, help="Where it ends.")
@click.option("--at", "at_s", type=CLOCK, help="Where the second part begins.")
@who_option
@archive_option
@json_option
def sections(
    recording: str,
    changed: str | None,
    divided: str | None,
    joined: str | None,
    kind: str | None,
    tala: str | None,
    start_s: float | None,
    end_s: float | None,
    at_s: float | None,
    who: str,
    archive_path: Path,
    as_json: bool,
) -> None:
    """List the sections, or change, split or join them.

    The marked sams follow; a change that would leave one outside its section is refused.
    """
    given = {"--kind": kind, "--tala": tala, "--from": start_s, "--to": end_s, "--at": at_s}
    job = _job(changed, divided, joined, [name for name, value in given.items() if value is not None])
    from annotate.sections import change_section, join_section, split_section, summaries

    archive, who = open_archive(archive_path), login_or(who)
    if job == "--set" and changed is not None:
        change_section(archive, recording, changed, kind=kind, tala=tala, start_s=start_s, end_s=end_s, who=who)
    elif job == "--split" and divided is not None and at_s is not None:
        split_section(archive, recording, divided, at_s, kind=kind, tala=tala, who=who)
    elif job == "--join" and joined is not None:
        join_section(archive, recording, joined, who=who)
    rows = summaries(archive, recording)
    if as_json:
        print_json([row.to_json() for row in rows])
    else:
        _print_sections(recording, rows)


_TAKES = {
    "--set": {"--kind", "--tala", "--from", "--to"},
    "--split": {"--at", "--kind", "--tala"},
    "--join": set[str](),
    "": set[str](),
}


def _job(changed: str | None, divided: str | None, joined: str | None, given: list[str]) -> str:
    """Return which of the jobs is asked for (empty: only to list), or say which options do not go together."""
    named = {"--set": changed, "--split": divided, "--join": joined}
    jobs = [job for job, name in named.items() if name is not None]
    if len(jobs) > 1:
        raise click.UsageError(f"{' and '.join(jobs)} do not go together. Do one after the other.")
    job = jobs[0] if jobs else ""
    stray = [name for name in given if name not in _TAKES[job]]
    if stray:
        wanted = " or ".join(each for each, takes in _TAKES.items() if stray[0] in takes)
        raise click.UsageError(f"{stray[0]} goes with {wanted} NAME.")
    if job == "--split" and "--at" not in given:
        raise click.UsageError("--split wants --at: the time at which the second part begins.")
    if job == "--set" and not given:
        raise click.UsageError("--set wants what to change: --kind, --tala, --from or --to.")
    return job


def _print_sections(recording: str, rows: list[SectionSummary]) -> None:
    from theory.clock import format_clock

    if not rows:
        click.echo(f"{recording} has no sections. Load them: layakosh load {recording} --sections FILE.csv")
        return
    print_table(
        f"Sections of {recording}",
        ["section", "kind", "tala", "from", "to", "by", "avartans", "matras a minute"],
        [
            [
                row.section.section,
                row.section.kind,
                row.section.tala,
                format_clock(row.section.start_s),
                format_clock(row.section.end_s),
                row.section.source,
                "" if row.cycles is None else str(row.cycles),
                "" if row.laya_mpm is None else f"{row.laya_mpm:.1f}",
            ]
            for row in rows
        ],
    )
    _print_without_grid(rows)


def _print_without_grid(rows: list[SectionSummary]) -> None:
    """Say which sections want sams: they have a tala, and no grid is known."""
    from theory.clock import format_clock

    for row in rows:
        each = row.section
        if each.tala and row.cycles is None:
            span = f"{format_clock(each.start_s)} to {format_clock(each.end_s)}"
            click.echo(f"No sams are known in '{each.section}' ({span}): mark two or more.")


@click.command()
@click.argument("recording")
@click.option(
    "--laya", is_flag=True, help="Also look where half or twice the laya comes near; follows each section anew."
)
@archive_option
@json_option
def doubts(recording: str, laya: bool, archive_path: Path, as_json: bool) -> None:
    """Which sams to listen to, most useful first.

    Of doubtful sams in a row it names the middle one; marking it settles most. With --laya it also names the sections
    that could be read at half or twice the laya, and the two sams to mark for that.
    """
    from annotate.doubts import doubts as doubts_in

    archive = open_archive(archive_path)
    found = doubts_in(archive.grid(recording))
    others: list[OtherReading] = []
    if laya:
        from annotate.other_readings import other_readings

        with progress(f"Reading {recording} at other layas") as moved:
            others = other_readings(archive, recording, moved)
    if as_json:
        print_json([doubt.to_json() for doubt in found] + [other.to_json() for other in others])
        return
    from annotate.sections import summaries

    _print_doubts(recording, found)
    if laya:
        _print_other_readings(recording, others)
    _print_without_grid(summaries(archive, recording))


def _print_doubts(recording: str, found: list[Doubt]) -> None:
    from theory.clock import format_clock

    if found:
        print_table(
            f"Doubtful sams of {recording}",
            ["listen from", "sam", "section", "cycle", "confidence", "why"],
            [
                [
                    format_clock(doubt.listen_s, 1),
                    format_clock(doubt.sam_s),
                    doubt.section,
                    str(doubt.cycle),
                    f"{doubt.confidence:.2f}",
                    doubt.why,
                ]
                for doubt in found
            ],
        )
        click.echo(f"Where you hear sam, mark it: layakosh sam {recording} TIME")
    else:
        click.echo(f"No tracked sam of {recording} is in doubt.")


def _print_other_readings(recording: str, others: list[OtherReading]) -> None:
    if not others:
        click.echo("No section comes near being read at half or twice its laya.")
    for other in others:
        sams = " ".join(f"{sam_s:.2f}" for sam_s in other.sams_s)
        click.echo(
            f"'{other.section}' is followed at {other.laya_mpm:.0f} matras a minute and could be read at "
            f"{other.other_mpm:.0f}. To read it so: layakosh sam {recording} {sams}"
        )
