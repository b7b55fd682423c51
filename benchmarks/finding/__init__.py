"""Concerts for judging the finder: many tihais of every kind, and what only looks like one.

Built on ``benchmarks/concerts`` (the sound, the theka, the lines of the lead); what is true of them is exact.
"""
