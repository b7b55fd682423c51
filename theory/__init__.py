"""What is true on paper: talas, ragas, swaras, laya, notation and tihai arithmetic.

Exact (every matra count is a :class:`fractions.Fraction`) and standard library only.
"""
