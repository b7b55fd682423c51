"""The tables of the archive. The only place where a column is named for Parquet.

Conventions
-----------
* Played time is float64 seconds from the start of the recording; the name ends in ``_s``.
* A rational (matra counts) is text ``n/d``; a ``..._matras`` float column stands beside it in the index, for sorting.
* Every column carries its meaning, and its unit where it has one, in the field metadata (keys ``meaning``, ``unit``).
* A column marked *derived* stands in the index only: it follows from the annotations, the grid and the arithmetic.

Three kinds of file hold annotations and what follows from them:

* a revision file (:data:`REVISION`): what one edit did, one nullable struct per table;
* an index file (:func:`index_schema`): the present state of every recording;
* the grid of a recording (:data:`GRID`), made again whenever sections, marked sams or evidence change.

Made by ingest and replaced whole: :data:`EVIDENCE`, :data:`MELODY` and :data:`LEVELS`; found in them on the grid:
:data:`PROPOSALS`.
"""

from __future__ import annotations

import pyarrow as pa

SCHEMA_VERSION = 2
"""Version of the revision files. Raised when a column is added or changes its meaning; readers refuse what is newer and
read what is older: a column that an old file lacks has its record's default. 2: the files of a recording."""

INDEX_VERSION = 2
"""Version of the derived columns. Raised when their computation changes: the index is then made again."""

TEXT, REAL, MOMENT = pa.string(), pa.float64(), pa.timestamp("us", tz="UTC")


def _column(name: str, kind: pa.DataType, meaning: str, unit: str = "", *, derived: bool = False) -> pa.Field:
    notes = {"meaning": meaning}
    if unit:
        notes["unit"] = unit
    if derived:
        notes["derived"] = "yes"
    return pa.field(name, kind, metadata=notes)


_RECORDING = _column("recording", TEXT, "slug of the recording", derived=True)

MUSICIAN = pa.struct([("role", TEXT), ("name", TEXT)])
SOURCE_FILE = pa.struct([("name", TEXT), ("role", TEXT), ("start_s", REAL), ("sha256", TEXT)])

_COLUMNS: dict[str, list[pa.Field]] = {
    "recordings": [
        _column("title", TEXT, "title as the owner gives it"),
        _column("performed_on", pa.date32(), "day of the performance"),
        _column("venue", TEXT, "where it was performed"),
        _column("raga", TEXT, "key of the raga, or free text"),
        _column("tala", TEXT, "key of the main tala"),
        _column("lead", TEXT, "lead instrument or voice"),
        _column("musicians", pa.list_(MUSICIAN), "who played what"),
        _column("sa_hz", REAL, "the lead's Sa in the middle octave", "Hz"),
        _column("duration_s", REAL, "length of the recording", "s"),
        _column("audio_sha256", TEXT, "SHA-256 of the file that was taken in; of several, of their digests in order"),
        _column("audio_path", TEXT, "listening copy, relative to the archive"),
        _column("notes", TEXT, "free text"),
        _column(
            "files", pa.list_(SOURCE_FILE), "files taken in, in order: name, what each holds, where it begins, SHA-256"
        ),
        _column("revision", pa.int64(), "number of the latest revision", derived=True),
    ],
    "sections": [
        _column("section", TEXT, "name of the section, unique in the recording"),
        _column("kind", TEXT, "alap, jor, jhala, gat, tabla solo, talk, tuning ..."),
        _column("start_s", REAL, "start", "s"),
        _column("end_s", REAL, "end", "s"),
        _column("tala", TEXT, "key of the tala, empty where there is none"),
        _column("source", TEXT, "ingest or person"),
    ],
    "sams": [
        _column("sam", TEXT, "key of a marked sam; empty for a tracked one"),
        _column("section", TEXT, "section it belongs to"),
        _column("sam_s", REAL, "time of the sam", "s"),
        _column("cycle", pa.int32(), "number of the avartan it opens, from 1"),
        _column("source", TEXT, "marked or tracked", derived=True),
        _column("confidence", pa.float32(), "1 for a marked sam", "0 to 1", derived=True),
    ],
    "tihais": [
        _column("tihai", TEXT, "key of the tihai, unique in the recording"),
        _column("palla_s", pa.list_(REAL), "start of each palla; one value when only the interval is known", "s"),
        _column("landing_s", REAL, "landing stroke, or end of the interval", "s"),
        _column("tala", TEXT, "key of the tala"),
        _column("start", TEXT, "matra on which it starts on paper, n/d", "matras from 1"),
        _column("start_matras", REAL, "the same as a float", "matras from 1", derived=True),
        _column("palla", TEXT, "palla as text, sargam or bols"),
        _column("palla_length", TEXT, "length of the palla on paper, n/d", "matras", derived=True),
        _column("palla_length_matras", REAL, "the same as a float", "matras", derived=True),
        _column("symbols", TEXT, "the palla's swaras or bols one by one, whatever their rhythm", derived=True),
        _column("dam", TEXT, "gap between the pallas on paper, n/d", "matras"),
        _column("dam_matras", REAL, "the same as a float", "matras", derived=True),
        _column("rule", TEXT, "landing rule: within or after"),
        _column("target", TEXT, "matra it is aimed at, n/d", "matras from 1"),
        _column("target_matras", REAL, "the same as a float", "matras from 1", derived=True),
        _column("kind", TEXT, "bedam, damdar, chakradar ... as the transcriber calls it"),
        _column("played_by", TEXT, "who plays it"),
        _column("status", TEXT, "proposed, confirmed or rejected"),
        _column("label", TEXT, "free text"),
        _column("who", TEXT, "who wrote it down"),
        _column("at", MOMENT, "when"),
        _column("verdict", TEXT, "lands, early, late, misses; unknown without a grid", derived=True),
        _column("landing_dev_ms", REAL, "landing minus target as played", "ms", derived=True),
        _column("landing_dev_matras", REAL, "landing minus target as played", "matras", derived=True),
        _column("paper_lands", pa.bool_(), "whether it lands on paper; null when nothing is written", derived=True),
        _column("paper_shortfall", TEXT, "how far before the target it lands on paper, n/d", "matras", derived=True),
        _column("paper_shortfall_matras", REAL, "the same as a float", "matras", derived=True),
        _column("sentence", TEXT, "the verdict in words", derived=True),
        _column("raga", TEXT, "raga of the recording", derived=True),
        _column("laya_matras_per_min", REAL, "mean laya up to the landing", "matras a minute", derived=True),
        _column("kinds", TEXT, "keys of every name that fits the arithmetic, spaces between", derived=True),
        _column("after_palla", TEXT, "palla up to its landing stroke (counted after), n/d", "matras", derived=True),
        _column("after_dam", TEXT, "from there to the next palla (counted after), n/d", "matras", derived=True),
    ],
    "phrases": [
        _column("phrase", TEXT, "key of the phrase, unique in the recording"),
        _column("start_s", REAL, "start", "s"),
        _column("end_s", REAL, "end", "s"),
        _column("swaras", TEXT, "the phrase as written"),
        _column("role", TEXT, "mukhra, sthayi, antara, tan, pakad ..."),
        _column("who", TEXT, "who wrote it down"),
        _column("at", MOMENT, "when"),
        _column("symbols", TEXT, "its swaras one by one, whatever their rhythm", derived=True),
        _column("tala", TEXT, "tala it falls in; empty outside any", derived=True),
        _column("cycle", pa.int32(), "avartan in which it starts", derived=True),
        _column("matra", REAL, "position in the avartan at which it starts", "matras from 1", derived=True),
        _column("raga", TEXT, "raga of the recording", derived=True),
        _column("laya_matras_per_min", REAL, "mean laya of the phrase", "matras a minute", derived=True),
        _column("semitones", TEXT, "moves from swara to swara, spaces between", "semitones", derived=True),
        _column("steps", TEXT, "moves from swara to swara, spaces between", "steps of the raga", derived=True),
    ],
    "matras": [
        _column("section", TEXT, "section of the recording", derived=True),
        _column("cycle", pa.int32(), "number of the avartan; 0 for a part of one before the first sam", derived=True),
        _column("matra", pa.int32(), "number of the matra, from 1 at sam", derived=True),
        _column("matra_s", REAL, "time of the matra", "s", derived=True),
        _column("confidence", pa.float32(), "how sure the tracker is", "0 to 1", derived=True),
    ],
}

INDEX_TABLES = tuple(_COLUMNS)
ROW_OF = {
    "recordings": "a performance",
    "sections": "a stretch of a recording",
    "sams": "a sam, marked by a person or tracked",
    "tihais": "a tihai, as written down and as played",
    "phrases": "a phrase",
    "matras": "a matra of the grid",
}
"""What a row of each index table is."""
ANNOTATION_TABLES = ("recordings", "sections", "sams", "tihais", "phrases")

FRACTION_COLUMNS = ("start", "dam", "target")
"""Rationals as text ``n/d``; each has a float column of the same name plus ``_matras`` in the index."""


def index_schema(table: str) -> pa.Schema:
    """Return the columns of an index table, the recording's slug first."""
    return pa.schema([_RECORDING, *_COLUMNS[table]])


def described_columns(table: str) -> list[dict[str, str]]:
    """Return what the columns of an index table mean, a row each: column, type, unit, from, meaning.

    ``from`` is ``person`` for what people write down (or ingest for them), ``derived`` for what follows from it.
    """
    notes = [{key.decode(): text.decode() for key, text in field.metadata.items()} for field in index_schema(table)]
    return [
        {
            "column": field.name,
            "type": str(field.type),
            "unit": note.get("unit", ""),
            "from": "derived" if "derived" in note else "person",
            "meaning": note["meaning"],
        }
        for field, note in zip(index_schema(table), notes, strict=True)
    ]


def annotation_columns(table: str) -> tuple[str, ...]:
    """Return the columns that people fill in, as kept in a revision file (not the derived ones)."""
    return tuple(field.name for field in _annotated(table))


def _annotated(table: str) -> list[pa.Field]:
    return [field for field in _COLUMNS[table] if b"derived" not in field.metadata]


REVISION = pa.schema(
    [
        _column("table", TEXT, "the table of the row"),
        _column("key", TEXT, "the row's key within the recording"),
        _column("action", TEXT, "add, change or withdraw"),
        *(pa.field(table, pa.struct(_annotated(table))) for table in ANNOTATION_TABLES),
    ]
)
"""One row per row touched; the struct of its table holds the new values (all null for a withdrawal)."""

LEDGER = pa.schema(
    [
        _column("revision", pa.int32(), "number of the revision"),
        _column("parent", pa.int32(), "number of the revision it builds on"),
        _column("who", TEXT, "who made it"),
        _column("when", MOMENT, "when"),
        _column("why", TEXT, "why, in words"),
        _column("undoes", pa.int32(), "number of the revision that it takes back; 0 for one that takes back none"),
        *REVISION,
    ]
)
"""All revisions of a recording in one file, in order; derived from the revision files."""

GRID = pa.schema(
    [
        *_COLUMNS["matras"],
        _column("sam_source", TEXT, "marked or tracked at a sam, null elsewhere"),
        _column("sam_confidence", pa.float32(), "confidence in the sam, null elsewhere", "0 to 1"),
        _column("solo", pa.bool_(), "whether the tabla has left the theka"),
    ]
)
"""Grid of a recording; the digests of what each section's part follows from are in the file's metadata."""

EVIDENCE = {
    "drone": pa.schema([_column("drone", pa.float32(), "mean level of the partials that stand still, by pitch", "dB")]),
    "chroma": pa.schema(
        [_column("chroma", pa.list_(pa.float32(), 12), "energy per pitch class, bin 0 = C", "1 = maximum")]
    ),
    "strokes": pa.schema(
        [
            _column(
                "strokes",
                pa.list_(pa.float32(), 7),
                "chance of a stroke: bayan rings, bayan dead, dayan rim, sur, open, dead, pluck",
                "0 to 1",
            )
        ]
    ),
    "texture": pa.schema(
        [_column("texture", pa.list_(pa.float32(), 10), "mean loudness in ten bands from low to high", "energy ** 0.2")]
    ),
    "frames": pa.schema(
        [
            _column("bass", pa.float32(), "onset strength in the bayan's band", "dB"),
            _column("treble", pa.float32(), "onset strength in the dayan's band", "dB"),
            _column("strength", pa.float32(), "onset strength over all bands", "dB"),
            _column("level_db", pa.float32(), "level below full scale", "dB"),
        ]
    ),
}
"""Files of a recording's evidence, in the order they are written; hops and duration are in the files' metadata."""

COURSES = pa.schema(
    [
        _column("course", pa.int32(), "number of the course in the file's metadata, from 0"),
        _column("frame", pa.int32(), "frame of the stroke chances, from the section's start, at which a matra begins"),
        _column("matra", pa.int32(), "number of the matra, from 0 at sam"),
        _column("solo", pa.bool_(), "whether the theka was left"),
    ]
)
"""Courses of the cycle as followed without marks, ``evidence/courses.parquet``; what each follows from is in the
metadata as a digest."""

MELODY = pa.schema(
    [
        _column("fundamental_hz", pa.float32(), "fundamental of the lead; means nothing where voicing is low", "Hz"),
        _column("voicing", pa.float32(), "how surely the lead sounds", "0 to 1"),
        _column("strength", pa.float32(), "harmonic sum along the melody; compare it with its neighbours only"),
    ]
)
"""Course of the melody, ``evidence/melody.parquet``; the hop is in the file's metadata."""

PROPOSALS = pa.schema(
    [
        _column("key", TEXT, "key of the proposal, unique in the recording: p and the second in which it lands"),
        _column("section", TEXT, "section it was found in"),
        _column("tala", TEXT, "key of the tala it is counted in"),
        _column("found", pa.bool_(), "false for one that was decided on and is no longer found"),
        _column("palla_s", pa.list_(REAL, 3), "start of each palla", "s"),
        _column("landing_s", REAL, "landing stroke", "s"),
        _column("cycle", pa.int32(), "number of the avartan in which it starts"),
        _column("start", TEXT, "matra on which it starts, n/d", "matras from 1"),
        _column("palla", TEXT, "length of the palla, n/d", "matras"),
        _column("dam", TEXT, "gap between the pallas, n/d", "matras"),
        _column("to_landing", TEXT, "from the palla's first stroke to its landing stroke, n/d", "matras"),
        _column("target", TEXT, "matra it is aimed at, n/d", "matras from 1"),
        _column("aims_at", TEXT, "sam, mukhra, or matra where it may be meant to land there"),
        _column("off", TEXT, "how far after the target it lands on paper, n/d", "matras"),
        _column("kind", TEXT, "bedam, damdar, chakradar or nauhakka"),
        _column("played_by", TEXT, "tabla, lead or both"),
        _column("moved", pa.int32(), "how far the second palla of the lead stands from its first", "semitones"),
        _column("text", TEXT, "draft of the palla, sargam or bols"),
        _column("confidence", REAL, "as the finder tells it", "0 to 1"),
        _column("reading", TEXT, "which reading fits better, in words, where paper and playing disagree"),
        _column("reason", TEXT, "why it is proposed, in words"),
        _column("measures", pa.list_(pa.float32()), "what was measured, by the names in the file's metadata"),
    ]
)
"""Tihais that were found, ``evidence/proposals.parquet``; what those of a section follow from is in the metadata
as a digest."""

LEVELS = pa.schema(
    [
        _column("low", pa.int16(), "lowest sample of a cell", "1/32767 of full scale"),
        _column("high", pa.int16(), "highest sample of a cell", "1/32767 of full scale"),
    ]
)
"""Waveform of a recording at every zoom, the finest level first; the cells of each level are in the file's metadata."""
