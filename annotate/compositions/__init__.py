"""Compositions that people keep in an archive: tihais and chakradars on paper, which belong to no recording.

::

    composition   what is kept, and what is refused
    written       it as plain values that a file holds
    shelf         all of an archive, kept as :mod:`annotate.shelves` keeps things
"""
