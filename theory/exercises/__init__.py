"""Exercises in the arithmetic of tihais: questions, the answers that are right, how hard a question is.

::

    wishes      what a set of exercises is to be like, as plain values that can be kept
    draw        chance that is the same everywhere for the same seed
    question    one question, in words, and every answer that is right
    reading     an answer as somebody writes it
    marking     right or wrong, what it leads to, and what may have been counted otherwise
    difficulty  how hard a question is, from its arithmetic and its laya
    making      a set of questions made up from what lands

Exact, as all of ``theory``: an answer is right when the tihai that it makes lands by :mod:`theory.tihai`.
"""
