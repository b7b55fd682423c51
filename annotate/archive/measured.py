"""What an archive keeps of the sound: evidence, melody, waveform, and the listening copy."""

from __future__ import annotations

from pathlib import Path

from annotate import evidence_store, levels_store, melody_store
from annotate.archive.reading import Reading
from annotate.errors import BadName
from annotate.levels_store import Waveform
from ingest.evidence import Evidence
from ingest.melody import Melody


class Measured(Reading):
    """An archive with what was measured of its recordings, and their sound."""

    def evidence(self, slug: str) -> Evidence | None:
        """Return what ingest measured; None for a recording without sound."""
        return evidence_store.load(self.evidence_folder(slug))

    def not_measured(self) -> list[str]:
        """Return the slugs of the recordings that have sound and no evidence at all; told without opening a file."""
        rows = self.table("recordings", ["recording", "audio_sha256"])
        sounds = dict(zip(rows["recording"].to_pylist(), rows["audio_sha256"].to_pylist(), strict=True))
        return [slug for slug, seen in self.seen().items() if sounds.get(slug) and not seen.evidence]

    def without_evidence(self) -> list[str]:
        """Return the slugs of the recordings that have sound, and no evidence or melody that this version can read.

        The end of every file is read: some milliseconds a recording.
        """
        folders = {slug: self.evidence_folder(slug) for slug in self.slugs()}
        return [
            slug
            for slug, folder in folders.items()
            if not (evidence_store.is_there(folder) and melody_store.is_there(folder))
            and self.state(slug).recording.audio_sha256
        ]

    def melody(self, slug: str) -> Melody | None:
        """Return the course of the lead's melody; None where it was not followed."""
        return melody_store.load(self.evidence_folder(slug))

    def waveform(self, slug: str, start_s: float, end_s: float, points: int) -> Waveform | None:
        """Return a stretch of the waveform, with so many points; None where there is none.

        What is too short for the kept levels is drawn from the listening copy, where there is one.
        """
        folder = self.evidence_folder(slug)
        return levels_store.waveform(folder, start_s, end_s, points, lambda: self.sound_path(slug))

    def sound_path(self, slug: str) -> Path | None:
        """Return the path of the listening copy, fetched from an object store; None when the archive keeps none."""
        audio_path = self.state(slug).recording.audio_path
        try:
            return self.store.local(audio_path) if audio_path else None
        except (FileNotFoundError, BadName):
            return None

    def has_sound(self, slug: str) -> bool:
        """Tell whether the archive keeps a listening copy, without fetching it."""
        audio_path = self.state(slug).recording.audio_path
        try:
            return bool(audio_path and self.store.stamp(audio_path))
        except BadName:
            return False

    def originals(self, slug: str) -> list[str]:
        """Return the names, in the store, of the files that the recording was taken in from, where they are kept."""
        entries = self.store.files(f"{self._place(slug).name}/sound")
        return [entry.name for entry in entries if "-original-" in entry.last]
