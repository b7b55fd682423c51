"""Which files make one recording: one, several that follow each other, or stems that sound together.

Conventions: files of a role follow each other in the order given (sides of a tape, a split file); the roles of a
recording begin together. A stem that is a little shorter than the others is taken to end in silence.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce
from operator import and_
from pathlib import Path
from typing import Literal

from ingest.decode import AudioInfo, probe
from ingest.errors import IngestError, StemsDiffer, StemsUnclear

Role = Literal["whole", "melody", "tabla"]

STEM_SLACK_S = 1.0
"""Stems whose lengths differ by less are taken for stems of one recording: editors trim the end of what is silent."""

STEM_WORDS = {
    "whole": {"whole", "mix", "mixdown", "full", "master", "stereo", "hall", "room"},
    "tabla": {"tabla", "tablas", "pakhawaj", "percussion", "drum", "drums", "rhythm", "taal"},
    "drone": {"tanpura", "tambura", "tanpuras", "drone", "swarpeti", "surpeti", "shruti"},
    "melody": {
        *(
            "melody",
            "lead",
            "soloist",
            "instrument",
            "sitar",
            "surbahar",
            "sarod",
            "guitar",
            "mandolin",
            "veena",
            "been",
        ),
        *("bansuri", "flute", "venu", "shehnai", "violin", "sarangi", "esraj", "dilruba", "santoor", "voice", "vocal"),
        *("vocals", "singer", "saxophone", "clarinet", "slide", "banjo", "piano"),
    },
}
"""Words in a file's name that tell what a stem holds. Common practice, no source."""


@dataclass(frozen=True)
class Sound:
    """The files of one recording.

    Parameters
    ----------
    whole : tuple of Path
        Everything that sounds: one file, or several that follow each other. Empty: the whole is the sum of the stems.
    melody, tabla, drone : tuple of Path
        Stems, if there are any: the lead alone, the tabla alone, the tanpura alone. The drone's stem serves the sum.
    """

    whole: tuple[Path, ...]
    melody: tuple[Path, ...] = ()
    tabla: tuple[Path, ...] = ()
    drone: tuple[Path, ...] = ()

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file, the whole first."""
        return (*self.whole, *self.melody, *self.tabla, *self.drone)

    @property
    def tracks(self) -> tuple[tuple[Path, ...], ...]:
        """What is summed to give the whole: the whole itself, or every stem; each track a row of files."""
        stems = tuple(files for files in (self.melody, self.tabla, self.drone) if files)
        return (self.whole,) if self.whole else stems

    def of(self, role: Role) -> tuple[tuple[Path, ...], ...]:
        """Tracks that serve a role best: its stem, or else the whole."""
        stems: dict[str, tuple[Path, ...]] = {"melody": self.melody, "tabla": self.tabla}
        stem = stems.get(role, ())
        return (stem,) if stem else self.tracks


@dataclass(frozen=True)
class SoundInfo:
    """What the files of a recording say of themselves, role by role, and the length in seconds of the whole."""

    whole: tuple[AudioInfo, ...]
    melody: tuple[AudioInfo, ...]
    tabla: tuple[AudioInfo, ...]
    drone: tuple[AudioInfo, ...]
    duration_s: float


def probe_sound(sound: Sound) -> SoundInfo:
    """Look at every file of a recording without decoding it.

    Raises
    ------
    UnreadableAudio, EmptyAudio
        A file has no sound; see `ingest.decode.probe`.
    StemsDiffer
        The stems are not of one length.
    IngestError
        There is no file at all.
    """
    if not sound.files:
        raise IngestError("A recording needs a sound file, and none was named.")
    whole, melody, tabla, drone = (
        tuple(probe(path) for path in paths) for paths in (sound.whole, sound.melody, sound.tabla, sound.drone)
    )
    roles = {"whole": whole, "melody": melody, "tabla": tabla, "drone": drone}
    lengths_s = {role: sum(info.duration_s for info in parts) for role, parts in roles.items() if parts}
    if max(lengths_s.values()) - min(lengths_s.values()) > STEM_SLACK_S:
        raise StemsDiffer(lengths_s)
    return SoundInfo(whole, melody, tabla, drone, lengths_s.get("whole", max(lengths_s.values())))


def duration_s(sound: Sound) -> float:
    """Length of the whole as declared by its files."""
    return probe_sound(sound).duration_s


def stems_in(folder: str | Path) -> Sound:
    """Tell by their names which files of a folder are the whole, the melody, the tabla and the drone.

    Words that all names share say nothing and are left aside; what is left is looked up in `STEM_WORDS`. A file with no
    word of its own is the whole (``desh.wav`` beside ``desh tabla.wav``). Several files of one role must be numbered,
    as many in every role, and follow each other in that order. What is no sound and has no such word is passed over.

    Raises
    ------
    UnreadableAudio
        No such folder, or a file with a telling name that has no sound.
    StemsUnclear
        It cannot be told what a file holds, or there are no stems.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise StemsUnclear(folder, "it is not a folder", "Name the folder that holds the stems of one recording.")
    files = _with_sound(folder)
    common = reduce(and_, map(_words, files)) if len(files) > 1 else Counter[str]()
    roles: dict[str, list[Path]] = {role: [] for role in STEM_WORDS}
    for path in files:
        roles[_role(folder, path, set(_words(path) - common))].append(path)
    if not (roles["melody"] or roles["tabla"]):
        raise StemsUnclear(folder, "no file's name says tabla or names a lead instrument", _HOW)
    if sum(map(bool, roles.values())) < 2:
        raise StemsUnclear(folder, "all its files are of one kind", "Name the files themselves instead of the folder.")
    counts = {role: len(paths) for role, paths in roles.items() if paths}
    if len(set(counts.values())) > 1 or not all(map(_numbered, roles.values())):
        told = "; ".join(f"{role}: {', '.join(path.name for path in roles[role])}" for role in counts)
        raise StemsUnclear(
            folder,
            f"several files could be the same stem ({told})",
            "Mix into one file what sounds together; number what follows each other (tabla 1, tabla 2), with as many "
            "files for every stem.",
        )
    in_order = {role: tuple(sorted(paths, key=_number)) for role, paths in roles.items()}
    return Sound(**in_order)


_BESIDE_SOUND = frozenset({".txt", ".md", ".pdf", ".jpg", ".jpeg", ".png", ".csv", ".json", ".toml", ".cue", ".log"})
"""Endings of what lies beside stems without being sound."""

_HOW = "Put 'melody', 'tabla', 'tanpura' or 'mix' into the name of each file."


def _words(path: Path) -> Counter[str]:
    """Words of a name and how often each comes: in ``sitar and tabla (tabla)`` one tabla is beside the common words."""
    return Counter(re.findall(r"[^\W\d_]+", path.stem.lower()))


def _number(path: Path) -> tuple[int, ...]:
    return tuple(int(digits) for digits in re.findall(r"\d+", path.stem))


def _numbered(paths: list[Path]) -> bool:
    """Whether files can be put in order: one, or each with numbers of its own."""
    return len({_number(path) for path in paths}) == len(paths)


def _role(folder: Path, path: Path, words: set[str]) -> str:
    if not words:
        return "whole"
    told = [role for role, known in STEM_WORDS.items() if words & known]
    if len(told) == 1:
        return told[0]
    what = "it could be " + " or ".join(told) if told else "its name does not say"
    raise StemsUnclear(folder, f"it cannot be told what '{path.name}' holds: {what}", _HOW)


def _with_sound(folder: Path) -> list[Path]:
    """Files in which there is sound, or whose name says that there should be."""
    telling = set[str]().union(*STEM_WORDS.values())
    found = []
    for path in _visible(folder):
        try:
            probe(path)
        except IngestError:
            if telling & set(_words(path)) and path.suffix.lower() not in _BESIDE_SOUND:
                raise
            continue
        found.append(path)
    return found


def _visible(folder: Path) -> Iterable[Path]:
    return sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
