"""How well ingest hears the cycle, on rendered concerts with exact truth: by section, by concert, and the mean.

``python -m benchmarks.accuracy [--seeds 1-6] [--cache FOLDER] [--json FILE] [--no-baseline]``

Every section is handed over with its true limits and tala, so that only the following of the cycle is judged; the
stretches with tabla, Sa and onsets are judged on the whole recording. Measures (mir_eval 0.8):

* matra, sam: F-measure at +-70 ms; "2 marks": sams again after the section's first two sams were marked (for these the
  marked ones count as found, as they do for a person who corrects).
* Sa: cents from the truth, modulo the octave. Edges: the median distance in seconds from a true beginning or end of a
  stretch with tabla to the nearest found; how many true ones have one within 2 s; how many were found, and how many of
  these lie near no true one. A tabla that rests for 10 s or more ends a stretch; rests from 8 to 12 s may be found or
  not, for which side of 10 s they fall on is chance.
* onsets: F-measure at +-25 ms, of strokes and plucks together; those within 30 ms of each other count as one.
* librosa: its beat tracker on the section's sound, every M-th beat from the first taken for sam.
* tala: the share of sections that are read best in their own tala among the six. Sure: how many of the sams found are
  right, by the confidence they were given.
* laya: how many matras were found per true matra, to the nearest simple ratio.

Tune on seeds 1-6, judge on 101-106.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from rich.console import Console
from rich.progress import track
from rich.table import Table

from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.installed import require_sounds
from benchmarks.scores import ConcertScore, SectionScore, score_concert


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.accuracy", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    parser.add_argument("--json", type=Path, help="write all figures to this file")
    parser.add_argument("--no-baseline", action="store_true", help="leave out librosa's beat tracker")
    options = parser.parse_args(arguments)
    require_sounds()
    with tempfile.TemporaryDirectory() as temporary:
        folder = options.cache or Path(temporary)
        scored = []
        for seed in track(options.seeds, "concerts", transient=True):
            scored.append(score_concert(*rendered(seed, folder), baseline=not options.no_baseline))
    concerts = [concert for concert, _ in scored]
    sections = [row for _, rows in scored for row in rows]
    console = Console(width=150)
    console.print(section_table(sections))
    console.print(concert_table(concerts))
    console.print(sureness_table(sections))
    if options.json:
        options.json.write_text(json.dumps(as_json(concerts, sections), indent=1), encoding="utf-8")


def share(figure: float) -> str:
    """Write a share; nothing where it was not measured, for 0.00 would be a result."""
    return "" if np.isnan(figure) else f"{figure:.2f}"


def section_table(rows: Sequence[SectionScore]) -> Table:
    """A row per section."""
    table = Table("concert", "tala", "kind", "matras a minute", title="Sections: F-measures at 70 ms")
    for name in ("matra", "sam", "2 marks", "librosa", "laya", "laya, 2 marks", "turned", "fit s", "read in"):
        table.add_column(name, justify="right")
    for row in rows:
        numbers = (row.matra_f, row.sam_f, row.sam_f_marked, row.matra_f_librosa)
        table.add_row(
            str(row.concert), row.tala, row.kind + " + solo" * bool(row.solos and row.kind == "gat"),
            f"{row.mpm[0]:.0f} to {row.mpm[1]:.0f}", *(share(number) for number in numbers),
            "" if row.laya == "1" else row.laya, "" if row.laya_marked == "1" else row.laya_marked,
            "" if np.isnan(row.turned) else f"{row.turned:.1f}", f"{row.fit_s:.1f}",
            "" if row.tala_chosen == row.tala else row.tala_chosen,
        )  # fmt: skip
    return table


def concert_table(concerts: Sequence[ConcertScore]) -> Table:
    """A row per concert, and the mean."""
    table = Table("concert", title="Concerts")
    names = ("matra", "sam", "sam, 2 marks", "Sa, cents", "edges, s", "edges", "onsets", "tala", "matra, librosa",
             "sam, librosa", "measure s")  # fmt: skip
    for name in names:
        table.add_column(name, justify="right")
    for row in concerts:
        table.add_row(
            str(row.seed), *(f"{f:.2f}" for f in (row.matra_f, row.sam_f, row.sam_f_marked)), f"{row.sa_cents:+.0f}",
            f"{row.edge_s:.1f}", f"{row.edges_near} of {row.edges}, found {row.edges_found}, {row.edges_false} false",
            *(share(f) for f in (row.onset_f, row.tala_right, row.matra_f_librosa, row.sam_f_librosa)),
            f"{row.measure_s:.1f}",
        )  # fmt: skip
    mean = means(concerts)
    table.add_section()
    table.add_row(
        "mean", *(f"{mean[name]:.2f}" for name in ("matra_f", "sam_f", "sam_f_marked")),
        f"{mean['sa_cents']:.0f}", f"{mean['edge_s']:.1f}", "",
        *(share(mean[name]) for name in ("onset_f", "tala_right", "matra_f_librosa", "sam_f_librosa")),
        f"{mean['measure_s']:.1f}",
    )  # fmt: skip
    return table


def sureness_table(rows: Sequence[SectionScore]) -> Table:
    """How many of the sams found are right, by confidence: what a confidence is worth."""
    table = Table("confidence", "sams", "right", title="Confidence of the sams, no help")
    sams = [sam for row in rows for sam in row.sure]
    for low, high in pairwise((0.0, 0.2, 0.5, 0.8, 0.95, 1.01)):
        right = [ok for sure, ok in sams if low <= sure < high]
        are = share(float(np.mean(right)) if right else np.nan)
        table.add_row(f"{low:.2f} to {min(high, 1):.2f}", str(len(right)), are)
    return table


def means(concerts: Sequence[ConcertScore]) -> dict[str, float]:
    """Mean of every figure over the concerts; of the cents, of their size."""
    names = [name for name in asdict(concerts[0]) if name != "seed"]
    return {name: float(np.mean([abs(getattr(concert, name)) for concert in concerts])) for name in names}


def as_json(concerts: Sequence[ConcertScore], sections: Sequence[SectionScore]) -> dict[str, Any]:
    """All figures, with the commit they were measured at."""
    here = Path(__file__).parent
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=here, capture_output=True, text=True, check=False
    )
    return {
        "commit": commit.stdout.strip(),
        "concerts": [asdict(concert) for concert in concerts],
        "sections": [asdict(section) for section in sections],
        "mean": means(concerts),
    }


if __name__ == "__main__":
    main()
