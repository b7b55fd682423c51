"""How well the finder finds, on rendered concerts full of tihais and of what looks like them.

``python -m benchmarks.finder [--seeds 841-852] [--cache FOLDER] [--no-marks] [--json FILE]``

Every section is handed over with its true limits and tala, and its first two sams as a person marks them (not with
``--no-marks``). N being the number of true tihais of a concert (said three times, and landing), measured are:

* recall: how many of them are among the first 2 N proposals; precision: how many of the first N proposals are one. A
  proposal is right that lands within 150 ms of the truth and shares half of the time from beginning to landing with it.
* Of the right ones: landing within 50 ms; palla (from its first to its landing stroke) and dam exact; who plays it; the
  kind (chakradar, nauhakka or neither). Chakradars and nauhakkas found as wholes, among the first 2 N.
* Verdict: of the proposals that are a true tihai or one that misses, how many are said to land or to miss rightly; and
  how many true ones are said to miss.
* Confidence: how many proposals are right, by the confidence they were given.
* Seconds a minute of sound from evidence to proposals.

Learnt on seeds below 230 (`ingest/data/finding.json` lists them); judged on: 801 to 812, 821 to 832, 841 to 852.
"""

from __future__ import annotations

import argparse
import json
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.progress import track
from rich.table import Table

from benchmarks.concerts.render import parse_seeds
from benchmarks.finding.heard import heard
from benchmarks.finding.truth import EventTruth
from benchmarks.installed import require_sounds
from ingest.finding.find import find
from ingest.finding.proposal import Proposal, proposals

RIGHT_LANDING_S, RIGHT_SHARE = 0.15, 0.5
NEAR_LANDING_S = 0.05
PLAYERS = {"tabla": "tabla", "lead": "melody", "both": "both"}


@dataclass
class Score:
    """What was counted over concerts."""

    tihais: int = 0
    found: int = 0
    first_right: int = 0
    near: int = 0
    exact: int = 0
    player: int = 0
    kind: int = 0
    wholes: int = 0
    wholes_found: int = 0
    verdicts: int = 0
    verdicts_right: int = 0
    called_misses: int = 0
    minutes: float = 0.0
    seconds: float = 0.0
    told: list[tuple[float, bool]] = field(default_factory=list)
    wrong: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)

    def add(self, other: Score) -> None:
        """Take the counts of another one in."""
        for name, value in vars(other).items():
            if isinstance(value, Counter):
                getattr(self, name).update(value)
            else:
                setattr(self, name, getattr(self, name) + value)


def is_right(proposal: Proposal, event: EventTruth) -> bool:
    """Whether a proposal is an event."""
    begins, ends = (proposal.start_s, event.statement_s[0]), (proposal.landing_s, event.landing_s)
    shared = min(ends) - max(begins)
    return abs(ends[0] - ends[1]) < RIGHT_LANDING_S and shared > RIGHT_SHARE * (max(ends) - min(begins))


def score_concert(seed: int, cache: Path, marked: bool = True) -> Score:
    """Propose for a concert and hold it against the truth."""
    seconds, found, sections = 0.0, [], list(heard(seed, cache, marked))
    for section in sections:
        began_s = time.perf_counter()
        found += proposals(section.lattice, find(section.lattice), section.onsets_s)
        seconds += time.perf_counter() - began_s
    score = score_proposals(found, [event for section in sections for event in section.events])
    score.minutes, score.seconds = sum(section.duration_s for section in sections) / 60, seconds
    return score


def score_proposals(found: list[Proposal], events: Sequence[EventTruth]) -> Score:
    """Hold proposals against the truth."""
    score = Score()
    found.sort(key=lambda proposal: -proposal.confidence)
    true = [event for event in events if event.is_tihai]
    score.tihais = len(true)
    taken: set[int] = set()
    for rank, proposal in enumerate(found[: 2 * len(true)]):
        hit = next((event for event in events if is_right(proposal, event) and event.what in _THREE), None)
        right = hit is not None and hit.is_tihai
        score.told.append((proposal.confidence, right))
        if hit is not None:
            score.verdicts += 1
            score.verdicts_right += proposal.misses != hit.lands
            score.called_misses += hit.lands and proposal.misses
        if hit is None or not right:
            if rank < len(true):
                score.wrong[_near(proposal, events)] += 1
            continue
        if id(hit) in taken:
            continue
        taken.add(id(hit))
        score.first_right += rank < len(true)
        _count_hit(score, proposal, hit)
    score.found = len(taken)
    wholes = [event for event in true if event.what != "tihai"]
    score.wholes, score.wholes_found = len(wholes), sum(id(event) in taken for event in wholes)
    score.missed.update(f"{event.what}, {event.by}" for event in true if id(event) not in taken)
    return score


_THREE = ("tihai", "chakradar", "nauhakka", "misses")


def _count_hit(score: Score, proposal: Proposal, event: EventTruth) -> None:
    score.near += abs(proposal.landing_s - event.landing_s) < NEAR_LANDING_S
    dam = proposal.palla + proposal.dam - proposal.to_landing
    score.exact += proposal.to_landing == Fraction(event.palla) and dam == Fraction(event.dam)
    score.player += PLAYERS[proposal.played_by] == event.by
    score.kind += (proposal.kind if proposal.kind in ("chakradar", "nauhakka") else "tihai") == event.what


def _near(proposal: Proposal, events: Sequence[EventTruth]) -> str:
    """What a wrong proposal lies in."""
    inside = [
        event
        for event in events
        if min(proposal.landing_s, event.landing_s) > max(proposal.start_s, event.statement_s[0])
    ]
    return min((event.what for event in inside), default="nothing")


def main(arguments: Sequence[str] | None = None) -> None:
    """Propose, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.finder", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("841-852"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    parser.add_argument("--no-marks", action="store_true", help="hand no sams over")
    parser.add_argument("--json", type=Path, help="write the figures to this file")
    options = parser.parse_args(arguments)
    require_sounds()
    total, rows = Score(), []
    with tempfile.TemporaryDirectory() as temporary:
        for seed in track(options.seeds, "concerts", transient=True):
            score = score_concert(seed, options.cache or Path(temporary), not options.no_marks)
            rows.append((str(seed), score))
            total.add(score)
    console = Console(width=140)
    console.print(table([*rows, ("all", total)]))
    console.print(confidence_table(total))
    console.print("Wrong among the first N lie in:", dict(total.wrong))
    console.print("Not found:", dict(total.missed))
    if options.json:
        options.json.write_text(json.dumps(figures(total), indent=1), encoding="utf-8")


def figures(score: Score) -> dict[str, float]:
    """The figures of the table by name."""
    hits = max(score.found, 1)
    return {
        "tihais": score.tihais,
        "recall": score.found / max(score.tihais, 1),
        "precision": score.first_right / max(score.tihais, 1),
        "landing": score.near / hits,
        "exact": score.exact / hits,
        "player": score.player / hits,
        "kind": score.kind / hits,
        "wholes": score.wholes_found / max(score.wholes, 1),
        "verdict": score.verdicts_right / max(score.verdicts, 1),
        "called misses": score.called_misses,
        "s a minute": score.seconds / max(score.minutes, 1e-9),
    }


def table(rows: Sequence[tuple[str, Score]]) -> Table:
    """A row per concert, and all together."""
    out = Table("concert", title="Proposals")
    names = tuple(figures(rows[-1][1]))
    for name in names:
        out.add_column(name, justify="right")
    for name, score in rows:
        found = figures(score)
        if name == "all":
            out.add_section()
        out.add_row(
            name, *(str(int(found[n])) if n in ("tihais", "called misses") else f"{found[n]:.2f}" for n in names)
        )
    return out


def confidence_table(score: Score) -> Table:
    """What a confidence is worth."""
    out = Table("confidence", "proposals", "right", title="Confidence, of the first 2 N")
    for low, high in pairwise((0.0, 0.2, 0.4, 0.6, 0.8, 1.01)):
        right = [ok for sure, ok in score.told if low <= sure < high]
        out.add_row(f"{low:.1f} to {min(high, 1):.1f}", str(len(right)), f"{np.mean(right):.2f}" if right else "")
    return out


if __name__ == "__main__":
    main()
