"""The phrases that published handbooks give of a raga, played in an alap, are found again and named.

Sources: those of each raga in theory/data/ragas.toml, which are printed with every name that is proposed; of the ragas
that are rendered: songsofyore.com, raga Desh; Vasant, Sangit Visharad, Sangeet Karyalaya, Hathras, p. 147 (Bhupali).
The performance is ours: each phrase of five swaras or more five times in an alap that goes up the aroha and down the
avaroha between. On paper this is done for every raga of the table that has such phrases; for two of them it is rendered
on the sample data's plucked string over its tanpura, so that the notes have to be heard first.

Of the 53 phrases 38 are found, at least four of their five times. Those that are not are short and a part of the way up
or down, as Yaman's P M G R S, which cannot be told from the scale; or they share most with another phrase of their
raga, as Bihag's two, which are found as the five swaras that both end with, ten times.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import resample_poly

from annotate.recurring.naming import names_for, without_repeats
from ingest.decode import WORK_RATE_HZ
from ingest.finding.like_lines import least_edits
from ingest.finding.notes_heard import notes_heard
from ingest.finding.recurring import Group, recurring
from ingest.melody import melody_of_blocks
from ingest.swaras_heard import middle_sa_hz
from sample_data.events import Pluck
from sample_data.tools import RATE_HZ
from tests.ingest.small_concert import SA_HZ, sound_of
from tests.ingest.test_recurring import as_heard
from theory.notation import parse
from theory.ragas import Raga, all_ragas, get_raga
from theory.swaras import semitones_of

NOTE_S = 0.32
TIMES = 5
FEWEST = 5


def notes_in(text: str) -> list[int]:
    """Semitones of a line of notation."""
    return [semitones_of(each) for each in parse(text.replace(",", " ")).symbols]


def alap_of(raga: Raga, phrases: list[list[int]]) -> list[int]:
    """Each phrase in turn, between them a stretch of the way up or down, begun and left at different places."""
    rng, line = np.random.default_rng(3), list[int]()
    for number in range(TIMES * len(phrases)):
        way = notes_in(raga.aroha if rng.random() < 0.5 else raga.avaroha)
        begin = int(rng.integers(0, len(way) - 3))
        line += [*way[begin : begin + int(rng.integers(2, 5))], *phrases[number % len(phrases)]]
    return line


def played(line: list[int]) -> np.ndarray:
    """Mono sound of a line, a note after another, at the rate of the melody."""
    plucks = [Pluck(1.0 + number * NOTE_S, NOTE_S, SA_HZ * 2 ** (step / 12), 0.7) for number, step in enumerate(line)]
    sound = sound_of(plucks, [], 2.0 + len(line) * NOTE_S).mean(axis=1)
    return np.asarray(resample_poly(sound, WORK_RATE_HZ, RATE_HZ), dtype=np.float32)


def phrases_of(raga: Raga) -> list[list[int]]:
    """Its published phrases that are long enough to be looked for."""
    return [notes_in(text) for text in raga.phrases if len(without_repeats(notes_in(text))) >= FEWEST]


def is_found(phrase: list[int], groups: list[Group], raga: Raga) -> bool:
    """Whether a group holds it (one note in four may differ), comes as often, and is named pakad."""
    own = without_repeats(phrase)
    return any(
        min(least_edits(np.array(group.semitones), own + octave) for octave in (-12, 0, 12)) <= len(own) // 4
        and len(group.comings) >= TIMES - 1
        and any(name.name == "pakad" for name in names_for(group.semitones, raga.key))
        for group in groups
    )


def test_on_paper_thirty_eight_of_fifty_three_published_phrases_are_found_and_named() -> None:
    found = []
    for raga in all_ragas():
        phrases = phrases_of(raga)
        if phrases:
            groups = recurring(as_heard(without_repeats(alap_of(raga, phrases)).tolist()))
            found += [is_found(phrase, groups, raga) for phrase in phrases]
    assert (sum(found), len(found)) == (38, 53)


@pytest.mark.parametrize("name", ["desh", "bhupali"])
def test_in_a_rendered_alap_the_published_phrases_are_found_and_named(name: str) -> None:
    raga = get_raga(name)
    line = alap_of(raga, phrases_of(raga))
    melody = melody_of_blocks([played(line)])
    onsets_s = [1.0 + number * NOTE_S for number in range(len(line))]
    groups = recurring(notes_heard(melody, middle_sa_hz(melody, SA_HZ), raga.swaras, onsets_s))
    assert all(is_found(phrase, groups, raga) for phrase in phrases_of(raga))
