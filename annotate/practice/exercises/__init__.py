"""Exercises from an archive: questions about tihais that were played there, and a list to sing or play from.

::

    played     tihais of the archive, as the arithmetic takes them
    drawn      a set of exercises: drawn from them by a seed, filled up with made-up ones
    printed    a set as one page of HTML: the questions, and the answers on a page of their own
    shown      a question and its answer in words, as plain values for whatever shows them
"""
