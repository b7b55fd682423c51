"""How far a person's decisions rank the proposals of concerts that they have not decided on.

``python -m benchmarks.finding.taste [--seeds 841-852] --cache FOLDER``

A made-up person goes through the first 2 N proposals of some concerts of the first half, accepts what they are after
and rejects the rest; the concerts of the second half are then ranked by `annotate.proposals.learning`. Printed is how
many of the wanted ones are among as many first proposals, by the finder alone and as learnt, and how often a wanted one
is ranked above another one.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.progress import track
from rich.table import Table
from sklearn.metrics import roc_auc_score

from annotate.proposals.decided import Decided
from annotate.proposals.learning import learn
from annotate.proposals.measured import said_of
from annotate.proposals.proposed import Found
from benchmarks.concerts.render import parse_seeds
from benchmarks.finder import is_right
from benchmarks.finding.heard import heard
from benchmarks.finding.truth import EventTruth
from benchmarks.installed import require_sounds
from ingest.finding.close_look import NAMES
from ingest.finding.find import find
from ingest.finding.proposal import proposals

CONCERTS_DECIDED = (1, 2, 4, 6)
LONG_S = 2.5
Taste = Callable[[Found, EventTruth | None], bool]
TASTES: dict[str, Taste] = {
    "any tihai": lambda _, event: event is not None,
    "those of the melody alone": lambda _, event: event is not None and event.by == "melody",
    f"those with {LONG_S} s and more from palla to palla": lambda found, event: (
        event is not None and found.proposal.palla_s[1] - found.proposal.palla_s[0] > LONG_S
    ),
}


@dataclass(frozen=True, eq=False)
class Concert:
    """What is proposed for a concert, the likeliest first, each with the tihai that it is, and how many there are."""

    seed: int
    tihais: int
    proposed: tuple[tuple[Found, EventTruth | None], ...]


def concert(seed: int, cache: Path) -> Concert:
    """Propose for a concert."""
    sections = list(heard(seed, cache))
    true = [event for section in sections for event in section.events if event.is_tihai]
    found = [
        each
        for section in sections
        for each in proposals(section.lattice, find(section.lattice), section.onsets_s)
    ]  # fmt: skip
    found.sort(key=lambda proposal: -proposal.confidence)
    told = (
        (Found(f"p{each.landing_s:.1f}", "", "", each), next((event for event in true if is_right(each, event)), None))
        for each in found
    )
    return Concert(seed, len(true), tuple(told))


def main(arguments: Sequence[str] | None = None) -> None:
    """Decide, learn, rank, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.finding.taste", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("841-852"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, required=True, help="folder that keeps rendered concerts")
    options = parser.parse_args(arguments)
    require_sounds()
    concerts = [concert(seed, options.cache) for seed in track(options.seeds, "concerts", transient=True)]
    table = Table("a person who is after", "decided", "of them accepted", "used", "wanted in the other concerts",
                  "first by the finder", "as learnt", "ranked rightly by the finder", "as learnt")  # fmt: skip
    half = len(concerts) // 2
    for name, taste in TASTES.items():
        for count in CONCERTS_DECIDED:
            if count <= half:
                table.add_row(name, *_row(taste, concerts[:count], concerts[half:]))
    Console(width=150).print(table)


def _row(taste: Taste, seen: Sequence[Concert], others: Sequence[Concert]) -> list[str]:
    learnt = learn(
        tuple(
            Decided(
                str(each.seed), found.key, "", taste(found, event), found.proposal.confidence, said_of(found, NAMES)
            )
            for each in seen
            for found, event in each.proposed[: 2 * each.tihais]
        )
    )
    wanted, first = 0, np.zeros(2, np.int64)
    all_wanted: list[bool] = []
    chances: tuple[list[float], list[float]] = ([], [])
    for each in others:
        found = [one for one, _ in each.proposed[: 3 * each.tihais]]
        is_wanted = np.array([taste(*pair) for pair in each.proposed[: 3 * each.tihais]])
        wanted += int(is_wanted.sum())
        all_wanted += is_wanted.tolist()
        for way, chance in enumerate(([one.proposal.confidence for one in found], learnt.ranked(found, NAMES))):
            chances[way].extend(chance)
            first[way] += is_wanted[np.argsort(-np.array(chance), kind="stable")[: is_wanted.sum()]].sum()
    return [
        str(len(learnt.decided)),
        str(learnt.accepted),
        "yes" if learnt.is_used else "no",
        str(wanted),
        *map(str, first.tolist()),
        *(f"{roc_auc_score(all_wanted, each):.2f}" for each in chances),
    ]


if __name__ == "__main__":
    main()
