"""Compositions that people keep in an archive: tihais and chakradars on paper, which belong to no recording.

::

    composition   what is kept, and what is refused
    written       a revision of it as a TOML file
    shelf         all of an archive: keep, change, take out, put back, history

A composition is a folder ``compositions/<key>`` of numbered files, each created exclusively and never changed, as the
revisions of a recording are. They are text, so that they can be read and copied without this program; the index, which
is made of recordings, does not tell of them.
"""
