"""Whether an archive is sound: every damage found and named, and what can be saved, saved.

::

    findings      what is found: where, what it means, what --repair would do
    history       revisions: damaged, missing, twice, misnamed
    saved_copies  where the content of a lost revision is also kept: copies, ledger, snapshots, index
    revised       what is said of them
    replacing     what takes the place of a lost revision
    derived       snapshots, ledgers and grids that are damaged or lie
    measured      evidence
    sound         listening copies and originals
    rows          rows that cannot be true of the recording
    shelves       compositions and courses that cannot be read
    places        card, strays, names outside the rules, unfinished work
    parts         the index
    whole         all of it, recording by recording
    repairing     the mends

Nothing is ever deleted: what is damaged is moved to ``set-aside/<when>/<its name>``.
"""
