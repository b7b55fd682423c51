"""Exchange: annotations written in open formats for other programs."""

from __future__ import annotations

from pathlib import Path

import click

from commands.params import archive_option, json_option, open_archive
from commands.printing import print_json


@click.command()
@click.argument("recording")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--as", "form", type=click.Choice(["labels", "webvtt", "jams"]), required=True, help="The format.")
@archive_option
@json_option
def export(recording: str, file: Path, form: str, archive_path: Path, as_json: bool) -> None:
    """Write sections, sams, tihais and phrases into FILE, which must be new.

    labels: start, end and label with tabs between, to the microsecond; webvtt: cues, to the
    millisecond; jams: all of it, with every matra.
    """
    from annotate.exchange import jams_out
    from annotate.exchange.errors import CannotExport
    from annotate.exchange.label_lists import label_list, webvtt
    from annotate.exchange.spans import LEFT_OUT, spans_of

    archive = open_archive(archive_path)
    state, grid = archive.state(recording), archive.grid(recording)
    spans = spans_of(state, grid)
    if not spans:
        raise CannotExport(f"'{recording}' has no sections, sams, tihais or phrases yet: there is nothing to write.")
    if form == "jams":
        text, left_out = jams_out.jams(state, grid), jams_out.LEFT_OUT
    else:
        text, left_out = (label_list if form == "labels" else webvtt)(spans), LEFT_OUT
    try:
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(text)
    except FileExistsError:
        raise CannotExport(f"{file} exists and was left as it is. Name a new file, or remove that one.") from None
    except OSError as error:
        raise CannotExport(f"{file} cannot be written: {error.strerror}. Name another place.") from None
    if as_json:
        print_json({"file": str(file), "as": form, "rows": len(spans), "left_out": left_out})
    else:
        click.echo(f"{file}: {len(spans)} rows.\nThis format does not hold: {left_out}.")
