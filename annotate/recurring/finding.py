"""The mukhras and recurring phrases of a recording, each with all its comings and the names proposed for it.

Mukhras are looked for in every section on a grid, phrases in the whole line of the lead, alap too, octaves kept.

Conventions: times in seconds from the start of the recording; matras and avartans from 1.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from annotate.archive import Archive
from annotate.grid import Grid, RecordingGrid
from annotate.recurring.naming import ProposedName, names_for
from annotate.swaras import melody_of, middle_sa_of, raga_swaras
from ingest.evidence import Evidence
from ingest.finding.lattice import Lattice, lay_out
from ingest.finding.mukhra import Mukhra, find_mukhra
from ingest.finding.mukhra_comings import draft_mukhra, mukhra_comings
from ingest.finding.notes_heard import NotesHeard, notes_heard
from ingest.finding.recurring import recurring
from ingest.melody import Melody
from ingest.onset_times import onset_times
from theory.notation_print import to_text
from theory.swaras import semitones_of

SAME_PLACE_MATRAS = 0.6
MOSTLY = 0.6
SHARED = 0.5
FINDING_SHARE = 0.6
"""Of the time that a recording takes, the part before its phrases are looked for."""


@dataclass(frozen=True)
class Comes:
    """Once that a phrase comes.

    Parameters
    ----------
    start_s, end_s : float
    section : str
        '' outside a section with a tala.
    cycle : int or None
    matra : float or None
        Where it begins, as played.
    """

    start_s: float
    end_s: float
    section: str = ""
    cycle: int | None = None
    matra: float | None = None

    def overlaps(self, start_s: float, end_s: float) -> bool:
        """Whether most of the shorter of the two lies in the other."""
        shared_s = min(end_s, self.end_s) - max(start_s, self.start_s)
        return shared_s > SHARED * min(end_s - start_s, self.end_s - self.start_s)

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "start_s": round(self.start_s, 3), "end_s": round(self.end_s, 3), "section": self.section,
            "cycle": self.cycle, "matra": None if self.matra is None else round(self.matra, 2),
        }  # fmt: skip


@dataclass(frozen=True)
class RecurringPhrase:
    """A phrase, or mukhra, that comes again and again in a recording.

    Parameters
    ----------
    recording, kind : str
        Kind is ``"mukhra"`` or ``"phrase"``.
    text : str
        A draft in swaras: of a mukhra in matras, of a phrase note by note.
    semitones : tuple of int
        Its notes above the middle Sa, one struck again counted once.
    comings : tuple of Comes
        In order of time.
    gain : float
        How much likelier it is a phrase than the line's habit, as a logarithm; of a mukhra 0.
    names : tuple of ProposedName
        By its place in the avartan first, then by the raga.
    """

    recording: str
    kind: str
    text: str
    semitones: tuple[int, ...]
    comings: tuple[Comes, ...]
    gain: float
    names: tuple[ProposedName, ...] = ()

    @cached_property
    def key(self) -> str:
        """Names it within its recording as long as the same is found: kind, section of a mukhra, swaras."""
        section = self.comings[0].section if self.kind == "mukhra" else ""
        return f"{self.kind}|{section}|{self.text}"

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "recording": self.recording,
            "kind": self.kind,
            "swaras": self.text,
            "count": len(self.comings),
            "log_likelihood_ratio": round(self.gain, 1),
            "names": [each.to_json() for each in self.names],
            "comings": [each.to_json() for each in self.comings],
        }


@dataclass(frozen=True, eq=False)
class Heard:
    """What is heard again and again in a recording, and the line it was found in."""

    phrases: tuple[RecurringPhrase, ...]
    notes: NotesHeard


def recurring_in(archive: Archive, slug: str, tell: Callable[[float], None] | None = None) -> Heard:
    """Find the mukhras and recurring phrases of a recording: mukhras first, then what tells most.

    Parameters
    ----------
    archive : Archive
    slug : str
    tell : callable, optional
        Told the share done, 0 to 1. Where the melody was never followed, it is followed in the sound first.

    Raises
    ------
    NoSuchRecording
    BadAnnotation
        There is neither a melody nor sound to follow it in, or Sa is not known.
    """
    tell = tell or (lambda _share: None)
    raga = archive.state(slug).recording.raga
    melody = melody_of(archive, slug, lambda share: tell(FINDING_SHARE * share / 2))
    sa_hz = middle_sa_of(archive, slug, melody)
    evidence, grid, letters = archive.evidence(slug), archive.grid(slug), raga_swaras(raga)
    mukhras = []
    for number, section in enumerate(grid.sections, 1):
        if evidence is not None:
            mukhras += list(_mukhra_of(slug, section, evidence, melody, sa_hz, letters))
            evidence.let_go()
        tell(FINDING_SHARE * (1 + number / len(grid.sections)) / 2)
    onsets_s = onset_times(evidence) if evidence is not None else ()
    notes = notes_heard(melody, sa_hz, letters, onsets_s)
    tell((1 + FINDING_SHARE) / 2)
    phrases = [
        RecurringPhrase(
            slug, "phrase", each.text, each.semitones,
            tuple(on_grid(grid, coming.start_s, coming.end_s) for coming in each.comings), each.gain,
        )
        for each in recurring(notes)
    ]  # fmt: skip
    named = [replace(each, names=tuple(_names(each, raga, mukhras, grid))) for each in (*mukhras, *phrases)]
    tell(1.0)
    return Heard(tuple(named), notes)


def on_grid(grid: RecordingGrid, start_s: float, end_s: float) -> Comes:
    """A stretch of time with its place on the grid, if it begins on one."""
    section = grid.at(start_s)
    if section is None:
        return Comes(start_s, end_s)
    cycle, matra = section.position(start_s)
    return Comes(start_s, end_s, section.section, cycle, matra)


def lattice_of(grid: Grid, evidence: Evidence, melody: Melody, sa_hz: float) -> Lattice:
    """The evidence of a section laid out on its grid, matras that the grid leaves out put between."""
    positions = grid.absolute_matras
    first, last = round(positions[0]), round(positions[-1])
    matra_s = np.interp(np.arange(first, last + 1), positions, grid.matra_s)
    return lay_out(evidence, melody, sa_hz, matra_s, first, grid.tala.matras)


def _mukhra_of(
    slug: str, grid: Grid, evidence: Evidence, melody: Melody, sa_hz: float, raga: tuple[str, ...]
) -> Iterator[RecurringPhrase]:
    """The mukhra of a section, if it has one that can be heard."""
    if len(grid.matra_s) < 2:
        return
    lattice = lattice_of(grid, evidence, melody, sa_hz)
    mukhra = find_mukhra(lattice)
    found = mukhra_comings(lattice, mukhra) if mukhra is not None else []
    if mukhra is None or not found:
        return
    drafted = draft_mukhra(lattice, mukhra, found, raga).passage
    if not drafted.notes:
        return
    comings = tuple(Comes(each.start_s, each.end_s, grid.section, each.cycle, float(mukhra.matra)) for each in found)
    text = to_text(drafted, grid.tala, mukhra.matra)
    semitones = tuple(semitones_of(each) for each in drafted.symbols)
    whole = int((grid.absolute_matras[-1] - grid.absolute_matras[0]) // grid.tala.matras)
    name = _mukhra_name(mukhra, len(comings), whole, grid)
    yield RecurringPhrase(slug, "mukhra", text, semitones, comings, 0.0, (name,))


def _mukhra_name(mukhra: Mukhra, count: int, whole: int, grid: Grid) -> ProposedName:
    share = min(1.0, count / max(whole, 1))
    why = (
        f"From matra {mukhra.matra} of {grid.tala.name} to sam the line comes back {count} times in {whole} whole "
        "avartans, more alike than the rest of the avartan. Where the mukhra begins is the gat's own: correct by ear."
    )
    return ProposedName("mukhra of the gat", "mukhra", share, why)


def _names(
    phrase: RecurringPhrase, raga: str, mukhras: list[RecurringPhrase], grid: RecordingGrid
) -> Iterator[ProposedName]:
    """Names by its place in the avartan, then by the raga."""
    yield from phrase.names
    if phrase.kind == "phrase":
        for mukhra in mukhras:
            of_it = [
                any(each.overlaps(coming.start_s, coming.end_s) for coming in mukhra.comings) for each in phrase.comings
            ]
            if sum(of_it) >= MOSTLY * len(of_it):
                why = f"{sum(of_it)} of its {len(of_it)} comings are part of the mukhra {mukhra.text}."
                yield ProposedName("mukhra of the gat", "mukhra", sum(of_it) / len(of_it), why)
                break
        else:
            yield from _line_of_gat(phrase, grid)
    yield from names_for(phrase.semitones, raga)


def _line_of_gat(phrase: RecurringPhrase, grid: RecordingGrid) -> Iterator[ProposedName]:
    """Whether most comings in a section begin on one matra."""
    for section in grid.sections:
        matras = section.tala.matras
        at = np.array([each.matra for each in phrase.comings if each.section == section.section and each.matra])
        if len(at) < 3:
            continue
        away = np.abs((at[:, None] - at[None, :] + matras / 2) % matras - matras / 2)
        same = (away <= SAME_PLACE_MATRAS).mean(axis=1)
        if same.max() >= MOSTLY and len(at) >= MOSTLY * len(phrase.comings):
            matra = half_matra(float(at[same.argmax()]), matras)
            why = f"{round(same.max() * len(at))} of {len(at)} times in the gat it begins about matra {matra}."
            yield ProposedName("line of the gat", "sthayi", float(same.max()), why)
            return


def half_matra(matra: float, matras: int) -> str:
    """A matra as played, to the nearest half: just before sam is sam."""
    half = round(2 * (matra - 1)) % (2 * matras) + 2
    return str(half // 2) if half % 2 == 0 else f"{half // 2} 1/2"
