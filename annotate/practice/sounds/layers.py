"""What is laid into a practice sound: the strokes and the passages of the recording, each at its sample."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from annotate.practice.errors import CannotSound
from annotate.practice.sounds.as_played import Passage
from annotate.practice.sounds.beats import Beat, Under, beats_of
from annotate.practice.sounds.instruments import DAMPING_S, GAINS, Tuning, pull_of, sound_of
from annotate.practice.sounds.mixing import Clip, Struck
from annotate.practice.sounds.passage_slowed import join_lead_s, pieces_of, slowed_passage
from annotate.practice.sounds.plan import Leg
from annotate.practice.sounds.wishes import SoundWishes
from ingest.loudness import Meter, ratio_of
from ingest.sound_writing import RATE_HZ

PASSAGE_LUFS = -20.0
"""The passage of the recording within the mix, so that clicks and theka stand as well under any recording."""
MOST_LOUDER_DB = 40.0
JOIN_S = 0.010
"""Where round follows round, one goes over into the other within this time, before the first stroke of either."""
OPENING = 96
"""Samples in which a passage comes in that opens the sound: 2 ms, for its first stroke is not to be blunted."""
ENDING_S = 0.06
"""How a passage ends that does not go from sam to sam."""
CLOSING_FADES = 0.6
"""The share of the closing in which it dies away."""


@dataclass(frozen=True)
class Score:
    """All that is to sound: legs in time, what lies under them, the passages, and how it is said."""

    legs: tuple[Leg, ...]
    under: Under
    passages: tuple[Passage, ...]
    tanpura: bool
    how: str
    told: list[str]


def sample_of(time_s: Fraction) -> int:
    """Return the sample nearest to a time."""
    return round(time_s * RATE_HZ)


def layers_of(
    score: Score, tuning: Tuning, wishes: SoundWishes, path: Path | None, length: int, tell: Callable[[float], None]
) -> list[Struck | Clip]:
    """Return everything that is laid into a sound of so many samples.

    Parameters
    ----------
    score : Score
    tuning : Tuning
    wishes : SoundWishes
    path : Path, optional
        The listening copy that the passages are of.
    length : int
    tell : callable
        Told the share done, 0 to 1, after each speed.

    Raises
    ------
    CannotSound
        The recording cannot be read, or is silent there.
    """
    clips = _clips(path, score, wishes.mono, tell) if path is not None else ()
    return [*_struck(score, tuning, wishes, length), *clips]


def _struck(score: Score, tuning: Tuning, wishes: SoundWishes, length: int) -> Iterator[Struck]:
    under = ratio_of(wishes.under_db)
    placed: list[tuple[int, Beat, int | None]] = []
    for leg in score.legs:
        for beat in beats_of(leg, score.under):
            let_go_at = None if beat.rings is None else sample_of(leg.time_s(beat.position + beat.rings))
            placed.append((sample_of(leg.time_s(beat.position)), beat, let_go_at))
    placed.sort(key=lambda each: each[0])
    follower: dict[str, int] = {}
    for at, beat, let_go_at in reversed(placed):
        damping = DAMPING_S.get(beat.voice)
        stops = [each for each in (let_go_at, follower.get(beat.voice)) if each is not None and damping is not None]
        gain = GAINS[beat.voice] * beat.level * (1.0 if beat.voice == "pluck" else under)
        yield Struck(at, sound_of(beat.sound, tuning), gain, min(stops, default=None), (damping or 0) * RATE_HZ)
        follower[beat.voice] = at
    if score.tanpura:
        yield from _drone(tuning, under, length)


def _drone(tuning: Tuning, under: float, length: int) -> Iterator[Struck]:
    from sample_data.tanpura import REST_S, STEP_S

    at_s, number = 0.0, 0
    while at_s * RATE_HZ < length:
        string = number % len(tuning.strings)
        yield Struck(round(at_s * RATE_HZ), pull_of(string, tuning), GAINS["pull"] * under)
        at_s += STEP_S + (REST_S if string == len(tuning.strings) - 1 else 0.0)
        number += 1


def _clips(path: Path, score: Score, mono: bool, tell: Callable[[float], None]) -> Iterator[Clip]:
    """The passages at their speeds, round after round."""
    import av

    runs = len({(id(leg.run.stretch), leg.run.slower) for leg in score.legs})
    done = 0

    for passage in score.passages:
        own = [leg for leg in score.legs if leg.run.stretch is passage.stretch]
        try:
            lead_s = join_lead_s(path, passage.start_s, passage.end_s) if passage.stretch.closes else 0.0
            gain = _gain(path, passage)
            for slower in dict.fromkeys(leg.run.slower for leg in own):
                yield from _at_speed(
                    path, passage, [leg for leg in own if leg.run.slower == slower], lead_s, gain, mono
                )
                done += 1
                tell(done / runs)
        except (av.FFmpegError, OSError, IndexError) as error:
            raise CannotSound(f"The archive's sound cannot be read ({error}): see layakosh check.") from None


def _gain(path: Path, passage: Passage) -> float:
    """What makes a passage as loud as every passage."""
    meter = Meter(RATE_HZ, between_samples=False)
    for piece in pieces_of(path, passage.start_s, passage.end_s):
        meter.add(piece)
    loudness = meter.finish()
    if loudness.peak_db == -math.inf:
        raise CannotSound("The recording is silent there, or ends before it: look at the times of the piece.")
    return ratio_of(min(PASSAGE_LUFS - loudness.lufs, MOST_LOUDER_DB))


def _at_speed(path: Path, passage: Passage, legs: list[Leg], lead_s: float, gain: float, mono: bool) -> Iterator[Clip]:
    """One passage at one speed in all its rounds: from a little before its first stroke, so that it can be faded in."""
    slower = float(legs[0].run.slower)
    fade_in = round(JOIN_S * RATE_HZ)
    from_s = passage.start_s - lead_s - JOIN_S / slower
    rings_s = sum(float(leg.pace.lasts_s) for leg in legs if leg.kind == "closing") / slower
    sound = slowed_passage(path, from_s, passage.end_s + rings_s, 1 / slower, mono=mono)
    lead = round((passage.start_s - from_s) * slower * RATE_HZ)
    rounds = [leg for leg in legs if leg.kind == "round"]
    for number, leg in enumerate(rounds):
        at = sample_of(leg.begin_s)
        length = sample_of(leg.end_s) - at
        if not leg.run.stretch.closes:
            stop, fade_out = lead + length, round(ENDING_S * RATE_HZ)
        elif number + 1 < len(rounds):  # it ends where the next one has come in
            stop, fade_out = length + fade_in, fade_in
        else:
            stop, fade_out = len(sound), round(CLOSING_FADES * (len(sound) - lead - length))
        early = max(0, lead - at)  # nothing sounds before the beginning
        yield Clip(at - lead + early, sound[early:stop], gain, OPENING if early else fade_in, fade_out)
