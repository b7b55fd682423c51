"""How well mukhras and recurring phrases are found, on concerts of which every note is known.

Of a mukhra: whether the matra is found on which it begins; of all its comings, how many are found, and how many of
those found are it. Of groups of phrases: whether what was really played is alike wherever one is said to come.

``python -m benchmarks.recurring --seeds 1-16 --cache FOLDER``
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from annotate.swaras import raga_swaras
from benchmarks.concerts.render import parse_seeds
from benchmarks.concerts.truth import SectionTruth
from benchmarks.finding.concert import finding_plan
from benchmarks.finding.heard import heard, measured
from benchmarks.finding.lines_played import LinePlayed, lines_played
from ingest.finding.like_lines import distance
from ingest.finding.mukhra import find_mukhra
from ingest.finding.mukhra_comings import mukhra_comings
from ingest.finding.notes_heard import notes_heard
from ingest.finding.recurring import Group, recurring
from ingest.onset_times import onset_times
from ingest.swaras_heard import middle_sa_hz
from ingest.tonic import sa_from_drone

NEAR_SAM_S = 0.3
EARLY_S, LATE_S = 0.08, 0.05
ALIKE_NOTES = 4  # of so many notes one may differ
ALIKE_SHARE = 0.7  # of the comings


@dataclass
class Counts:
    """What was counted over all concerts."""

    sections: int = 0
    mukhras: int = 0
    right_matra: int = 0
    comings: int = 0
    right: int = 0
    true: int = 0
    found: int = 0
    groups: int = 0
    right_groups: int = 0
    seconds: list[float] = field(default_factory=list)


def count(seed: int, cache_folder: Path, counts: Counts) -> None:
    """Add one concert."""
    evidence, melody, sections, _events = measured(seed, cache_folder)
    lines, raga = lines_played(seed, sections), raga_swaras(finding_plan(seed).raga)
    for each in heard(seed, cache_folder):
        number = int(np.argmin([abs(section.start_s - each.lattice.time_s[0]) for section in sections]))
        true_s = [end_s for _, end_s in lines[number].mukhra_s]
        counts.sections += 1
        mukhra = find_mukhra(each.lattice)
        if mukhra is None:
            continue
        sams_s = [coming.end_s for coming in mukhra_comings(each.lattice, mukhra)]
        counts.mukhras += 1
        counts.right_matra += mukhra.matra == each.lattice.matras - lines[number].mukhra + 1
        counts.comings += len(sams_s)
        counts.right += sum(any(abs(sam_s - true) < NEAR_SAM_S for true in true_s) for sam_s in sams_s)
        counts.true += len(true_s)
        counts.found += sum(any(abs(sam_s - true) < NEAR_SAM_S for sam_s in sams_s) for true in true_s)
    began_s = time.perf_counter()
    groups = recurring(
        notes_heard(melody, middle_sa_hz(melody, sa_from_drone(evidence).hz), raga, onset_times(evidence))
    )
    counts.seconds.append(time.perf_counter() - began_s)
    counts.groups += len(groups)
    counts.right_groups += sum(is_one_phrase(group, lines, sections) for group in groups)


def is_one_phrase(group: Group, lines: Sequence[LinePlayed], sections: Sequence[SectionTruth]) -> bool:
    """Whether most of what was really played where a group comes is alike, one note in four apart."""
    played = []
    for coming in group.comings:
        inside = [
            line
            for line, section in zip(lines, sections, strict=True)
            if section.start_s - 2 <= coming.start_s < section.end_s + 2
        ]
        played.append(
            inside[0].between(coming.start_s - EARLY_S, coming.end_s - LATE_S) if inside else np.zeros(0, np.int64)
        )
    shares = [
        np.mean([distance(one, other) <= max(len(one), len(other)) / ALIKE_NOTES for other in played])
        for one in played
        if len(one)
    ]
    return max(shares, default=0.0) >= ALIKE_SHARE


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.recurring", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 801,803")
    parser.add_argument("--cache", type=Path, required=True, help="folder for rendered concerts and their evidence")
    options = parser.parse_args(arguments)
    counts = Counts()
    for seed in options.seeds:
        count(seed, options.cache, counts)
    print(f"mukhra found in {counts.mukhras} of {counts.sections} sections, on its matra in {counts.right_matra}")
    print(f"its comings: {counts.found} of {counts.true} found; {counts.right} of {counts.comings} said are it")
    print(f"groups of phrases: {counts.right_groups} of {counts.groups} are one phrase wherever they come")
    print(f"time a concert: {np.mean(counts.seconds):.2f} s, at most {max(counts.seconds):.2f} s")


if __name__ == "__main__":
    main()
