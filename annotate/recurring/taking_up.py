"""Taking a recurring phrase up: every coming is written down as a phrase, in one revision that undo takes back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from annotate.archive import Archive
from annotate.checks import check_phrase
from annotate.errors import BadAnnotation
from annotate.records import PhraseRecord
from annotate.recurring.finding import Comes, Heard, RecurringPhrase
from annotate.revisions import add
from ingest.finding.recurring import LONGEST, SHORTEST, comings_in
from theory.swaras import semitones_of


@dataclass(frozen=True)
class TakenUp:
    """What came of it: the phrases written, and how many comings were written down already."""

    written: tuple[PhraseRecord, ...]
    known: int


def phrase_by_key(heard: Heard, slug: str, key: str) -> RecurringPhrase:
    """Return the phrase of a key; a phrase found in another recording is looked for in this one.

    Raises
    ------
    BadAnnotation
        It is not found any more: the grid, the raga or the sound has changed since.
    NotationError
        The key has no swaras.
    """
    found = next((each for each in heard.phrases if each.key == key), None)
    kind, _, text = key.partition("||")
    if found is None and kind == "phrase":
        semitones = tuple(semitones_of(each) for each in text.split())
        comes = comings_in(heard.notes, semitones) if SHORTEST <= len(semitones) <= LONGEST else []
        if comes:
            places = tuple(Comes(each.start_s, each.end_s) for each in comes)
            found = RecurringPhrase(slug, kind, text, semitones, places, 0.0)
    if found is None:
        raise BadAnnotation(
            "That phrase is not found any more: the recording has changed since. Look at the list again."
        )
    return found


def take_up(archive: Archive, phrase: RecurringPhrase, role: str, who: str = "") -> TakenUp:
    """Write every coming of a phrase down that no phrase written down covers yet.

    Parameters
    ----------
    archive : Archive
    phrase : RecurringPhrase
    role : str
        Mukhra, pakad, sthayi ...; may be empty.
    who : str

    Raises
    ------
    BadAnnotation
        It lies outside the recording.
    ConflictingEdit
        Somebody wrote in the same recording meanwhile; nothing is written.
    """
    state = archive.state(phrase.recording)
    at = datetime.now(UTC).replace(microsecond=0)
    new = [each for each in phrase.comings if not any(each.overlaps(old.start_s, old.end_s) for old in state.phrases)]
    keys = state.next_keys("phrases", len(new))
    records = [
        PhraseRecord(key, round(each.start_s, 3), round(each.end_s, 3), phrase.text, role.strip(), who, at)
        for key, each in zip(keys, new, strict=True)
    ]
    for record in records:
        check_phrase(state, record)
    if records:
        why = f"phrase heard again and again taken up: {phrase.text}"
        archive.commit(phrase.recording, [add(each) for each in records], who, why, parent=state.revision)
    return TakenUp(tuple(records), len(phrase.comings) - len(new))
