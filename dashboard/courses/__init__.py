"""Courses as pages: the list, a course read chapter by chapter, and its editing.

``shown.py``    what the pages show, as plain values
``editing.py``  what is asked of a course, done
``markup.py``   templates to markup; ``routes.py``: the requests

Conventions: whoever edits says on which revision they looked (``seen``); what others did since is put together with it,
or both versions are shown. An answer to an edit brings the whole course as markup.
"""
