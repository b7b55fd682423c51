"""What the trade's words mean, in one line each: the one source of the pages' tooltips and of the page of words.

Conventions: common practice, no source; where schools differ that is said, and one's own teacher counts. Kinds of
tihais have their definitions, with whose they are, in ``theory/data/kinds.toml``.
"""

from __future__ import annotations

MEANINGS: dict[str, str] = {
    "aims at": "the matra of the tala on which the tihai is meant to land; sam is 1",
    "alap": "the raga unfolded without tala, before the composition",
    "antara": "the second part of a composition, which climbs to the upper Sa",
    "aroha": "how the raga climbs: its swaras going up",
    "avaroha": "how the raga comes down: its swaras going down",
    "avartan": "one cycle of the tala, from sam to the next sam",
    "bayan": "the bass drum of the tabla, mostly under the left hand",
    "bol": "the syllable of a stroke on tabla or string",
    "chakradar": "a phrase that itself ends in a tihai, played three times",
    "dam": "the pause between two pallas, counted in matras; there may be none",
    "dayan": "the treble drum of the tabla, tuned mostly to Sa, mostly under the right hand",
    "gat": "an instrumental composition set in a tala",
    "jhala": "fast playing that fills the matras with strokes on the drone strings",
    "jor": "the part after alap: a pulse, but no tala yet",
    "khali": "the vibhag shown with a wave of the hand, where the bass drum is silent",
    "komal": "the lowered form of a swara",
    "landing": "the last stroke of a tihai, where it comes to rest",
    "landing rule": "whether the last stroke of the palla is the landing, or the stroke after it; schools differ",
    "laya": "the tempo, as matras a minute; vilambit is slow, madhya medium, drut fast",
    "matra": "one beat of the tala, counted from 1 at sam",
    "mukhra": "the opening words or notes of the composition that lead to sam",
    "pakad": "a phrase by which the raga is known at once",
    "palla": "the phrase that a tihai plays three times",
    "phrase": "a stretch of melody that belongs together, written in sargam",
    "raga": "a melodic frame: its swaras, how they rise and fall, and the phrases that make it known",
    "round": "what a chakradar plays three times: mostly a bol, then a tihai",
    "sa": "the tonic; every other swara is heard from it",
    "sam": "the first matra of the tala, where what was begun comes to rest",
    "sam marked": "a sam that somebody set by ear: the grid goes through it",
    "sam tracked": "a sam that was found in the sound: to be checked by ear",
    "sargam": "a melody written by the names of its swaras: S R G m P D N",
    "shuddha": "the natural form of a swara",
    "starts on": "the matra of the tala on which the first palla begins; sam is 1",
    "sthayi": "the first part of a composition, to which one returns",
    "swara": "a note of the raga, named by its place above Sa",
    "tala": "the cycle of matras in which a composition is set",
    "tali": "a vibhag shown with a clap",
    "tan": "a fast run of swaras",
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
    "phrases": "phrase",
    "treble (dayan)": "dayan",
    "bass (bayan)": "bayan",
    "khali vibhag": "khali",
    "begins on": "starts on",
    "between the rounds": "round",
    "bol of each round": "round",
    "last stroke of the palla": "landing rule",
    "lands on": "aims at",
    "lands at": "landing",
    "lands at (s)": "landing",
    "sams (s)": "sam",
    "pallas begin at": "palla",
    "pallas begin at (s)": "palla",
    "palla, one word a matra": "palla",
    "palla, matras": "palla",
    "dam, matras": "dam",
    "avartans, at most": "avartan",
    "landing counted": "landing rule",
    "laya, matras a minute": "laya",
    "avartans": "avartan",
    "matras": "matra",
    "swaras": "swara",
    "vibhags": "vibhag",
}


def meaning(word: str) -> str:
    """Return what a word means; empty where it is none of the trade's or not listed."""
    folded = word.strip().casefold()
    return MEANINGS.get(_ALSO.get(folded, folded), "")
