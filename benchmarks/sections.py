"""How well the kinds of sections are heard, on rendered evenings with exact truth.

``python -m benchmarks.sections [--seeds 501-508] [--taken-in] [--cache FOLDER] [--json FILE]``

By sound alone; with ``--taken-in`` as taking in has them, gats and solos told apart by the cycle that was followed (the
evening's talas are the candidates) and named by its laya.

* share: of the time within sections (what lies between two belongs to neither), with the right kind. Once with gats by
  laya and tabla solo apart, once with all that is played with tabla taken as one.
* boundaries: of those between sections, how many have one found within 3 s (of the span from the last sound of the one
  to the first of the other), and how many were found in all. Gat to gat: those with tabla on both sides; abrupt: those
  of them without a pause of the tabla longer than two seconds.
* the table: seconds of every true kind (row) by the kind heard (column).

Tune on seeds 1-32, judge on 501-508.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.progress import track
from rich.table import Table

from annotate.archive import Archive
from annotate.intake import take_in
from benchmarks.concerts.render import parse_seeds
from benchmarks.evenings.evening import EveningTruth, SectionHeld
from benchmarks.evenings.render import rendered
from benchmarks.evenings.talk import require_speech
from benchmarks.installed import require_sounds
from ingest.kind_names import GATS, KINDS
from ingest.measure import measure
from ingest.section_kinds import HeardSection, sections_heard

NEAR_S = 3.0
ABRUPT_S = 2.0
STEP_S = 0.1


@dataclass(frozen=True)
class EveningScore:
    """What was heard in an evening."""

    seed: int
    share: float
    share_tabla_as_one: float
    boundaries: tuple[int, int, int]  # near, true, found
    gat_to_gat: tuple[int, int, int]
    abrupt: tuple[int, int]
    seconds: tuple[tuple[float, ...], ...]


def taken_in(path: Path, truth: EveningTruth) -> list[HeardSection]:
    """Return the sections that taking in gives an evening."""
    talas = sorted({section.tala for section in truth.sections if section.tala})
    with tempfile.TemporaryDirectory() as folder:
        archive = Archive.create(Path(folder) / "archive")
        slug = take_in(archive, path, raga="", tala=talas, keep="nothing")
        return [HeardSection(each.kind, each.start_s, each.end_s) for each in archive.state(slug).sections]


def score_evening(heard: Sequence[HeardSection], truth: EveningTruth) -> EveningScore:
    """Hold the sections heard in an evening against the truth."""
    seconds = confusion(heard, truth.sections)
    alike = np.array([[_plain(one) == _plain(other) for other in KINDS] for one in KINDS])
    pairs = list(pairwise(truth.sections))
    near = [_found_near(before, after, heard) for before, after in pairs]
    gats = [bool(before.tabla_s and after.tabla_s) for before, after in pairs]
    abrupt = [
        gat and after.tabla_s[0] - before.tabla_s[1] < ABRUPT_S
        for gat, (before, after) in zip(gats, pairs, strict=True)
    ]
    with_tabla = [_plain(section.kind) == "tabla" for section in heard]
    return EveningScore(
        seed=truth.seed,
        share=float(np.trace(seconds) / seconds.sum()),
        share_tabla_as_one=float(seconds[alike].sum() / seconds.sum()),
        boundaries=(sum(near), len(pairs), max(0, len(heard) - 1)),
        gat_to_gat=(
            sum(n for n, gat in zip(near, gats, strict=True) if gat),
            sum(gats),
            sum(one and other for one, other in pairwise(with_tabla)),
        ),
        abrupt=(sum(n for n, each in zip(near, abrupt, strict=True) if each), sum(abrupt)),
        seconds=tuple(tuple(float(value) for value in row) for row in seconds),
    )


def confusion(heard: Sequence[HeardSection], true: Sequence[SectionHeld]) -> NDArray[np.float64]:
    """Seconds of each true kind by the kind heard, in the order of `KINDS`."""
    out = np.zeros((len(KINDS), len(KINDS)))
    ends_s = np.array([section.end_s for section in heard])
    for section in true:
        for at_s in np.arange(section.start_s, section.end_s, STEP_S):
            here = min(int(np.searchsorted(ends_s, at_s, side="right")), len(heard) - 1)
            out[KINDS.index(section.kind), KINDS.index(heard[here].kind)] += STEP_S
    return out


def _plain(kind: str) -> str:
    return "tabla" if kind in GATS or kind == "tabla solo" else kind


def _found_near(before: SectionHeld, after: SectionHeld, heard: Sequence[HeardSection]) -> bool:
    low_s, high_s = sorted((before.end_s, after.start_s))
    return any(low_s - NEAR_S <= section.start_s <= high_s + NEAR_S for section in heard[1:])


def evening_table(scores: Sequence[EveningScore]) -> Table:
    """A row per evening, and all together."""
    table = Table("evening", "share", "tabla as one", "boundaries", "gat to gat", "abrupt", title="Evenings")
    for score in scores:
        table.add_row(str(score.seed), f"{score.share:.2f}", f"{score.share_tabla_as_one:.2f}", *_counts([score]))
    table.add_section()
    mean = [np.mean([each.share for each in scores]), np.mean([each.share_tabla_as_one for each in scores])]
    table.add_row("all", *(f"{value:.3f}" for value in mean), *_counts(scores))
    return table


def _counts(scores: Sequence[EveningScore]) -> tuple[str, str, str]:
    near, true, found = np.sum([score.boundaries for score in scores], axis=0)
    gat_near, gat_true, gat_found = np.sum([score.gat_to_gat for score in scores], axis=0)
    abrupt_near, abrupt_true = np.sum([score.abrupt for score in scores], axis=0)
    return (
        f"{near} of {true}, found {found}",
        f"{gat_near} of {gat_true}, found {gat_found}",
        f"{abrupt_near} of {abrupt_true}",
    )


def confusion_table(scores: Sequence[EveningScore]) -> Table:
    """Seconds by true and heard kind, and the share of each kind that was heard."""
    table = Table("true", *(kind.replace(" ", "\n") for kind in KINDS), "share", title="Seconds: true by heard")
    seconds = np.sum([score.seconds for score in scores], axis=0)
    for kind, row in zip(KINDS, seconds, strict=True):
        share = row[KINDS.index(kind)] / max(row.sum(), 1e-9)
        table.add_row(kind, *(f"{value:.0f}" if value >= 0.5 else "" for value in row), f"{share:.2f}")
    return table


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what is not yet rendered, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.sections", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("501-508"), help="such as 1-6 or 501,503")
    parser.add_argument("--taken-in", action="store_true", help="as taking in has them: named by the cycle")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered evenings (default: a temporary one)")
    parser.add_argument("--json", type=Path, help="write all figures to this file")
    options = parser.parse_args(arguments)
    require_sounds()
    require_speech()
    scores = []
    with tempfile.TemporaryDirectory() as temporary:
        for seed in track(options.seeds, "evenings", transient=True):
            path, truth = rendered(seed, options.cache or Path(temporary))
            heard = taken_in(path, truth) if options.taken_in else sections_heard(measure(path))
            scores.append(score_evening(heard, truth))
    console = Console(width=150)
    console.print(evening_table(scores))
    console.print(confusion_table(scores))
    if options.json:
        options.json.write_text(json.dumps([asdict(score) for score in scores], indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
