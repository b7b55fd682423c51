"""Where the cycle was lost: for every section that was not followed well, avartan by avartan what was found.

``python -m benchmarks.failures [--seeds 1-6] [--cache FOLDER]``

An entry such as ``132 s 32/16 +6 (-12)`` reads: in the avartan whose sam is at 132 s, 32 matras were found for 16:
twice the laya; the matra found nearest to that sam is the sixth after the sam found, and lies 12 ms early. Avartans in
which the tabla plays a solo are marked ``solo``.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
from rich.console import Console

from benchmarks.concerts.render import parse_seeds, rendered
from benchmarks.concerts.truth import SectionTruth
from benchmarks.installed import require_sounds
from benchmarks.scores import BEAT_WINDOW_S, beat_f, fit
from ingest.cycle import CycleFit
from ingest.measure import measure
from theory.talas import get_tala

WELL = 0.97


def by_avartan(section: SectionTruth, found: CycleFit) -> Iterator[str]:
    """What was found in each true avartan, in words as the module's head explains."""
    matras = get_tala(section.tala).matras
    for sam_s, next_s in pairwise(section.sam_s):
        inside = (found.matra_s >= sam_s - BEAT_WINDOW_S) & (found.matra_s < next_s - BEAT_WINDOW_S)
        nearest = int(np.abs(found.matra_s - sam_s).argmin())
        off = int(found.matra[nearest] - 1)
        off -= matras if off > matras // 2 else 0
        late_ms = 1000 * (found.matra_s[nearest] - sam_s)
        solo = any(start - 0.01 <= sam_s < end - 0.01 for start, end in section.solos)
        yield f"{sam_s:.0f} s {int(inside.sum())}/{matras} {off:+d} ({late_ms:+.0f}){' solo' * solo}"


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the sections that were not followed well."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.failures", description=__doc__.split("\n")[0])
    parser.add_argument("--seeds", type=parse_seeds, default=parse_seeds("1-6"), help="such as 1-6 or 101,103")
    parser.add_argument("--cache", type=Path, help="folder that keeps rendered concerts (default: a temporary one)")
    options = parser.parse_args(arguments)
    require_sounds()
    console = Console(width=120, highlight=False)
    with tempfile.TemporaryDirectory() as temporary:
        for seed in options.seeds:
            path, truth = rendered(seed, options.cache or Path(temporary))
            evidence = measure(path)
            for section in truth.with_tala:
                matra_s, sam_s, found = fit(evidence, section)
                matra_f, sam_f = beat_f(section.matra_s, matra_s), beat_f(section.sam_s, sam_s)
                if min(matra_f, sam_f) >= WELL or found is None:
                    continue
                console.print(
                    f"[bold]concert {seed}, {section.tala}[/bold], {section.mpm[0]:.0f} to {section.mpm[1]:.0f} matras "
                    f"a minute: matra F {matra_f:.2f}, sam F {sam_f:.2f}; bayan {truth.plan['bayan_db']:.0f} dB, "
                    f"lead {truth.plan['lead_db']:+.0f} dB"
                )
                console.print("   " + ", ".join(by_avartan(section, found)))


if __name__ == "__main__":
    main()
