"""What comes again and again in a raga: the recurring phrases of its recordings, those that are alike put together.

A phrase found in one recording is then looked for in the lines of the others, where it may come too seldom to be found
by itself. Mukhras go with mukhras: each gat has its own, and two of one are two performances of it.

Conventions: octaves are kept, counted from each recording's middle Sa; phrases are alike when at most one note in four
differs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from annotate.archive import Archive
from annotate.errors import BadAnnotation
from annotate.recurring.finding import Heard, RecurringPhrase, on_grid
from annotate.recurring.naming import ProposedName, without_repeats
from annotate.recurring.remembered import heard_in
from annotate.statistics.performances import performances_of
from ingest.finding.like_lines import distance
from ingest.finding.recurring import comings_in

ALIKE_NOTES = 4


@dataclass(frozen=True)
class AcrossRaga:
    """A phrase of several recordings, or of one.

    Parameters
    ----------
    phrases : tuple of RecurringPhrase
        One or more of each recording; the one that tells most first.
    """

    phrases: tuple[RecurringPhrase, ...]

    @property
    def kind(self) -> str:
        """``"mukhra"`` or ``"phrase"``."""
        return self.phrases[0].kind

    @property
    def text(self) -> str:
        """Its swaras, in the wording that tells most."""
        return self.phrases[0].text

    @property
    def count(self) -> int:
        """How often it comes, all together."""
        return sum(len(each.comings) for each in self.phrases)

    @property
    def recordings(self) -> tuple[str, ...]:
        """Where it comes."""
        return tuple(dict.fromkeys(each.recording for each in self.phrases))

    @property
    def names(self) -> tuple[ProposedName, ...]:
        """Each proposed name once, as it agrees best."""
        best: dict[str, ProposedName] = {}
        for name in (name for each in self.phrases for name in each.names):
            if name.name not in best or best[name.name].agreement < name.agreement:
                best[name.name] = name
        return tuple(best.values())

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "kind": self.kind,
            "swaras": self.text,
            "count": self.count,
            "recordings": list(self.recordings),
            "names": [each.to_json() for each in self.names],
            "phrases": [each.to_json() for each in self.phrases],
        }


@dataclass(frozen=True)
class RecurringInRaga:
    """What comes again in a raga, and the recordings that could not be searched, with the reason."""

    groups: tuple[AcrossRaga, ...]
    searched: tuple[str, ...]
    not_searched: dict[str, str]

    def to_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "groups": [each.to_json() for each in self.groups],
            "searched": list(self.searched),
            "not_searched": self.not_searched,
        }


def recurring_in_raga(
    archive: Archive, raga: str, tell: Callable[[float], None] | None = None, follow: bool = True
) -> RecurringInRaga:
    """Find what comes again and again in the recordings of a raga: what comes in most of them first.

    Parameters
    ----------
    archive : Archive
    raga : str
    tell : callable, optional
        Told the share done, 0 to 1.
    follow : bool
        Whether melodies that were never followed are followed now, which takes minutes an hour of sound; else those
        recordings are left out, which is said.

    Raises
    ------
    theory.errors.UnknownName
        Neither the table of ragas nor the archive has that raga.
    """
    tell = tell or (lambda _share: None)
    slugs = [str(slug) for slug in performances_of(archive, raga)["recording"]]
    heard: dict[str, Heard] = {}
    missing: dict[str, str] = {}
    for number, slug in enumerate(slugs):
        if not follow and archive.melody(slug) is None:
            missing[slug] = f"Its melody was not followed yet. Follow it with: layakosh recurring {slug}"
            continue
        try:
            heard[slug] = heard_in(archive, slug, _part_of(tell, number, len(slugs)))
        except BadAnnotation as error:
            missing[slug] = str(error)
    groups = [_everywhere(archive, group, heard) for group in together(list(heard.values()))]
    groups.sort(key=lambda group: (-len(group.recordings), group.kind != "mukhra", -_gain(group)))
    return RecurringInRaga(tuple(groups), tuple(heard), missing)


def _part_of(tell: Callable[[float], None], done: int, of: int) -> Callable[[float], None]:
    """Tell the share done of one recording as one of all of them."""
    return lambda share: tell((done + share) / of)


def together(heard: list[Heard]) -> list[AcrossRaga]:
    """Put the phrases of several recordings that are alike together, about the ones that tell most."""
    phrases = [each for found in heard for each in found.phrases]
    phrases.sort(key=lambda each: (each.kind != "mukhra", -each.gain, -len(each.comings)))
    groups: list[list[RecurringPhrase]] = []
    for each in phrases:
        mine = next((group for group in groups if _alike(group[0], each)), None)
        if mine is None:
            groups.append([each])
        else:
            mine.append(each)
    return [AcrossRaga(tuple(group)) for group in groups]


def _alike(one: RecurringPhrase, other: RecurringPhrase) -> bool:
    if one.kind != other.kind:
        return False
    first, second = without_repeats(one.semitones), without_repeats(other.semitones)
    return distance(first, second) <= max(len(first), len(second)) // ALIKE_NOTES


def _everywhere(archive: Archive, group: AcrossRaga, heard: dict[str, Heard]) -> AcrossRaga:
    """A group of phrases with its comings in the recordings where it was not found by itself."""
    if group.kind != "phrase":
        return group
    more = []
    best = group.phrases[0]
    for slug in heard.keys() - set(group.recordings):
        found = comings_in(heard[slug].notes, best.semitones)
        if found:
            grid = archive.grid(slug)
            where = tuple(on_grid(grid, each.start_s, each.end_s) for each in found)
            more.append(RecurringPhrase(slug, "phrase", best.text, best.semitones, where, 0.0, best.names))
    return AcrossRaga((*group.phrases, *sorted(more, key=lambda each: each.recording)))


def _gain(group: AcrossRaga) -> float:
    return sum(each.gain for each in group.phrases)
