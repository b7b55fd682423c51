"""What the panel writes: sams placed, rows changed, written down and taken out, undo, redo, as it was then.

Conventions: every function answers with a sentence that says what was done; ``seen`` is the revision on which somebody
looked at what they change, so that nobody's edit is overwritten unseen. Nothing is half-written.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, cast

from annotate import sections
from annotate.archive import Archive
from annotate.errors import BadMarks, BothChanged, ConflictingEdit, NoSuchRow
from annotate.history import as_of, taking_back
from annotate.history.fields import with_fields
from annotate.history.merging import Keep, change_merging
from annotate.history.points import Point, moment_words
from annotate.history.words import differing, field_word
from annotate.marking import NUDGED, mark_sams, move_sam, record_phrase
from annotate.records import WORD_FOR, ByItself, MarkedSam, Section
from annotate.revisions import withdraw
from dashboard.marking.shown import EDITED, WHO, sentences
from dashboard.words import amount_ms
from theory.clock import format_clock, parse_clock

_SAME_S = 1e-3  # what a page shows of a time


def place_sam(
    archive: Archive,
    slug: str,
    to_s: float,
    *,
    key: str = "",
    from_s: float | None = None,
    keep: Keep = "",
    nudged: bool = False,
) -> str:
    """Put a sam where it belongs and fit the grid again.

    Parameters
    ----------
    to_s : float
        Where it belongs.
    key, from_s : optional
        A marked sam to be moved, and where the page shows it; else one is marked.
    keep : str
        ``mine`` moves it although somebody else has moved it meanwhile.
    nudged : bool
        Whether it is moved by key, a little at a time: undo goes back over a run of these at once.

    Raises
    ------
    ConflictingEdit
        Somebody else has moved or dropped it meanwhile.
    BadMarks, ingest.errors.ConflictingSams
        It cannot be there.
    """
    if not key:
        why = f"{NUDGED} to" if nudged else "sam marked at"
        mark_sams(archive, slug, [to_s], who=WHO, why=f"{why} {format_clock(to_s)}")
        return f"Sam marked at {format_clock(to_s)}."
    mark = cast(MarkedSam | None, archive.state(slug).rows["sams"].get(key))
    if mark is None and keep == "mine":
        return place_sam(archive, slug, to_s, nudged=nudged)
    if mark is None or (keep != "mine" and from_s is not None and abs(mark.sam_s - from_s) > _SAME_S):
        raise _sam_changed(archive, slug, key, mark, to_s)
    words = f"{format_clock(mark.sam_s)} to {format_clock(to_s)}"
    moved = NUDGED if nudged else "sam moved"
    move_sam(archive, slug, mark.sam_s, to_s, who=WHO, why=f"{moved} from {words}")
    return f"Sam moved from {words} ({amount_ms(1000 * (to_s - mark.sam_s))})."


def _sam_changed(archive: Archive, slug: str, key: str, now: MarkedSam | None, to_s: float) -> ConflictingEdit:
    last = archive.ledger(slug).revisions(table="sams", key=key, most=1)
    if not last:
        raise NoSuchRow("sam", key, slug, list(archive.state(slug).rows["sams"]))
    section = now.section if now is not None else ""
    return ConflictingEdit(
        slug, "sams", key, theirs=now, mine=MarkedSam(key, section, to_s), who=last[-1].who,
        when=moment_words(last[-1].when), their_revision=last[-1].number,
    )  # fmt: skip


def change_row(
    archive: Archive, slug: str, table: str, key: str, told: Mapping[str, str], *, seen: int, keep: Keep = ""
) -> str:
    """Change fields of a tihai, a phrase or a section.

    Raises
    ------
    BothChanged
        Somebody else changed the same meanwhile; shows both. Nothing is written.
    theory.errors.LayakoshError
        A field that cannot be read, or a row that could not be true.
    """
    if table == "sections":
        return _change_section(archive, slug, key, told, seen, keep)
    was = archive.ledger(slug).state(seen, {(table, key)}).rows.get(table, {}).get(key) if table in EDITED else None
    if was is None:
        raise NoSuchRow(WORD_FOR.get(table, "row"), key, slug, list(archive.state(slug).rows.get(table, {})))
    mine = with_fields(cast(ByItself, was), told)
    if not told or mine == was:
        return "Nothing was changed."
    why = f"{WORD_FOR[table]} {key}: {', '.join(told)} changed"
    written = change_merging(archive, slug, mine, who=WHO, why=why, seen=seen, keep=keep)
    theirs = [field_word(name) for name in written.merged.theirs]
    return f"{WORD_FOR[table].capitalize()} {key} is saved." + (
        f" What somebody else changed meanwhile is kept too: {', '.join(theirs)}." if theirs else ""
    )


def _change_section(archive: Archive, slug: str, key: str, told: Mapping[str, str], seen: int, keep: Keep) -> str:
    ledger = archive.ledger(slug)
    row = ("sections", key)
    later = ledger.touching({row}, seen)[row]
    was, theirs = (
        cast(Section | None, ledger.state(at, {row}).rows["sections"].get(key)) for at in (seen, ledger.latest)
    )
    limits = {name: parse_clock(told[word]) for name, word in (("start_s", "from"), ("end_s", "to")) if word in told}
    if was is not None and later and (keep != "mine" or theirs is None):
        mine = Section(
            key, told.get("kind", was.kind), limits.get("start_s", was.start_s), limits.get("end_s", was.end_s),
            told.get("tala", was.tala),
        )  # fmt: skip
        last = ledger.heads[later[-1] - 1]
        raise BothChanged(
            slug, "sections", key, was=was, theirs=theirs, mine=mine, who=last.who, when=moment_words(last.when),
            their_revision=last.number, seen=seen, clashing=differing([was, mine]),
        )  # fmt: skip
    sections.change_section(
        archive, slug, key, kind=told.get("kind"), tala=told.get("tala"), start_s=limits.get("start_s"),
        end_s=limits.get("end_s"), who=WHO, why=f"section {key}: {', '.join(told)} changed",
    )  # fmt: skip
    return f"Section {key} is saved."


def write_phrase(archive: Archive, slug: str, told: Mapping[str, str]) -> str:
    """Write a phrase down."""
    record = record_phrase(
        archive,
        slug,
        start_s=parse_clock(told.get("from", "")),
        end_s=parse_clock(told.get("to", "")),
        swaras=told.get("swaras", ""),
        role=told.get("role", ""),
        who=WHO,
    )
    return f"Saved as phrase {record.phrase}."


def take_out(archive: Archive, slug: str, table: str, key: str, seen: int) -> str:
    """Take a sam, a tihai or a phrase out; its history stays.

    Raises
    ------
    ConflictingEdit
        Somebody else has changed it since ``seen``.
    """
    if table not in ("sams", "tihais", "phrases"):
        raise BadMarks("Sections are not taken out: join this one with the next, or take its tala away.")
    word = WORD_FOR[table]
    archive.commit(slug, [withdraw(table, key)], WHO, f"{word} {key} taken out", parent=seen)
    return f"{word.capitalize()} {key} is taken out; its history stays."


def split(archive: Archive, slug: str, key: str, at_s: float) -> str:
    """Split a section in two."""
    first, second = sections.split_section(archive, slug, key, at_s, who=WHO)
    return f"{first.section} is split at {format_clock(at_s)}; the second part is called {second.section}."


def join(archive: Archive, slug: str, key: str) -> str:
    """Join a section with the next."""
    whole = sections.join_section(archive, slug, key, who=WHO)
    return f"{whole.section} now lasts from {format_clock(whole.start_s)} to {format_clock(whole.end_s)}."


def go_back(archive: Archive, slug: str, kind: Literal["undo", "redo"]) -> str:
    """Undo the latest edit of who is at hand that holds, or redo what they undid last."""
    who = archive.signature(WHO)
    done = (taking_back.undo if kind == "undo" else taking_back.redo)(archive, slug, who)
    verb = "Undone" if kind == "undo" else "Done again"
    told = [f"{verb}: {done.step.edit.why or done.step.words}"]
    if done.nudges > 1:
        told = [f"{verb}: {done.nudges} nudges of a sam{_sam_at(done)}"]
    if any(change.table != "sams" for change in done.changes):  # of sams the words of the edit say all
        told += sentences(done.changes, 3)
    return f"{'; '.join(told)}."


def _sam_at(done: taking_back.TakenBack) -> str:
    (change,) = done.changes
    return f", which is at {format_clock(cast(MarkedSam, change.after).sam_s)}" if change.after is not None else ""


def plan(archive: Archive, slug: str, number: int, table: str, key: str) -> as_of.Plan:
    """Return what it takes for a recording, or a row of it, to be as it was at a revision."""
    return as_of.plan(archive, slug, Point(number=number), table=table, key=key)


def restore(archive: Archive, slug: str, number: int, table: str, key: str, seen: int) -> str:
    """Bring a recording, or a row of it, back as it was; refused when it was edited since the plan was looked at."""
    made = plan(archive, slug, number, table, key)
    if made.latest != seen:
        raise BadMarks("Somebody has edited this concert since. Look again at what would change.")
    if not made.changes:
        return f"It is as it was at revision {number} already."
    as_of.carry_out(archive, made, WHO)
    count = len(made.changes)
    return f"As it was at revision {number}: {count} row{'' if count == 1 else 's'} changed."
