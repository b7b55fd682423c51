"""What is found of the revisions of a recording, in words."""

from __future__ import annotations

from collections.abc import Sequence

from annotate.check.findings import Finding
from annotate.check.history import Bad, History, file_name
from annotate.check.replacing import Replacement
from annotate.revisions import from_bytes

_SHUT = "Until that is mended the recording may not open."


def findings_of(history: History, replacements: Sequence[Replacement]) -> list[Finding]:
    """Return what is wrong with the revisions of a recording."""
    slug = history.slug
    if history.other_slug:
        return [
            Finding(
                "folder renamed",
                f"recordings/{slug}",
                f"Its revisions are of '{history.other_slug}', so under this name nobody can open it.",
                f"Give the folder its name again: recordings/{history.other_slug}.",
            )
        ]
    found = [
        Finding(
            "newer revision",
            each.name,
            f"It was written by a newer version of this program. {_SHUT}",
            "Install that version; nothing is touched.",
        )
        for each in history.bad
        if each.newer
    ]
    bad = {each.number: each for each in history.bad}
    found.extend(_of_lost(slug, each, bad.get(each.number)) for each in replacements)
    found.extend(_of_odd(history, each) for each in history.odd)
    return found


def _of_lost(slug: str, replacement: Replacement, bad: Bad | None) -> Finding:
    number = replacement.number
    if bad is None:
        kind, what = "revision missing", "No file is there, although something tells of it or of a later one."
    elif bad.says and bad.why.startswith("it holds"):
        kind, what = "revision misnamed", f"Under this name {bad.says} was found."
    else:
        kind, what = (
            "revision damaged",
            f"It cannot be read ({bad.why})" + (f"; it was made {bad.says}." if bad.says else "."),
        )
    place = "the file is moved to set-aside/" if bad is not None else "its place is filled"
    if replacement.whole:
        mend = f"Nothing is lost: {replacement.words}; {place} and that takes its place."
    elif replacement.edits:
        mend = f"Most is saved: {replacement.words}; {place}. Who made it, when and why may be lost."
    else:
        mend = (
            f"This edit is lost: {place}, an empty revision stands for it, and the later ones count. "
            "If you have a backup, take it from there instead."
        )
    return Finding(kind, file_name(slug, number), f"{what} {_SHUT}", mend, ("history", slug))


def _of_odd(history: History, odd: Bad) -> Finding:
    if not odd.number:
        return Finding(
            "foreign file",
            odd.name,
            "No file of the archive has such a name, and it is no revision. Nobody reads it.",
            "Left where it is.",
            damage=False,
        )
    own = history.copies.get(odd.number)
    twin = own is not None and own[0] == odd.name and history.sound.get(odd.number) == from_bytes(own[1])[1]
    if twin:
        means = f"It is a second copy of revision {odd.number}, the same."
    elif odd.number in history.sound:
        means = f"It holds another revision {odd.number}: {odd.says}. What it did is not in the history."
    elif odd.says.startswith("revision"):
        means = f"It holds {odd.says}, under a name that nobody reads."
    else:
        means = f"Its number is far beyond the others, so it is no revision of this history. {_SHUT}"
    mend = "It is moved to set-aside/" + (
        "." if twin else "; look at what it did, and make the edit again if it counts."
    )
    return Finding("revision twice", odd.name, means, mend, ("history", history.slug))
