"""Things that people keep in an archive by name and that belong to no recording: compositions, courses.

::

    kept      a thing with its revisions; what there is to know of a sort of things
    written   a revision of it as a TOML file
    shelf     all things of a sort: keep, change, take out, put back, history

A thing is a folder ``<folder of its sort>/<key>`` of numbered files, each created exclusively and never changed, as the
revisions of a recording are. They are text, so that they can be read and copied without this program; the index, which
is made of recordings, does not tell of them.
"""
