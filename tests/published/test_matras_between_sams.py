"""A published concert: the tabla's matras foretold from the sams and the lead's strokes alone.

Source: the North Indian Raga part of the Interpersonal Entrainment in Music Performance collection (M. Clayton, L.
Leante and S. Tarsitani, 2018-), as carried by the R package movementsync 0.1.5 (MIT). Files and notice:
tests/data/puriya_sitar_concert. Nothing in them was made by this project.

onsets.csv has, for every matra, the nearest stroke of the sitar and the nearest of the tabla. The sitar's go in as bare
times; what matra each belongs to is left out. The tabla's are only compared with. (The sitar's are a choice: those
nearest to a matra or half matra. A recording has its ornaments between them; the tests in tests/ingest add such.)

What was measured, standard deviation of the tabla's strokes about the matras (all those between the first sam and the
last): vilambit, 1013 strokes, 86 ms about straight lines, 44 ms about the curve; drut, 4984 strokes, 20.4 and 18.7 ms.
Most of the 44 ms is one avartan (66), whose middle lies half a matra from the straight line; half of the strokes lie
within 16 ms. Constants were chosen where sitar strokes left out are foretold best, in the vilambit; the drut alone
would take a more supple curve, which follows the sitar further from the tabla (19.3 ms).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from ingest.matras_between_sams import matras_between_sams
from theory.talas import get_tala

DATA = Path(__file__).parents[1] / "data" / "puriya_sitar_concert"
MATRAS = get_tala("teental").matras


def rows_of(name, section):
    with (DATA / name).open(newline="") as lines:
        return [row for row in csv.DictReader(lines) if row["section"] == section]


def spread_ms(section):
    """Standard deviation of the tabla's strokes about straight lines and about the curve, and how many they are."""
    sams_s = [float(row["sam_s"]) for row in rows_of("sam.csv", section)]
    rows = rows_of("onsets.csv", section)
    sitar_s = [float(row["melody_s"]) for row in rows if row["melody_s"]]
    curve_s = matras_between_sams(sams_s, sitar_s, MATRAS)
    matra = np.arange(len(curve_s))
    line_s = np.interp(matra, np.arange(len(sams_s)) * MATRAS, sams_s)
    struck = [
        ((int(row["cycle"]) - 1) * MATRAS + int(row["matra"]) - 1, float(row["tabla_s"]))
        for row in rows
        if row["tabla_s"] and row["half"] == "0" and int(row["cycle"]) < len(sams_s)
    ]
    place, tabla_s = (np.array(column) for column in zip(*struck, strict=True))
    return [1e3 * float(np.std(tabla_s - times_s[place])) for times_s in (line_s, curve_s)], len(struck)


@pytest.mark.parametrize(
    ("section", "by_lines_ms", "by_curve_ms"),
    [pytest.param("vilambit", 86, 44, id="vilambit"), pytest.param("drut", 20.4, 18.7, id="drut")],
)
def test_the_leads_strokes_tell_the_tablas_matras_better_than_straight_lines(section, by_lines_ms, by_curve_ms):
    (lines_ms, curve_ms), count = spread_ms(section)
    assert count > 900
    assert lines_ms == pytest.approx(by_lines_ms, rel=0.02)
    assert curve_ms < by_curve_ms * 1.03
