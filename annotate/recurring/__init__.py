"""What is played again and again: mukhras and phrases of a recording and of a raga, and names proposed for them.

``finding`` one recording; ``naming`` what the raga's table says of a phrase; ``across`` several recordings of a raga;
``taking_up`` writes a phrase's comings down as phrases. Nothing here is kept: it follows from the melody, the grid and
the table of ragas, and an hour takes a second or two.
"""
