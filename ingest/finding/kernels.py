"""The compiled loops of the close look: likeness, how far it reaches, and the contour of the melody.

Conventions: ticks as in `lattice`; the streams side by side in one array, from `EDGES` to `EDGES`.
"""

from __future__ import annotations

import numpy as np

from ingest.compiling import compiled
from ingest.finding.lattice import TABLA_KINDS
from ingest.finding.scan import QUIET

EDGES = np.array([0, TABLA_KINDS, TABLA_KINDS + 12, TABLA_KINDS + 13])
UNLIKE = 0.6  # what two passages must share, of what sounds in them, for one more tick to count for them
FAR_SEMITONES = 12


@compiled(fastmath=True)
def cosines(rows, first, last, tick, lag, low, high, out):  # type: ignore[no-untyped-def]
    """Cosine of the ticks from ``tick - high`` to ``tick - low`` with those that lie ``lag`` before them, by place."""
    n = rows.shape[0]
    for place in range(len(tick)):
        shared, one, other = 0.0, 0.0, 0.0
        for back in range(low[place], high[place] + 1):
            a = tick[place] - back
            b = a - lag[place]
            if a < 0 or b < 0 or a >= n or b >= n:
                continue
            for k in range(first, last):
                shared += rows[a, k] * rows[b, k]
                one += rows[a, k] * rows[a, k]
                other += rows[b, k] * rows[b, k]
        least = QUIET * (high[place] - low[place] + 1)
        out[place] = shared / np.sqrt(max(one, least) * max(other, least))


@compiled(fastmath=True)
def spans_of_views(rows, landing, spacing, unit, usual, depth, spans):  # type: ignore[no-untyped-def]
    """How far back from each landing the three passages go on being alike, in each view, and the evidence for it."""
    for place in range(len(landing)):
        total = np.zeros(3)
        depth[place] = -1e9
        spans[place] = unit
        for back in range(spacing[place]):
            third = landing[place] - back
            second, first = third - spacing[place], third - 2 * spacing[place]
            if first < 0:
                break
            for stream in range(3):
                shared, there = 0.0, 0.0
                for k in range(EDGES[stream], EDGES[stream + 1]):
                    x, y, z = rows[first, k], rows[second, k], rows[third, k]
                    shared += x * y + y * z + x * z
                    there += x * x + y * y + z * z
                total[stream] += (shared - UNLIKE * there) / 3 / usual[stream]
            if back < unit:
                continue
            for view in range(3):
                found = total[0] if view == 0 else total[1] + total[2]
                if view == 2:
                    found += total[0]
                if found > depth[place, view]:
                    depth[place, view], spans[place, view] = found, back


@compiled(fastmath=True)
def contours(semitone, tick, lag, span, out):  # type: ignore[no-untyped-def]
    """In how much of each span the lead keeps one distance, to a semitone, from a spacing before; and which."""
    counts = np.zeros(2 * FAR_SEMITONES + 3)
    for place in range(len(tick)):
        counts[:] = 0
        total = 0
        for back in range(span[place] + 1):
            a = tick[place] - back
            b = a - lag[place]
            if a < 0 or b < 0 or a >= len(semitone) or np.isnan(semitone[a]) or np.isnan(semitone[b]):
                continue
            total += 1
            away = int(np.rint(semitone[a] - semitone[b]))
            if -FAR_SEMITONES <= away <= FAR_SEMITONES:
                counts[away + FAR_SEMITONES + 1] += 1
        best, at = 0.0, 0
        for k in range(1, len(counts) - 1):
            share = counts[k] + 0.5 * (counts[k - 1] + counts[k + 1])
            if share > best:
                best, at = share, k - FAR_SEMITONES - 1
        out[place, 0] = best / max(total, 6)
        out[place, 1] = at
