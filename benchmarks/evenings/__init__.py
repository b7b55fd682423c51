"""Whole evenings for the bench: talk, applause and tuning between alap, jor, jhala, gats and tabla solos.

Built on ``benchmarks.concerts``, and apart from it: what is rendered there stays as it is when this changes.
"""
