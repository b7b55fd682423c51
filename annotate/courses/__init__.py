"""Courses: pieces of the archive ordered into lessons, with notes, kept with their history.

::

    course        what a course is, and what is refused
    piece         how a piece of a chapter is written, and what there is of it now
    exercise_sets sets of exercises, which are pieces too
    finding       pieces found by words
    editing       what people do to a course: chapters added, changed, moved, removed
    written       a course as plain values that a file holds
    ordering      two people's orders of the same things put together
    merging       two people's versions of a course put together
    changes       what became of a course from one revision to the next, in words
    shelf         all courses of an archive, kept as :mod:`annotate.shelves` keeps things; changed together with others
    taking_back   undo and redo
    headings      how deep the headings of notes stand beneath a chapter's
    notes         notes in Markdown as markup that may stand on a page
    as_markdown   a whole course as one Markdown file
    errors        the errors, drawn

A course belongs to no recording: it names pieces, and what is withdrawn or removed later is told where it is named.
"""
