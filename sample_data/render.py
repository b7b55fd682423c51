"""Render the sample performances: ``python -m sample_data.render`` writes sound and truth beside this file.

The way: a performance on paper (``desh``, ``bageshri``; the words in ``score``) is played (``playing`` and ``touch``,
on the pulse of ``clock``) into strokes (``events``), which the instruments (``mandolin``, ``tabla``, ``tanpura``) sound
in a ``room``; ``truth`` writes down what was played. Everything follows from the performance's seed.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from sample_data import room, truth
from sample_data.bageshri import BAGESHRI
from sample_data.desh import DESH
from sample_data.playing import play

PERFORMANCES = (DESH, BAGESHRI)
HERE = Path(__file__).parent


def main(arguments: Sequence[str] | None = None) -> None:
    """Render what the command line asks for.

    Parameters
    ----------
    arguments : sequence of str, optional
        Instead of the command line's.
    """
    parser = argparse.ArgumentParser(prog="python -m sample_data.render", description="Render the sample performances.")
    parser.add_argument("--into", type=Path, default=HERE, help="folder to write into (default: beside this script)")
    parser.add_argument("--tables-only", action="store_true", help="write the tables, leave the sound as it is")
    options = parser.parse_args(arguments)
    renditions = [play(performance) for performance in PERFORMANCES]
    texts = {name: text for rendition in renditions for name, text in truth.tables(rendition).items()}
    truth.write(options.into, texts | {"concerts.toml": truth.concerts_toml(renditions)})
    if options.tables_only:
        return
    for rendition in renditions:
        path = options.into / f"{rendition.performance.name}.ogg"
        room.write_ogg(path, room.sound_of(rendition.part, rendition.performance.seed))
        print(f"{path.name}: {rendition.part.duration_s:.1f} s, {path.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
