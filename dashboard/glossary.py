"""What the trade's words mean, in one line each: the one source of the pages' tooltips and of the page of words.

Conventions: common practice, no source; where schools differ that is said, and one's own teacher counts. Kinds of
tihais have their definitions, with whose they are, in ``theory/data/kinds.toml``.
"""

from __future__ import annotations

MEANINGS: dict[str, str] = {
    "alap": "the raga unfolded without tala, before the composition",
    "avartan": "one cycle of the tala, from sam to the next sam",
    "bol": "the syllable of a stroke on tabla or string",
    "chakradar": "a phrase that itself ends in a tihai, played three times",
    "dam": "the pause between two pallas, counted in matras; there may be none",
    "gat": "an instrumental composition set in a tala",
    "jhala": "fast playing that fills the matras with strokes on the drone strings",
    "jor": "the part after alap: a pulse, but no tala yet",
    "khali": "the vibhag shown with a wave of the hand, where the bass drum is silent",
    "komal": "the lowered form of a swara",
    "laya": "the tempo, as matras a minute; vilambit is slow, madhya medium, drut fast",
    "matra": "one beat of the tala, counted from 1 at sam",
    "mukhra": "the opening words or notes of the composition that lead to sam",
    "palla": "the phrase that a tihai plays three times",
    "raga": "a melodic frame: its swaras, how they rise and fall, and the phrases that make it known",
    "sa": "the tonic; every other swara is heard from it",
    "sam": "the first matra of the tala, where what was begun comes to rest",
    "sargam": "a melody written by the names of its swaras: S R G m P D N",
    "shuddha": "the natural form of a swara",
    "swara": "a note of the raga, named by its place above Sa",
    "tala": "the cycle of matras in which a composition is set",
    "tali": "a vibhag shown with a clap",
    "theka": "the strokes on the tabla by which a tala is known",
    "tihai": "a phrase played three times so that its end meets a chosen matra, mostly sam",
    "vibhag": "a part of the tala, marked by a clap or a wave",
}

_ALSO = {
    "tihais": "tihai",
    "ragas": "raga",
    "talas": "tala",
    "pallas": "palla",
    "sams": "sam",
    "sams marked": "sam",
    "avartans": "avartan",
    "matras": "matra",
    "swaras": "swara",
    "vibhags": "vibhag",
}


def meaning(word: str) -> str:
    """Return what a word means; empty where it is none of the trade's or not listed."""
    folded = word.strip().casefold()
    return MEANINGS.get(_ALSO.get(folded, folded), "")
