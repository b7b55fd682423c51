"""Query by example: where in the archive a passage comes again.

Parts: ``heard`` (a recording made ready to be searched), ``asked`` (what is asked: a passage or a typed phrase),
``seek`` (the search over recordings, one at a time), ``likes`` (what was found, in places and words).
"""
