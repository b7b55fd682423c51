"""What is played again and again: mukhras and phrases of a recording and of a raga, and names proposed for them.

``finding`` one recording; ``naming`` what the raga's table says of a phrase; ``across`` several recordings of a raga;
``taking_up`` writes a phrase's comings down as phrases. Nothing here is written to disk: it follows from the melody,
the grid and the table of ragas in some seconds an hour of sound; ``remembered`` keeps it in memory.
"""
