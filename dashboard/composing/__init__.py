"""The page on which tihais are composed: what an address asks for, what answers it, how it is drawn and heard.

::

    asked      an address and what it asks for
    shown      what the page shows of solutions, of the piece that is opened, of what is carried over
    run        a piece's run through the cycles, as plain data for the drawing; small, as a drawing
    score      what sounds, in matras
    sounds     the sounds of strokes and plucks
    shelf_page what is kept
    routes     all of it by HTTP

Conventions: the address holds every choice, so that it can be kept as a bookmark and gone back to; every answer follows
from the address alone. Fragments of the page are made here from templates, and ``assets/window/compose.mjs`` puts them
into it.
"""
