"""A large archive to measure with: 10,000 invented performances with a million tihais and phrases.

Run by hand: ``python -m benchmarks.large_archive FOLDER [--recordings 10000] [--rows 1000000]``. The folder is an
archive like any other: revision files written by the archive's own code (without waiting for the disk at each), seven
to a recording; evidence so small that nothing can be heard in it, with a grid that is kept, as ``ingest`` leaves it.
There is no index: whoever reads first makes it.

Every annotation follows from the seed and the number of its recording; the files differ in the number each bears drawn
by lot. Musicians, venues and performances are invented; ragas and talas are those of the tables.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from random import Random
from types import SimpleNamespace

import numpy as np
import pyarrow as pa

from annotate import melody_store, revisions, snapshots
from annotate.archive import Archive
from annotate.array_files import write_arrays
from annotate.grid_store import present_grid
from annotate.records import MarkedSam, PhraseRecord, Record, Recording, Section, TihaiRecord
from annotate.revisions import Revision, add
from annotate.schema import EVIDENCE, MELODY
from annotate.state import State, empty, replay
from annotate.store.folder import Folder
from commands.printing import progress
from theory.notation import parse
from theory.ragas import Raga, all_ragas
from theory.talas import get_tala

RECORDINGS, ROWS, SEED = 10_000, 1_000_000, 5
TIHAI_SHARE = 0.3
TALAS = ("teental", "jhaptal", "ektal", "rupak")
LEADS = ("sitar", "sarod", "mandolin", "bansuri")
FIRST_NAMES = ("Asha", "Devkant", "Ira", "Mohan", "Nalini", "Omkar", "Revati", "Suhas")
LAST_NAMES = ("Gokhari", "Menavat", "Pradhal", "Sarvane", "Tulaskar")
VENUES = ("Riverside Hall", "Courtyard of the Old School", "Banyan House", "a house concert")
ROLES = ("mukhra", "sthayi", "antara", "tan", "pakad")
KNOWN_PHRASES, SHARE_KNOWN = 60, 2 / 3
"""Phrases by which a raga is known, and the share of all phrases that are one of them."""
GAT_S = (120.0, 1200.0)
ROWS_IN_AN_EDIT = 20
WHEN = datetime(2020, 1, 1, tzinfo=UTC)


def slug_of(number: int) -> str:
    """Return the slug of a recording by its number, from 0."""
    return f"concert-{number:05d}"


def records_of(number: int, rows: int, seed: int = SEED) -> list[Record]:
    """Invent a recording, its sections and sams, and so many tihais and phrases."""
    random = Random(f"{seed} {number}")
    raga = random.choice(all_ragas())
    tala = get_tala(random.choice(TALAS))
    lead = random.choice(LEADS)
    matra_s = 60 / random.uniform(40, 300)
    avartan_s = matra_s * tala.matras
    start_s, end_s = GAT_S
    marked = sorted({1, int((end_s - start_s) / avartan_s), *random.sample(range(1, 10), 3)})
    at = SimpleNamespace(tala=tala, matra_s=matra_s, last=marked[-1], start_s=start_s)
    tihais = round(rows * TIHAI_SHARE)
    return [
        Recording(
            slug_of(number),
            f"{raga.name}, evening {number}",
            date(1960, 1, 1) + timedelta(days=random.randrange(24_000)),
            random.choice(VENUES),
            raga.key,
            tala.key,
            lead,
            ((lead, _name(random)), ("tabla", _name(random))),
            sa_hz=round(random.uniform(130, 290), 2),
            duration_s=end_s + 30,
            audio_sha256=random.randbytes(32).hex(),
        ),
        Section("alap", "alap", 0.0, start_s, source="ingest"),
        Section("gat", "gat", start_s, end_s, tala.key),
        *(
            MarkedSam(f"s{key:02d}", "gat", start_s + (cycle - 1) * avartan_s, cycle)
            for key, cycle in enumerate(marked, start=1)
        ),
        *(_tihai(random, f"t{key:02d}", raga, at) for key in range(1, tihais + 1)),
        *(_phrase(random, f"p{key:02d}", raga, at) for key in range(1, rows - tihais + 1)),
    ]


def _name(random: Random) -> str:
    return f"{random.choice(FIRST_NAMES)} {random.choice(LAST_NAMES)}"


def _line(random: Random, swaras: Sequence[str], length: int) -> str:
    place, line = random.randrange(len(swaras)), []
    for _ in range(length):
        octave, degree = divmod(place, len(swaras))
        line.append("." * -octave + swaras[degree] + "'" * octave)
        place = min(max(place + random.randint(-2, 2), -5), 12)
    return " ".join(line)


@lru_cache(maxsize=256)
def _known_phrases(raga: str, swaras: tuple[str, ...]) -> list[str]:
    random = Random(raga)
    return [_line(random, swaras, random.randint(3, 12)) for _ in range(KNOWN_PHRASES)]


def _phrase(random: Random, key: str, raga: Raga, at: SimpleNamespace) -> PhraseRecord:
    known = _known_phrases(raga.key, raga.swaras)
    which = min(int(random.expovariate(0.06)), KNOWN_PHRASES - 1)
    swaras = known[which] if random.random() < SHARE_KNOWN else _line(random, raga.swaras, random.randint(3, 12))
    start_s = at.start_s + random.uniform(0, at.last - 2) * at.matra_s * at.tala.matras
    return PhraseRecord(key, start_s, start_s + random.uniform(1, 6), swaras, random.choice(ROLES), _name(random), WHEN)


def _tihai(random: Random, key: str, raga: Raga, at: SimpleNamespace) -> TihaiRecord:
    """Invent a tihai, played as written but for 60 ms of scatter; three in four are written so that they land."""
    palla = _line(random, raga.swaras, random.randint(3, 8))
    dam = Fraction(random.randrange(9), random.choice((1, 2, 4)))
    period = parse(palla).length + dam
    lands_after = 2 * period + parse(palla).length - 1
    aimed = 1 if random.random() < 0.75 else random.randint(1, at.tala.matras)
    start = (aimed - 1 - lands_after) % at.tala.matras + 1
    avartan_s = at.matra_s * at.tala.matras
    cycle = random.randint(0, max(0, at.last - 10))
    first_s = at.start_s + cycle * avartan_s + float(start - 1) * at.matra_s
    pallas = tuple(first_s + float(n * period) * at.matra_s + random.gauss(0, 0.02) for n in range(3))
    return TihaiRecord(
        key,
        pallas,
        max(first_s + float(lands_after) * at.matra_s + random.gauss(0, 0.06), pallas[2] + 0.01),
        at.tala.key,
        start,
        palla,
        dam,
        played_by=_name(random),
        status=random.choice(("proposed", "confirmed", "confirmed", "rejected")),
        who=_name(random),
        at=WHEN,
    )


def revisions_of(records: Sequence[Record]) -> Iterator[Revision]:
    """Return the edits that write the records: the recording, its sections and sams, then some rows at a time."""
    rows = [record for record in records if isinstance(record, TihaiRecord | PhraseRecord)]
    batches = [
        [record for record in records if isinstance(record, Recording | Section)],
        [record for record in records if isinstance(record, MarkedSam)],
        *(rows[first : first + ROWS_IN_AN_EDIT] for first in range(0, len(rows), ROWS_IN_AN_EDIT)),
    ]
    for number, batch in enumerate(batches, start=1):
        yield Revision(number, number - 1, "Nalini Pradhal", WHEN, "made up", tuple(map(add, batch)))


def write_recording(archive: Archive, number: int, rows: int, seed: int = SEED) -> None:
    """Write the revisions and the evidence of one recording."""
    slug = slug_of(number)
    folder, state = Folder(archive.store, f"recordings/{slug}"), empty(slug)
    for revision in revisions_of(records_of(number, rows, seed)):
        content = revisions.to_bytes(slug, revision)
        (folder / "revisions").replace(revisions.file_of(revision.number), content)
        state = replay(state, [revision])
        if revision.number % snapshots.EVERY == 0:
            snapshots.write(folder, state)
    _write_evidence(folder / "evidence", state)


def _write_evidence(place: Folder, state: State) -> None:
    """Write evidence with next to nothing in it, and the grid by the marks as the one that follows from it.

    With ``frames.parquet`` alone there is nothing to listen to: the grid is laid by the marks, and kept.
    """
    note = {"duration_s": state.recording.duration_s, "hop_s": 0.01, "chroma_hop_s": 0.1}
    note |= {"stroke_hop_s": 0.01, "texture_hop_s": 0.2}
    write_arrays(place, "frames.parquet", EVIDENCE["frames"], _nothing(EVIDENCE["frames"]), note)
    present_grid(state, place)
    for kind, schema in EVIDENCE.items():
        if kind != "frames":
            write_arrays(place, f"{kind}.parquet", schema, _nothing(schema), note)
    write_arrays(place, melody_store.FILE, MELODY, _nothing(MELODY), {"hop_s": 0.02})


def _nothing(schema: pa.Schema) -> dict[str, np.ndarray]:
    return {
        field.name: np.zeros((2, field.type.list_size) if pa.types.is_fixed_size_list(field.type) else 2, np.float32)
        for field in schema
    }


def make(folder: Path, recordings: int = RECORDINGS, rows: int = ROWS, workers: int = 2) -> Archive:
    """Make the archive, with as many processes as asked for."""
    archive = Archive.create(folder)
    shares = [(folder, range(first, recordings, 50), rows // recordings) for first in range(50)]
    with ProcessPoolExecutor(workers) as pool, progress("Making up an archive") as tell:
        for number, _ in enumerate(pool.map(_write_some, shares), start=1):
            tell(number / len(shares))
    return archive


def _write_some(share: tuple[Path, range, int]) -> None:
    folder, numbers, rows = share
    archive = Archive.open(folder)
    for number in numbers:
        write_recording(archive, number, rows)


def main() -> None:
    """Make an archive where the command line says."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--recordings", type=int, default=RECORDINGS)
    parser.add_argument("--rows", type=int, default=ROWS, help="tihais and phrases together")
    parser.add_argument("--workers", type=int, default=2)
    wanted = parser.parse_args()
    start_s = time.perf_counter()
    archive = make(wanted.folder, wanted.recordings, wanted.rows, wanted.workers)
    print(f"{len(archive.slugs())} recordings in {wanted.folder}, made in {time.perf_counter() - start_s:.0f} s")


if __name__ == "__main__":
    main()
