"""What a recording is to be taken in from: its files, looked at before anything is done, and known by their content.

One file is known by its digest. Several are known by the digest of their digests, in order and with what each holds;
the archive keeps the digest of every one of them, so that a file is recognised whether it comes alone or among others.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path

from annotate.archive import Archive
from annotate.errors import AlreadyTakenIn, BadOrder
from annotate.records import SourceFile
from annotate.withdrawing import withdrawn
from ingest.decode import AudioInfo, probe
from ingest.errors import IngestError
from ingest.listen import Sound, probe_sound

ROLES = ("whole", "melody", "tabla", "drone")

SHARED_ROLE = "drone"
"""The same recorded tanpura may lie under many performances: it does not tell them apart."""

PART_WORDS = frozenset(
    {"side", "sides", "part", "parts", "disc", "disk", "cd", "tape", "reel", "track", "file", "no", "nr"}
)
"""Words that number the files of one recording and are no part of its title. Common practice, no source."""


@dataclass(frozen=True)
class Source:
    """A recording's files as they were found.

    Parameters
    ----------
    sound : Sound
    files : tuple of SourceFile
        Each with its digest, and where it begins.
    sha256 : str
        Digest of the whole.
    duration_s : float
        As the files declare it.
    """

    sound: Sound
    files: tuple[SourceFile, ...]
    sha256: str
    duration_s: float

    @property
    def name(self) -> str:
        """What to call it in a message."""
        names = [file.name for file in self.files]
        return names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"

    @property
    def title(self) -> str:
        """Title for want of another: what the names of its files have in common."""
        return title_of(self.sound)


def look_at(audio: str | Path | Sound) -> Source:
    """Look at the files of a recording without decoding them, and digest them.

    Raises
    ------
    ingest.errors.UnreadableAudio, ingest.errors.EmptyAudio, ingest.errors.StemsDiffer
        Nothing to be heard in a file, or stems that do not belong together.
    BadOrder
        The same content comes twice.
    """
    sound = audio if isinstance(audio, Sound) else Sound((Path(audio),))
    info = probe_sound(sound)
    files: list[SourceFile] = []
    for role in ROLES:
        parts: tuple[AudioInfo, ...] = getattr(info, role)
        begins_s = 0.0
        for path, part in zip(getattr(sound, role), parts, strict=True):
            files.append(SourceFile(path.name, role, begins_s, _digest(path)))
            begins_s += part.duration_s
    refuse_repeated([(file.name, file.sha256) for file in files])
    alone = len(files) == 1
    told = "".join(f"{file.role} {file.sha256}\n" for file in files).encode()
    sha256 = files[0].sha256 if alone else hashlib.sha256(told).hexdigest()
    return Source(sound, tuple(files), sha256, float(info.duration_s))


def sounds_in(folder: Path) -> tuple[list[Sound], list[str]]:
    """Return the recordings that lie in a folder, each a file of sound, and the names of what is no sound.

    Folders in the folder, and files whose names begin with a full stop, are left aside.

    Raises
    ------
    BadOrder
        There is no sound in it.
    """
    paths = sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    found = [path for path in paths if _has_sound(path)]
    if not found:
        raise BadOrder(f"There is no sound file in the folder '{folder}'. Name the files, or another folder.")
    return [Sound((path,)) for path in found], [path.name for path in paths if path not in found]


def _has_sound(path: Path) -> bool:
    try:
        probe(path)
    except IngestError:
        return False
    return True


def refuse_repeated(contents: list[tuple[str, str]]) -> None:
    """Refuse that the same content comes twice; pairs of name and digest.

    Raises
    ------
    BadOrder
        It names both.
    """
    seen: dict[str, str] = {}
    for name, digest in contents:
        if digest in seen:
            raise BadOrder(
                f"{name} is the same sound as {seen[digest]}, byte for byte. Name it once; nothing was taken in."
            )
        seen[digest] = name


def refuse_known(archive: Archive, source: Source) -> None:
    """Refuse what is in the archive already, alone or among the files of a recording.

    Raises
    ------
    AlreadyTakenIn
        It names the file and the recording.
    """
    known = digests_in(archive)
    wanted = [(file.name, file.sha256) for file in source.files if file.role != SHARED_ROLE]
    for name, digest in [(source.name, source.sha256), *wanted]:
        if digest in known:
            there = known[digest]
            raise AlreadyTakenIn(name, there.slug, one_of_several=there.one_of_several, withdrawn=there.withdrawn)


@dataclass(frozen=True)
class Holder:
    """The recording that holds a content, whether among others, and who withdrew it when, in words; empty if nobody."""

    slug: str
    one_of_several: bool
    withdrawn: str = ""


def digests_in(archive: Archive) -> dict[str, Holder]:
    """Return by digest of a content the recording that holds it; one that is withdrawn too, where no other does."""
    known: dict[str, Holder] = {}
    for each in withdrawn(archive):
        files = [(file.role, file.sha256) for file in each.recording.files]
        _put_down(known, each.slug, each.recording.audio_sha256, files, each.by_and_when)
    rows = archive.index("recordings", ["recording", "audio_sha256", "files"])
    for slug, whole, told in rows.itertuples(index=False):
        files = [(file["role"], file["sha256"]) for file in (told if told is not None else ())]
        _put_down(known, slug, whole, files)
    return known


def _put_down(
    known: dict[str, Holder], slug: str, whole: str, files: list[tuple[str, str]], withdrawn_words: str = ""
) -> None:
    for role, sha256 in files:
        if role != SHARED_ROLE:
            known[sha256] = Holder(slug, len(files) > 1, withdrawn_words)
    if whole:
        known[whole] = Holder(slug, False, withdrawn_words)


def title_of(sound: Sound) -> str:
    """Return the title that the names of a recording's files suggest.

    Of one file its name; of several what they begin with in common (``desh side-a.flac`` and ``desh side-b.flac`` are
    ``desh``). Where nothing is in common: the folder's name for stems, the first file's name for parts.
    """
    paths = list(sound.files)
    rows = [re.findall(r"[^\s_-]+", path.stem) for path in paths]
    common = [row[0] for row in takewhile(lambda row: len(set(row)) == 1, zip(*rows, strict=False))]
    while common and (common[-1].casefold() in PART_WORDS or common[-1].isdigit()):
        common.pop()
    if len(paths) > 1 and common:
        return " ".join(common)
    if len(sound.tracks) > 1:
        return paths[0].absolute().parent.name
    return paths[0].stem.replace("_", " ").strip() or paths[0].name


def _digest(path: Path) -> str:
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()
