"""Looking: what the archive holds, the grid, the verdicts, the phrases."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from commands.params import (
    archive_option,
    json_option,
    open_archive,
)
from commands.printing import concert_rows, print_json, print_json_list, print_table, print_verdicts, verdicts_of

FEW = 500
"""Up to so many recordings it is also looked whether this version can read what was measured of each."""


@click.command()
@archive_option
@json_option
def concerts(archive_path: Path, as_json: bool) -> None:
    """What the archive holds."""
    archive = open_archive(archive_path)
    rows = concert_rows(archive)
    if as_json:
        print_json(rows)
        return
    if gone := archive.withdrawn_slugs():
        click.echo(f"Withdrawn, see layakosh bring-back: {', '.join(gone)}\n", err=True)
    if not rows:
        click.echo("The archive is empty. Take in a recording: layakosh ingest AUDIO --raga R --tala T")
        return
    for row in rows:
        _print_concert(row)
    few = len(rows) <= FEW
    if stale := archive.without_evidence() if few else archive.not_measured():
        said = "Measured by another version, or not to the end" if few else "Not measured"
        click.echo(f"\n{said}: {', '.join(stale)}.")
        click.echo("Bring their grids up to date, annotations stay as they are: layakosh listen-again")


def _print_concert(row: dict[str, Any]) -> None:
    """Print the short name first and whole: it is what the other commands take."""
    from theory.clock import format_clock

    length = format_clock(round(row["duration_s"])) if row["duration_s"] else "no sound"
    facts = [row["raga"], ", ".join(row["talas"]), row["performed_on"], length]
    click.secho(row["recording"], bold=True)
    click.echo(f"  {row['title']}: {', '.join(fact for fact in facts if fact)}")
    sams = f"{row['sams']} sams, {row['sams_marked']} of them marked"
    click.echo(f"  {sams}; {row['tihais']} tihais; {row['phrases']} phrases")


@click.command()
@click.argument("recording")
@click.option("--csv", "as_csv", is_flag=True, help="Print rows of section,cycle,matra,matra_s.")
@archive_option
@json_option
def grid(recording: str, as_csv: bool, archive_path: Path, as_json: bool) -> None:
    """The time of every matra.

    In the terminal one line per avartan; --csv and --json give every matra.
    """
    rows = open_archive(archive_path).grid(recording).rows()
    if as_csv:
        click.echo(rows[["section", "cycle", "matra", "matra_s"]].to_csv(index=False, float_format="%.6f"), nl=False)
    elif as_json:
        print_json(rows.to_dict(orient="records"))
    else:
        from theory.clock import format_clock

        print_table(
            f"Avartans of {recording}",
            ["section", "cycle", "first matra at", "matras", "matras a minute"],
            [
                [
                    str(section),
                    str(cycle),
                    f"{format_clock(part.matra_s.iloc[0])} (matra {part.matra.iloc[0]})",
                    str(len(part)),
                    f"{60 / part.matra_s.diff().median():.1f}" if len(part) > 1 else "",
                ]
                for (section, cycle), part in rows.groupby(["section", "cycle"], sort=False)
            ],
        )


@click.command()
@click.argument("recording", required=False)
@archive_option
@json_option
def verify(recording: str | None, archive_path: Path, as_json: bool) -> None:
    """Every tihai, on paper and as played."""
    archive = open_archive(archive_path)
    verdicts = verdicts_of(archive, [recording] if recording else archive.slugs())
    if as_json:
        print_json_list(verdict.to_json() for of_one in verdicts for verdict in of_one)
    else:
        print_verdicts(archive, verdicts)


@click.command()
@click.option("--raga", help="Only this raga.")
@archive_option
@json_option
def phrases(raga: str | None, archive_path: Path, as_json: bool) -> None:
    """How much each phrase is used, per raga."""
    from annotate.labels import raga_name
    from annotate.statistics.usage import phrase_usage

    columns = ["raga", "swaras", "role", "count", "performances", "share_of_time"]
    usage = phrase_usage(open_archive(archive_path), raga)[columns]
    rows = usage.assign(raga=usage["raga"].map(raga_name)).to_dict(orient="records")
    if as_json:
        print_json(rows)
    elif not rows:
        click.echo("No phrases yet. Record one: layakosh phrase RECORDING --from T --to T --swaras TEXT")
    else:
        print_table(
            "Phrase usage",
            ["raga", "swaras", "role", "times", "performances", "share of time"],
            [
                [
                    r["raga"],
                    r["swaras"],
                    r["role"],
                    str(r["count"]),
                    str(r["performances"]),
                    f"{r['share_of_time']:.1%}",
                ]
                for r in rows
            ],
        )
