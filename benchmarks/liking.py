"""How well and how fast the like of a passage is found, on concerts that are full of things said several times.

The passage is the first statement of a thing said twice to five times (`benchmarks.finding.events`; 0.8 s or longer),
by who plays it; the others have to come first among all sections of the concert. And the mukhra of a cycle: those of
the other cycles have to. *Precision* is the share of right places among as many as there are; *found* the share found
among twice as many and two. Seeds 1 to 20 were tuned on. The same word in another thing said counts as wrong.

``python -m benchmarks.liking --cache FOLDER [--seeds 1-20]``; speed and memory of an hour: ``--hour``.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from annotate.alike.heard import ladders_of
from benchmarks.concerts.render import parse_seeds
from benchmarks.finding.concert import finding_plan
from benchmarks.finding.events import mukhra_matras
from benchmarks.finding.heard import measured
from benchmarks.finding.truth import EventTruth
from benchmarks.scores import fit
from ingest.finding.course import Sounding, on_grid
from ingest.finding.example import Played
from ingest.finding.like import Likeness, Wanted, likenesses
from ingest.finding.searched import Ladder, Searched
from ingest.tonic import sa_from_drone
from theory.talas import get_tala

SHORTEST_S, BEFORE_S, AFTER_S = 0.8, 0.02, 0.12
NEAR_S, NEAR_LENGTH = 0.1, 0.12
MOST = 40
MUKHRAS_A_SECTION = 4
HOUR_S = 3600.0
TELLING_ITS_PEAK = """
import atexit, re, sys
from pathlib import Path
from layakosh import main
status = lambda: Path("/proc/self/status").read_text()
atexit.register(lambda: print(re.search(r"VmHWM:\\s+(\\d+)", status())[1], file=sys.stderr))
main()
"""


@dataclass(frozen=True, eq=False)
class Section:
    """A section ready to be searched, and what is true of it."""

    searched: Searched
    matra_s: NDArray[np.float64]
    position: NDArray[np.float64]
    matras: int
    events: tuple[EventTruth, ...]

    def time_s(self, position: float) -> float:
        """Time of a position."""
        return float(np.interp(position, self.position, self.matra_s))

    def after_s(self, start_s: float, matras: float) -> float:
        """The time so many matras later."""
        return self.time_s(float(np.interp(start_s, self.matra_s, self.position)) + matras)


@dataclass(frozen=True, eq=False)
class Concert:
    """What sounds in a concert, and its sections."""

    sounding: Sounding
    sections: tuple[Section, ...]
    ladders: tuple[Ladder, ...]

    def likes(
        self, section: Section, start_s: float, end_s: float, wanted: Wanted
    ) -> Iterator[tuple[Section, float, float]]:
        """Sections and times of what is like a passage, the likest first, itself left out."""
        start_s, end_s = max(start_s, section.matra_s[0]), min(end_s, section.matra_s[-1])
        example = Played(self.sounding, start_s, end_s, section.matra_s, section.position)
        found: list[tuple[Section, Likeness]] = []
        for each in self.sections:
            found += [(each, like) for like in likenesses(example, each.searched, wanted, self.ladders, MOST)]
        for each, like in sorted(found, key=lambda pair: -pair[1].height):
            edges_s = each.searched.course.edges_s
            begins_s, ends_s = float(edges_s[like.first]), float(edges_s[like.first + like.count])
            if min(ends_s, end_s) - max(begins_s, start_s) <= 0.5 * min(ends_s - begins_s, end_s - start_s):
                yield each, begins_s, ends_s


def concert(seed: int, cache_folder: Path) -> Concert:
    """Lay a concert out."""
    evidence, melody, sections, events = measured(seed, cache_folder)
    sounding = Sounding(evidence.strokes, evidence.stroke_hop_s, melody, sa_from_drone(evidence).hz)
    ladders = ladders_of(finding_plan(seed).raga)
    laid = []
    for number, section in enumerate(sections):
        found = fit(evidence, section, section.sam_s[:2])[2]
        if found is not None:
            matras = get_tala(section.tala).matras
            position = (found.cycle - 1.0) * matras + found.matra - 1
            searched = Searched(on_grid(sounding, found.matra_s, position), ladders)
            own = tuple(event for event in events if event.section == number)
            laid.append(Section(searched, found.matra_s, position, matras, own))
    return Concert(sounding, tuple(laid), ladders)


def of_events(played: Concert, transposed: str, any_laya: bool) -> Iterator[tuple[str, float, float]]:
    """Who plays it, precision and share found, for every event."""
    for section in played.sections:
        for event in section.events:
            start_s, others_s = event.statement_s[0], event.statement_s[1:]
            if len(others_s) == 0 or section.after_s(start_s, float(Fraction(event.palla))) - start_s < SHORTEST_S:
                continue
            begins_s = start_s - BEFORE_S
            ends_s = section.after_s(start_s, float(Fraction(event.palla))) + AFTER_S
            right = []
            wanted = Wanted(event.by, transposed, any_laya)  # type: ignore[arg-type] # as in the truth
            for where, from_s, to_s in played.likes(section, begins_s, ends_s, wanted):
                near = [n for n, other_s in enumerate(others_s) if abs(from_s - other_s + BEFORE_S) < NEAR_S]
                as_long = abs((to_s - from_s) / (ends_s - begins_s) - 1) < NEAR_LENGTH
                right.append(near[0] if near and as_long and where is section else None)
            count = len(others_s)
            kind = f"{event.by}{', transposed' if event.transposed else ''}"
            yield kind, *(len({*right[:first]} - {None}) / count for first in (count, 2 * count + 2))


def of_mukhras(played: Concert, transposed: str, any_laya: bool) -> Iterator[float]:
    """Precision of the mukhras of some cycles; those over which an event lies are neither right nor wrong."""
    for section in played.sections:
        length = mukhra_matras(section.matras, section.searched.course.unit_s)
        first, last = (int(section.position[end] // section.matras) for end in (0, -1))
        sams = [
            cycle * section.matras for cycle in range(first + 1, last + 1)
            if cycle * section.matras - length >= section.position[0]
        ]  # fmt: skip
        begins_s = {sam: section.time_s(sam - length) for sam in sams}
        clean = [
            sam for sam in sams
            if not any(e.by != "tabla" and e.statement_s[0] < section.time_s(sam) and e.landing_s > begins_s[sam]
                       for e in section.events)
        ]  # fmt: skip
        for sam in clean[:MUKHRAS_A_SECTION]:
            others = [other for other in clean if other != sam]
            wanted = Wanted("melody", transposed, any_laya)  # type: ignore[arg-type] # as in the conditions below
            right = []
            for where, from_s, _to_s in played.likes(section, begins_s[sam], section.time_s(sam), wanted):
                near = [each for each in sams if where is section and abs(from_s - begins_s[each]) < 1.5 * NEAR_S]
                if not near or near[0] in clean:
                    right.append(bool(near))
            if others and right:
                yield float(np.mean(right[: len(others)]))


def hour(seed: int, cache_folder: Path) -> str:
    """Seconds and memory of the command over an archive with one recording of an hour."""
    from annotate import evidence_store, melody_store
    from annotate.archive import Archive
    from annotate.records import Recording
    from annotate.records import Section as Part
    from annotate.revisions import add
    from ingest.melody import Melody

    evidence, melody, _sections, _events = measured(seed, cache_folder)
    times = int(HOUR_S / evidence.duration_s) + 1
    with tempfile.TemporaryDirectory() as folder:
        archive = Archive.create(Path(folder) / "archive")
        duration_s = evidence.duration_s * times
        rows = [Recording("hour", "An hour", raga="desh", duration_s=duration_s, sa_hz=sa_from_drone(evidence).hz,
                          performed_on=date(2026, 1, 1)), Part("alap", "alap", 0.0, duration_s)]  # fmt: skip
        archive.commit("hour", [add(row) for row in rows], "bench", "an hour")
        arrays = {
            name: np.concatenate([getattr(evidence, name)] * times)
            for name in ("bass", "treble", "strength", "level_db", "chroma", "strokes", "texture")
        }
        scalars = {name: getattr(evidence, name) for name in
                   ("hop_s", "chroma_hop_s", "stroke_hop_s", "texture_hop_s", "drone")}  # fmt: skip
        evidence_store.save(archive.evidence_folder("hour"), type(evidence)(duration_s=duration_s, **scalars, **arrays))
        rows_of_melody = (np.tile(each, times) for each in (melody.fundamental_hz, melody.voicing, melody.strength))
        melody_store.save(archive.evidence_folder("hour"), Melody(melody.hop_s, *rows_of_melody))
        command = [sys.executable, "-c", TELLING_ITS_PEAK, "like", "hour", "--from", "60", "--to", "64", "--json"]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        answer = subprocess.run([*command, "--archive", str(archive.path)], check=True, capture_output=True, text=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    took_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    peak_mb = int(answer.stderr.split()[-1]) / 1024
    best = json.loads(answer.stdout)[0]
    return (
        f"{duration_s / 60:.0f} min: {took_s:.1f} s of a core with the start of the program, peak {peak_mb:.0f} MB; "
        f"the likest: {best['melody']:.2f} melody, {best['tabla']:.2f} tabla"
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.liking", description=__doc__.split("\n")[0])
    parser.add_argument("--cache", type=Path, required=True, help="folder of rendered concerts and their evidence")
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-20"), help="such as 1-20")
    parser.add_argument("--hour", action="store_true", help="only speed and memory of an hour")
    options = parser.parse_args(arguments)
    if options.hour:
        print(hour(options.seeds[0], options.cache))
        return
    concerts = [concert(seed, options.cache) for seed in options.seeds]
    print(f"seeds {options.seeds[0]} to {options.seeds[-1]}")
    for words, transposed, any_laya in (
        ("any pitch, any laya", "also", True),
        ("the same pitch and laya", "not", False),
        ("transposed only, any laya", "only", True),
    ):
        scores: dict[str, list[tuple[float, float]]] = defaultdict(list)
        for played in concerts:
            for kind, precision, found in of_events(played, transposed, any_laya):
                scores[kind].append((precision, found))
            if transposed != "only":
                scores["mukhra"] += [(precision, np.nan) for precision in of_mukhras(played, transposed, any_laya)]
        print(f"{words}:")
        for kind, rows in sorted(scores.items()):
            if transposed != "only" or kind.endswith("transposed"):
                precision, found = np.mean(rows, axis=0)
                twice = "" if np.isnan(found) else f"  found {found:.2f}"
                print(f"  {kind:<20} {len(rows):>4}  precision {precision:.2f}{twice}")


if __name__ == "__main__":
    main()
