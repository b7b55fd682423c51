"""Plucked instruments from a General MIDI soundfont, read from the file itself.

Only what a plucked note needs is read: which sample for which key and loudness, its root and tuning, its loop, and the
decay of its volume. Read by ourselves and not through a synthesiser so that glides follow the pitch curve exactly and
the onset is known to the sample; filters, vibrato and effects are left out.

Conventions: mono float32 at 44.1 kHz; the first sample is the onset. Keys and velocities as in MIDI.

References
----------
E-mu Systems, SoundFont Technical Specification, version 2.01, 1998 (chunks, generators and their units; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sample_data.events import Pluck
from sample_data.mandolin import pitch_along
from sample_data.tools import RATE_HZ, Signal, release

GM_SOUNDFONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
PROGRAMS = {"sitar": 104, "nylon guitar": 24, "steel guitar": 25}
DAMPING_S = 0.04
BEGINS_AT = 0.08  # of the peak of its first tenth of a second
# generator numbers of the specification
START, END, LOOP_START, LOOP_END, START_COARSE = 0, 1, 2, 3, 4
ATTACK, HOLD, DECAY, SUSTAIN, INSTRUMENT, KEYS, VELOCITIES = 34, 35, 36, 37, 41, 43, 44
ATTENUATION, COARSE_TUNE, FINE_TUNE, SAMPLE, LOOP_MODE, ROOT = 48, 51, 52, 53, 54, 58
_GENERATOR = np.dtype([("oper", "<u2"), ("amount", "<i2")])
_BAG = np.dtype([("gen", "<u2"), ("mod", "<u2")])
_PRESET = np.dtype([("name", "S20"), ("program", "<u2"), ("bank", "<u2"), ("bag", "<u2"), ("rest", "V12")])
_INSTRUMENT = np.dtype([("name", "S20"), ("bag", "<u2")])
_HEADER = np.dtype([("name", "S20"), ("start", "<u4"), ("end", "<u4"), ("loop_start", "<u4"), ("loop_end", "<u4"),
                    ("rate", "<u4"), ("root", "u1"), ("cents", "i1"), ("link", "<u2"), ("type", "<u2")])  # fmt: skip
_CHUNKS = {"pgen": _GENERATOR, "igen": _GENERATOR, "pbag": _BAG, "ibag": _BAG,
           "phdr": _PRESET, "inst": _INSTRUMENT, "shdr": _HEADER}  # fmt: skip


@dataclass(frozen=True)
class Zone:
    """A sample for a range of keys and velocities, with the generators that apply to it."""

    keys: tuple[int, int]
    velocities: tuple[int, int]
    sample: int
    amounts: dict[int, int] = field(default_factory=dict)


class SoundFont:
    """An instrument of a soundfont.

    Parameters
    ----------
    path : Path
        File in the SoundFont 2 format.
    program : int
        General MIDI program, 0 to 127, bank 0.
    """

    def __init__(self, path: Path, program: int) -> None:
        self._wave, self._tables = _read(path)
        self._zones = _zones(self._tables, program)
        self._lead_in: dict[int, int] = {}
        self._sounds: dict[tuple[int, int], NDArray[np.float64]] = {}

    def pluck_sound(self, pluck: Pluck) -> Signal:
        """Sound of one pluck, from its onset until it is damped; shape (n,)."""
        n = int((pluck.sounding_s + 5 * DAMPING_S) * RATE_HZ)
        hz = pitch_along(pluck, np.arange(n) / RATE_HZ)
        key = int(np.clip(round(69 + 12 * np.log2(pluck.hz / 440.0)), 0, 127))
        velocity = int(np.clip(40 + 85 * pluck.level, 1, 127))
        chosen = [zone for zone in self._zones if _within(key, zone.keys) and _within(velocity, zone.velocities)]
        out = np.zeros(n)
        for zone in chosen:
            out += self._played(zone, hz) / len(chosen)
        level = pluck.level * (0.9 if pluck.upstroke else 1.0)
        return (level * out * release(n, pluck.sounding_s, DAMPING_S)).astype(np.float32)

    def _played(self, zone: Zone, hz: NDArray[np.float64]) -> NDArray[np.float64]:
        """A zone's sample at a course of pitch, with its decay."""
        header, amounts = self._tables["shdr"][zone.sample], zone.amounts
        start = int(header["start"]) + amounts.get(START, 0) + 32768 * amounts.get(START_COARSE, 0)
        end = int(header["end"]) + amounts.get(END, 0)
        sound = self._sound(start, end)
        root = amounts.get(ROOT, -1) if amounts.get(ROOT, -1) >= 0 else int(header["root"])
        semitones = root - amounts.get(COARSE_TUNE, 0) - (amounts.get(FINE_TUNE, 0) + int(header["cents"])) / 100
        root_hz = 440.0 * 2 ** ((semitones - 69) / 12)
        at = self._begins(zone.sample, sound) + np.cumsum(hz / root_hz * int(header["rate"]) / RATE_HZ)
        first = int(header["loop_start"]) + amounts.get(LOOP_START, 0) - start
        last = int(header["loop_end"]) + amounts.get(LOOP_END, 0) - start
        if amounts.get(LOOP_MODE, 0) & 1 and 0 <= first < last:
            at = np.where(at < last, at, first + np.mod(at - first, last - first))
        at = np.minimum(at, sound.size - 2)  # samples end in silence
        before = at.astype(np.int64)
        share = at - before
        played: NDArray[np.float64] = sound[before] * (1 - share) + sound[before + 1] * share
        return played * _volume(amounts, hz.size)

    def _sound(self, start: int, end: int) -> NDArray[np.float64]:
        if (start, end) not in self._sounds:
            self._sounds[start, end] = self._wave[start:end].astype(np.float64) / 32768
        return self._sounds[start, end]

    def _begins(self, sample: int, sound: NDArray[np.float64]) -> int:
        """Where in a sample the plectrum lets go."""
        if sample not in self._lead_in:
            early = np.abs(sound[: RATE_HZ // 10])
            self._lead_in[sample] = int(np.argmax(early > BEGINS_AT * early.max()))
        return self._lead_in[sample]


def lead_voice(name: str, path: Path = GM_SOUNDFONT) -> SoundFont:
    """Return one of `PROGRAMS` by its name."""
    return _voice(path, PROGRAMS[name])


@cache
def _voice(path: Path, program: int) -> SoundFont:
    return SoundFont(path, program)


@cache
def _read(path: Path) -> tuple[NDArray[np.int16], dict[str, NDArray[np.void]]]:
    """The waves (mapped, not loaded) and the tables of a soundfont."""
    found: dict[str, tuple[int, int]] = {}
    with path.open("rb") as file:
        file.seek(12)
        while head := file.read(8):
            size = int.from_bytes(head[4:], "little")
            if head[:4] == b"LIST":
                file.seek(4, 1)  # into the list; its kind is told by what is in it
            else:
                found[head[:4].decode("ascii")] = (file.tell(), size)
                file.seek(size + size % 2, 1)
    wave = np.memmap(path, np.int16, "r", found["smpl"][0], (found["smpl"][1] // 2,))
    tables = {
        name: np.fromfile(path, dtype, found[name][1] // dtype.itemsize, offset=found[name][0])
        for name, dtype in _CHUNKS.items()
    }
    return wave, tables


def _zones(tables: dict[str, NDArray[np.void]], program: int) -> tuple[Zone, ...]:
    presets = tables["phdr"]
    number = int(np.flatnonzero((presets["program"] == program) & (presets["bank"] == 0))[0])
    zones = []
    for preset in _bags(tables, "pbag", "pgen", int(presets["bag"][number]), int(presets["bag"][number + 1])):
        if INSTRUMENT not in preset:
            continue
        bags = tables["inst"]["bag"]
        first, last = int(bags[preset[INSTRUMENT]]), int(bags[preset[INSTRUMENT] + 1])
        for amounts in _bags(tables, "ibag", "igen", first, last):
            if SAMPLE in amounts:
                zones.append(Zone(_range(amounts, KEYS), _range(amounts, VELOCITIES), amounts[SAMPLE], amounts))
    return tuple(zones)


def _bags(
    tables: dict[str, NDArray[np.void]], bags: str, generators: str, first: int, last: int
) -> list[dict[int, int]]:
    """Generators of each bag over those of the global one, which comes first and names no sample or instrument."""
    starts, rows = tables[bags]["gen"], tables[generators]
    out: list[dict[int, int]] = []
    common: dict[int, int] = {}
    for bag in range(first, last):
        mine = rows[int(starts[bag]) : int(starts[bag + 1])]
        amounts = dict(zip(mine["oper"].tolist(), mine["amount"].tolist(), strict=True))
        if bag == first and SAMPLE not in amounts and INSTRUMENT not in amounts:
            common = amounts
        out.append(common | amounts)
    return out


def _range(amounts: dict[int, int], generator: int) -> tuple[int, int]:
    both = amounts.get(generator, 0x7F00) & 0xFFFF
    return both & 0xFF, both >> 8


def _within(value: int, bounds: tuple[int, int]) -> bool:
    return bounds[0] <= value <= bounds[1]


def _volume(amounts: dict[int, int], n: int) -> NDArray[np.float64]:
    """Attenuation and decay; times are in timecents, levels in centibels, a decay is over 100 dB."""
    t = np.arange(n) / RATE_HZ
    attack_s, hold_s, decay_s = (2 ** (amounts.get(number, -12000) / 1200) for number in (ATTACK, HOLD, DECAY))
    fallen_db = np.minimum(np.maximum(t - attack_s - hold_s, 0.0) / decay_s * 100.0, amounts.get(SUSTAIN, 0) / 10)
    # makers meant attenuation to count 0.4 of what the specification says
    fallen_db += 0.4 * amounts.get(ATTENUATION, 0) / 10
    return np.minimum(1.0, t / max(attack_s, 1e-4)) * 10 ** (-fallen_db / 20)
