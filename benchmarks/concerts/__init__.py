"""Concerts made for measuring: rendered from a seed, with the truth of every matra, stroke and pluck.

The way of a concert: ``plan`` (what is played, by the seed) -> ``strokes`` (the tabla) and ``melody`` (the lead)
on the pulse of ``sample_data.clock`` -> ``score`` (both, and the truth) -> ``recorded``, ``soundfont`` (the sounds) ->
``render`` (room, noise, MP3, files).
"""
