"""Practice sounds: a tihai or phrase as played, slowly and in a loop, or played from its notation by our instruments.

::

    wishes          what is wanted, and what became of it
    plan            when everything comes: exact arithmetic of matras
    as_played       the passage of the recording, from sam to sam or exactly
    on_paper        the piece as written, laid on the tala
    beats           what is struck where: clicks, theka, lehra, notes, counted dams
    instruments     what that sounds like
    passage_slowed  the recording's sound at a speed, and where it may be joined
    layers          what is laid where, to the sample
    mixing          all of it in one sound, block by block
    tags            what the file says of itself
    evenly          loudness even between files (EBU R 128)
    writing         all of it together
    aside           the same in a process of its own
"""

from annotate.practice.sounds.wishes import SoundMade, SoundPart, SoundWishes
from annotate.practice.sounds.writing import parts_planned, write_sound

__all__ = ["SoundMade", "SoundPart", "SoundWishes", "parts_planned", "write_sound"]
