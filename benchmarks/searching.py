"""Speed of searches and statistics on an index of a million tihais and a million phrases.

Run by hand: ``python -m benchmarks.searching [--rows 1000000] [--repeats 3]``. The tables are invented, straight in the
shape of the index (10,000 performances of 43 ragas; two phrases in three are one of sixty that a raga is known by, the
others are nobody else's), so that what is timed is the search and not the archive's bookkeeping. Every time includes
turning the Arrow tables into pandas, as ``Archive.index`` does at each call.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time
from collections.abc import Callable, Collection, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, cast

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from annotate.archive import Archive
from annotate.schema import index_schema
from annotate.search.derived import semitone_moves, step_moves
from annotate.search.phrases import PhraseSearch, find_phrases
from annotate.search.spans import parse_span
from annotate.search.tihais import TihaiSearch, find_tihais, like_tihai
from annotate.statistics.ngrams import ngram_usage
from annotate.statistics.shares import shares, trends
from annotate.statistics.side_by_side import side_by_side
from annotate.statistics.usage import phrase_usage, usage_by_performance
from theory.numbers import stored
from theory.ragas import all_ragas

RECORDINGS, KNOWN_PHRASES, SHARE_KNOWN = 10_000, 60, 2 / 3
TALAS = {"teental": 16, "jhaptal": 10, "ektal": 12, "rupak": 7}


@dataclass
class Tables:
    """What a search needs of an archive: its index tables and one tihai's record."""

    tables: dict[str, pa.Table]
    path: str = ""
    _slugs: list[str] = field(default_factory=list)

    def index(
        self, table: str, columns: Sequence[str] | None = None, recordings: Collection[str] | None = None
    ) -> pd.DataFrame:
        """Return a table as pandas, as the archive does."""
        rows = self.tables[table]
        if recordings is not None:
            rows = rows.filter(pc.is_in(rows["recording"], value_set=pa.array(list(recordings), pa.string())))
        return (rows if columns is None else rows.select(list(columns))).to_pandas()

    def one_look(self) -> AbstractContextManager[None]:
        """Nothing: nobody writes meanwhile."""
        return nullcontext()

    def slugs(self) -> list[str]:
        """Return the slugs of the recordings."""
        return self._slugs

    def __contains__(self, slug: object) -> bool:
        return slug in self._slugs

    def state(self, _slug: str) -> Any:
        """Return something that has the tihai asked for."""
        return _OneTihai()


class _OneTihai:
    palla = "S R G m P"

    def tihai(self, _key: str) -> _OneTihai:
        """Return itself: a tihai with a palla."""
        return self


def made(rows: int, seed: int = 5) -> Tables:
    """Invent the tables."""
    random = np.random.default_rng(seed)
    ragas = [raga.key for raga in all_ragas()]
    slugs = np.array([f"r{number:05d}" for number in range(RECORDINGS)])
    raga_of = random.integers(0, len(ragas), RECORDINGS)
    recordings = {
        "recording": slugs,
        "title": slugs,
        "raga": np.array(ragas)[raga_of],
        "lead": random.choice(["sitar", "sarod", "mandolin", "voice"], RECORDINGS),
        "performed_on": pd.to_datetime(random.integers(5000, 20000, RECORDINGS), unit="D").date,
        "musicians": [[{"role": "sitar", "name": f"Player {number % 40}"}] for number in range(RECORDINGS)],
        "duration_s": random.uniform(600, 4000, RECORDINGS),
    }
    owner = np.sort(random.integers(0, RECORDINGS, rows))
    tables = {
        "recordings": _table("recordings", recordings, RECORDINGS),
        "sections": _table("sections", {"recording": slugs}, RECORDINGS),
        "phrases": _phrases(random, rows, owner, slugs, raga_of),
        "tihais": _tihais(random, rows, owner, slugs, np.array(ragas)[raga_of]),
    }
    return Tables(tables, _slugs=slugs.tolist())


def _table(table: str, columns: dict[str, Any], rows: int) -> pa.Table:
    schema = index_schema(table)
    arrays = [
        pa.array(columns[name.name], name.type) if name.name in columns else pa.nulls(rows, name.type)
        for name in schema
    ]
    return pa.Table.from_arrays(arrays, schema=schema)


def _line(random: np.random.Generator, swaras: tuple[str, ...]) -> str:
    steps = np.clip(np.cumsum(random.integers(-2, 3, random.integers(3, 13))), -5, 12)
    octaves, places = np.divmod(steps, len(swaras))
    return " ".join("." * -octave + swaras[place] + "'" * octave for octave, place in zip(octaves, places, strict=True))


def _phrases(
    random: np.random.Generator, rows: int, owner: np.ndarray, slugs: np.ndarray, raga_of: np.ndarray
) -> pa.Table:
    ragas = all_ragas()
    known = [[_line(random, raga.swaras) for _ in range(KNOWN_PHRASES)] for raga in ragas]
    is_known = random.random(rows) < SHARE_KNOWN
    which = np.minimum(random.geometric(0.06, rows) - 1, KNOWN_PHRASES - 1)
    lines = [
        known[raga][number] if common else _line(random, ragas[raga].swaras)
        for raga, number, common in zip(raga_of[owner], which, is_known, strict=True)
    ]
    keys = np.array([raga.key for raga in ragas])[raga_of[owner]]
    talas = random.choice(list(TALAS), rows)
    start_s = random.uniform(0, 3000, rows)
    columns = {
        "recording": slugs[owner],
        "phrase": [f"p{number:07d}" for number in range(rows)],
        "start_s": start_s,
        "end_s": start_s + random.uniform(1, 6, rows),
        "swaras": lines,
        "symbols": lines,
        "role": random.choice(["mukhra", "sthayi", "antara", "tan", "pakad"], rows),
        "who": random.choice(["Asha", "Devkant"], rows),
        "tala": talas,
        "cycle": random.integers(1, 90, rows),
        "matra": 1 + random.random(rows) * np.array([TALAS[tala] for tala in talas]),
        "raga": keys,
        "laya_matras_per_min": random.uniform(20, 400, rows),
        "semitones": [semitone_moves(line) for line in lines],
        "steps": [step_moves(line, raga) for line, raga in zip(lines, keys, strict=True)],
    }
    return _table("phrases", columns, rows)


def _tihais(
    random: np.random.Generator, rows: int, owner: np.ndarray, slugs: np.ndarray, ragas: np.ndarray
) -> pa.Table:
    pallas = [Fraction(number, 4) for number in range(4, 60)]
    dams = [Fraction(number, 4) for number in range(12)]
    palla, dam = random.integers(0, len(pallas), rows), random.integers(0, len(dams), rows)
    start = random.integers(1, 17, rows)
    first_s = random.uniform(0, 3000, rows)
    written = np.array([stored(count) for count in pallas])
    columns = {
        "recording": slugs[owner],
        "tihai": [f"t{number:07d}" for number in range(rows)],
        "palla_s": pa.ListArray.from_arrays(
            pa.array(np.arange(0, 3 * rows + 1, 3), pa.int32()), pa.array((first_s[:, None] + [0, 3, 6]).ravel())
        ),
        "landing_s": first_s + 9,
        "tala": random.choice(list(TALAS), rows),
        "start": [f"{matra}/1" for matra in start],
        "start_matras": start.astype(float),
        "palla": ["S R G m P"] * rows,
        "palla_length": written[palla],
        "palla_length_matras": np.array([float(count) for count in pallas])[palla],
        "symbols": random.choice(["S R G m P", "S R G P", "n D P m", "Dha Ti Ta Ka Dha"], rows),
        "dam": np.array([stored(count) for count in dams])[dam],
        "dam_matras": np.array([float(count) for count in dams])[dam],
        "rule": random.choice(["within", "after"], rows),
        "target": ["1/1"] * rows,
        "target_matras": np.ones(rows),
        "kind": [""] * rows,
        "kinds": random.choice(["bedam", "damdar damdar_half", "chakradar sadharan damdar"], rows),
        "played_by": random.choice(["Asha", "Devkant"], rows),
        "status": random.choice(["proposed", "confirmed", "rejected"], rows),
        "who": random.choice(["Asha", "Devkant"], rows),
        "verdict": random.choice(["lands", "early", "late", "misses"], rows),
        "landing_dev_ms": random.normal(0, 60, rows),
        "paper_lands": random.random(rows) < 0.8,
        "raga": ragas[owner],
        "laya_matras_per_min": random.uniform(20, 400, rows),
        "after_palla": written[palla],
        "after_dam": np.array([stored(count) for count in dams])[dam],
    }
    return _table("tihais", columns, rows)


def jobs(tables: Tables) -> dict[str, Callable[[], Any]]:
    """Return what is timed, by name."""
    archive = cast(Archive, tables)
    first = tables.tables["tihais"].slice(0, 1).to_pylist()[0]
    everything = TihaiSearch(
        tala="teental", raga="Desh", kind="damdar", start=parse_span("1..8"), palla=parse_span("4..8"),
        dam=parse_span("..2"), verdict="lands", laya=parse_span("60..200"), played_by="asha", swaras="S R * P",
    )  # fmt: skip
    return {
        "tihais: ten conditions at once": lambda: find_tihais(archive, everything),
        "tihais: all of one tala": lambda: find_tihais(archive, TihaiSearch(tala="jhaptal")),
        "the same tihai elsewhere": lambda: like_tihai(archive, first["recording"], first["tihai"]),
        "phrases: pattern * G m * P": lambda: find_phrases(archive, PhraseSearch(swaras="* G m * P")),
        "phrases: pattern within a raga": lambda: find_phrases(archive, PhraseSearch(swaras="*RmP*", raga="desh")),
        "phrases: contour by direction": lambda: find_phrases(archive, PhraseSearch(contour="* up up down down *")),
        "phrases: like R m P n D P, by steps": lambda: find_phrases(archive, PhraseSearch(like="R m P n D P")),
        "usage of one raga": lambda: phrase_usage(archive, "Desh"),
        "usage of one raga by year": lambda: phrase_usage(archive, "Desh", "year"),
        "usage of every raga": lambda: phrase_usage(archive),
        "usage of every performance": lambda: usage_by_performance(archive),
        "runs of 3 swaras of one raga": lambda: ngram_usage(archive, "Desh", 3),
        "time of swaras of one raga": lambda: shares(archive, "Desh", "swaras"),
        "endings of one raga": lambda: shares(archive, "Desh", "endings"),
        "change of runs over the years": lambda: trends(archive, "Desh", "ngrams", 2),
        "two ragas side by side, endings": lambda: side_by_side(archive, "Desh", "Khamaj", "endings"),
        "two ragas side by side, phrases": lambda: side_by_side(archive, "Desh", "Khamaj", "phrases"),
        "raga and performance, phrases": lambda: side_by_side(archive, "Desh", "r00001", "phrases"),
    }


def main() -> None:
    """Time every job and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--repeats", type=int, default=3)
    wanted = parser.parse_args()
    tables = made(wanted.rows)
    size_mb = sum(table.nbytes for table in tables.tables.values()) / 1e6
    before_mb = _highest_mb()
    print(f"{wanted.rows:,} phrases and {wanted.rows:,} tihais, {size_mb:.0f} MB of Arrow tables")
    print(f"{'':<38}{'first, s':>9}{'median, s':>10}{'rows':>9}")
    for name, job in jobs(tables).items():
        times = []
        for _ in range(wanted.repeats):
            start = time.perf_counter()
            found = job()
            times.append(time.perf_counter() - start)
        rows = len(found) if isinstance(found, pd.DataFrame) else len(found.rows)
        print(f"{name:<38}{times[0]:9.2f}{statistics.median(times):10.2f}{rows:9}")
    print(f"highest memory: {before_mb:.0f} MB when the tables were made, {_highest_mb():.0f} MB at the end")


def _highest_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    main()
