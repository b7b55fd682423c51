"""The licence of a pack: what the musician whose performance it is allows.

The standard ones are called by their SPDX identifiers (SPDX License List, a standard of the Linux Foundation, ISO/IEC
5962) and linked as Creative Commons asks, by the address of the deed. Any other text is the musician's own words.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from annotate.practice.packs.errors import BadLicence


@dataclass(frozen=True)
class Licence:
    """What may be done with a pack.

    Attributes
    ----------
    key : str
        The SPDX identifier, ``students``, ``own``, or ``none`` where nobody has chosen.
    name : str
        As it is called, or the musician's own words.
    says : str
        In a sentence for students; '' where the name says all.
    address : str
        Where the licence stands in full; ''.
    """

    key: str
    name: str
    says: str = ""
    address: str = ""

    @property
    def line(self) -> str:
        """All of it in one line, for footers and tags."""
        return f"{self.name} ({self.address})" if self.address else self.name


_BY = "name the musicians, and say if you changed anything."
_DEEDS = (
    ("CC0-1.0", "CC0 1.0 Universal", "publicdomain/zero/1.0", "You may do with it what you like."),
    ("CC-BY-4.0", "Attribution 4.0", "licenses/by/4.0", f"You may share and change it: {_BY}"),
    (
        "CC-BY-SA-4.0",
        "Attribution-ShareAlike 4.0",
        "licenses/by-sa/4.0",
        f"You may share and change it under this same licence: {_BY}",
    ),
    (
        "CC-BY-NC-4.0",
        "Attribution-NonCommercial 4.0",
        "licenses/by-nc/4.0",
        f"You may share and change it, not commercially: {_BY}",
    ),
    (
        "CC-BY-NC-SA-4.0",
        "Attribution-NonCommercial-ShareAlike 4.0",
        "licenses/by-nc-sa/4.0",
        f"You may share and change it under this same licence, not commercially: {_BY}",
    ),
    (
        "CC-BY-ND-4.0",
        "Attribution-NoDerivatives 4.0",
        "licenses/by-nd/4.0",
        "You may share it unchanged: name the musicians.",
    ),
    (
        "CC-BY-NC-ND-4.0",
        "Attribution-NonCommercial-NoDerivatives 4.0",
        "licenses/by-nc-nd/4.0",
        "You may share it unchanged, not commercially: name the musicians.",
    ),
)

STANDARD: dict[str, Licence] = {
    **{
        key: Licence(key, f"Creative Commons {name}", says, f"https://creativecommons.org/{place}/")
        for key, name, place, says in _DEEDS
    },
    "students": Licence(
        "students",
        "All rights reserved: for my students only",
        "You may practise with it. Do not pass it on, and put nothing of it on the net.",
    ),
}
"""The licences that can be chosen by a short name."""

NONE = Licence(
    "none",
    "No licence was given",
    "Thus copying is not allowed: practise with it, and ask the musicians before you pass it on.",
)
"""What a pack says where nobody has chosen."""

LONGEST = 300


def licence_of(text: str) -> Licence:
    """Return the licence that a text means: a short name of :data:`STANDARD`, or own words.

    Raises
    ------
    BadLicence
        It is empty, too long, or looks like a short name and is none.
    """
    words = " ".join(text.split())
    known = {key.lower(): licence for key, licence in STANDARD.items()}
    if words.lower() in known:
        return known[words.lower()]
    if not words or len(words) > LONGEST:
        raise BadLicence(f"A licence is 1 to {LONGEST} signs of text; this has {len(words)}. {_choose()}")
    if re.fullmatch(r"(?i)cc[-_ ]?(0|by|zero)[-_ .0-9a-z]*", words):
        near = difflib.get_close_matches(words.upper().replace(" ", "-"), STANDARD, n=3, cutoff=0.3)
        raise BadLicence(f"'{words}' is no licence that is known; near it are {', '.join(near)}. {_choose()}")
    return Licence("own", words)


def _choose() -> str:
    return f"Choose one of {', '.join(STANDARD)}, or write the musician's own words."
