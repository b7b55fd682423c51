"""Tihais that the archive proposes: found in what was measured, accepted or rejected by a person.

::

    proposing     what others call: propose, proposed, waiting, is_stale, mukhras
    deciding      accept and reject: a row among the tihais, like any other edit
    proposed      a proposal as a person sees it
    finding       the finder over the sections of a recording, only over those that changed
    kept          the file: evidence/proposals.parquet
    written       which proposals are written down already, or were rejected
    measured      what is said of a proposal in a few numbers, to learn from
    decided       what people decided on, in the whole archive
    learning      how the decisions of the whole archive rank what follows

What a person decided stands among the tihais, nowhere else: undo, redo and conflicts are those of any edit. The file
can be made again at any time.
"""
