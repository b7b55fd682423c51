"""What the bench concerts are made from must be on the machine: say so before any work is done."""

from __future__ import annotations

from benchmarks.concerts.recorded import SAMPLES
from benchmarks.concerts.soundfont import GM_SOUNDFONT


def require_sounds() -> None:
    """End with the command that brings what is missing.

    Raises
    ------
    SystemExit
        When the recorded strokes or the soundfont are missing.
    """
    needed = {"sonic-pi-samples": SAMPLES / "tabla_na.flac", "fluid-soundfont-gm": GM_SOUNDFONT}
    missing = [package for package, path in needed.items() if not path.exists()]
    if missing:
        raise SystemExit(
            f"The bench concerts need sounds that are not here. On Debian: apt-get install {' '.join(missing)}"
        )
