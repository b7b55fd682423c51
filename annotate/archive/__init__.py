"""The archive: a folder of recordings with their annotations, evidence and index.

::

    <archive>/
      archive.toml                        schema version; by which school's names the laya of gats is called
      recordings/<slug>/
        revisions/00000042.parquet        what each edit did; created exclusively, never changed
        snapshots/, ledger/               the state now and then; all revisions in one table; derived
        evidence/<kind>.parquet           made by ingest, can always be made again; the grid that follows is with it
        sound/                            the listening copy
      unfinished/                         what a taking in has done so far; nobody else reads it
      compositions/<key>/00000001.toml    tihais on paper that people keep (:mod:`annotate.compositions`)
      courses/<key>/00000001.toml    lessons in order (:mod:`annotate.courses`)
      index/<table>.parquet               the present state of all recordings; derived

An edit is safe without locks: it creates revision parent + 1 exclusively. If somebody was faster, the archive looks
at what they did: when they touched other rows the edit is made again on top of theirs, else it is refused with both
versions. Opening an archive writes nothing.

One class, :class:`Archive`, in layers, each of which knows more than the one below it::

    opening    Archive: opening an archive, or making one
    editing    commits
    measured   evidence, melody, waveform and sound
    reading    states, histories, grids, the index
    place      where it lies, and which recordings are there
"""

from annotate.archive.opening import Archive

__all__ = ["Archive"]
