"""Evidence as ingest would have it, of strokes struck on purpose, with what is mistaken for strokes between them."""

from types import SimpleNamespace

import numpy as np

HOP_S = 256 / 22050
BAYAN, RIM, SUR, DEAD, PLUCK = 0, 2, 3, 5, 6


def struck(duration_s, *groups, seed=0, mistaken_a_second=0.3):
    """Stroke chances; each group is (times, column, chance), the rest is low, with weak mistakes all through."""
    random = np.random.default_rng(seed)
    chances = random.uniform(0, 0.05, (int(duration_s / HOP_S), 7)).astype(np.float32)
    mistakes_s = random.uniform(0, duration_s, round(duration_s * mistaken_a_second))
    for times_s, column, chance in ((mistakes_s, RIM, 0.4), *groups):
        frames = np.rint(np.asarray(times_s) / HOP_S).astype(int)
        for frame in frames[(frames >= 0) & (frames < len(chances))]:
            chances[frame, column] = max(chances[frame, column], chance * random.uniform(0.9, 1.0))
    return SimpleNamespace(strokes=chances, stroke_hop_s=HOP_S, duration_s=duration_s)
