"""Where a mukhra comes, and its draft, on a lattice that is written down, not measured."""

from __future__ import annotations

import numpy as np
import pytest

from ingest.finding.lattice import Lattice
from ingest.finding.mukhra import Mukhra, find_mukhra
from ingest.finding.mukhra_comings import draft_mukhra, mukhra_comings
from theory.notation_print import to_text

MATRAS, PARTS, MATRA_S = 8, 24, 0.6
MUKHRA = (7, 9, 12)  # P D S' on the matras 6, 7, 8


def lattice_of(ends: list[tuple[int, ...]], first: int = 0, seed: int = 1) -> Lattice:
    """Avartans of eight matras whose last three are given; the rest by chance, a note a matra."""
    rng = np.random.default_rng(seed)
    notes = [note for end in ends for note in (*rng.integers(0, 12, MATRAS - len(end)).tolist(), *end)]
    semitone = np.repeat(np.array([*notes[first:], 0], np.float32), PARTS)[: (len(notes) - first) * PARTS + 1]
    count = len(semitone)
    pitch = (np.abs((semitone[:, None] - np.arange(12) + 6) % 12 - 6) < 0.5).astype(np.float32)
    plucks = np.zeros(count, np.float32)
    plucks[::PARTS] = 1
    ones, nothing = np.ones(count, np.float32), np.zeros((count, 6), np.float32)
    time_s = 2.0 + np.arange(count) * MATRA_S / PARTS
    return Lattice(MATRAS, first, PARTS, time_s, nothing, plucks, pitch, semitone, ones, ones)


ENDS = [MUKHRA, MUKHRA, (1, 3, 6), MUKHRA, MUKHRA, (2, 11, 4), MUKHRA]


def test_every_avartan_that_ends_with_the_mukhra_is_listed_and_no_other() -> None:
    lattice = lattice_of(ENDS)
    found = mukhra_comings(lattice, Mukhra(6, 1.0, 1.0))
    assert [each.cycle for each in found] == [1, 2, 4, 5, 7]
    assert found[0].start_s == pytest.approx(2.0 + 5 * MATRA_S)
    assert found[0].end_s == pytest.approx(2.0 + 8 * MATRA_S)
    assert min(each.likeness for each in found) > 0.9


def test_a_section_that_begins_within_an_avartan_counts_its_avartans_alike() -> None:
    found = mukhra_comings(lattice_of(ENDS, first=3), Mukhra(6, 1.0, 1.0))
    assert [each.cycle for each in found] == [1, 2, 4, 5, 7]
    assert found[0].start_s == pytest.approx(2.0 + 2 * MATRA_S)
    late = mukhra_comings(lattice_of(ENDS, first=6), Mukhra(6, 1.0, 1.0))
    assert [each.cycle for each in late] == [2, 4, 5, 7]


def test_the_draft_is_of_all_comings_together_so_that_a_slip_of_once_is_not_written() -> None:
    lattice = lattice_of([MUKHRA, (7, 10, 12), MUKHRA, MUKHRA, MUKHRA])
    mukhra = Mukhra(6, 1.0, 1.0)
    found = mukhra_comings(lattice, mukhra)
    assert to_text(draft_mukhra(lattice, mukhra, found).passage) == "P D S'"


def test_the_mukhra_that_is_found_by_itself_is_the_one_that_comes() -> None:
    lattice = lattice_of(ENDS)
    mukhra = find_mukhra(lattice)
    assert mukhra is not None
    assert mukhra.matra == 6


def test_with_fewer_than_three_avartans_nothing_comes_again() -> None:
    assert mukhra_comings(lattice_of(ENDS[:2]), Mukhra(6, 1.0, 1.0)) == []
