"""A recording's proposals as a page shows them: in words, with their sum, and one of them with its rows.

Conventions: confidence is told in words, by a number and by a row of signs; colour only repeats it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from annotate.archive import Archive
from annotate.proposals import kept
from annotate.proposals.deciding import lead_of
from annotate.proposals.learning import learnt_from
from annotate.proposals.proposed import Proposed
from annotate.proposals.proposing import is_stale, mukhras, proposed
from annotate.records import TihaiRecord
from annotate.verify import Verdict, tala_of, verify
from annotate.wording import place
from dashboard import words
from dashboard.access.at_hand import at_hand
from dashboard.library import Library
from dashboard.proposals.runs import Run
from theory.clock import format_clock
from theory.numbers import spoken
from theory.tihai import LandingRule

if TYPE_CHECKING:
    from ingest.finding.proposal import Proposal

SURE = ((0.9, "almost sure"), (0.7, "likely"), (0.45, "as likely as not"), (0.2, "doubtful"), (0.0, "unlikely"))
"""From which confidence on what is said; five steps, told by as many signs."""


def version(library: Library, slug: str, run: Run | None) -> str:
    """Return a text that changes whenever something else is shown.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    stamp = kept.stamp(library.archive.evidence_folder(slug))
    return f"{library.version(slug)} {stamp} {run and run.told()} {at_hand().may_edit}"


def page_of(library: Library, slug: str, run: Run | None) -> dict[str, Any]:
    """Return a recording's proposals, the likeliest first, and what is known of them all.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    archive = library.archive
    every = known(library, slug)
    learnt = learnt_from(archive)
    return {
        "looked": every is not None,
        "stale": every is not None and is_stale(archive, slug),
        "run": run.told() if run is not None else None,
        "mayEdit": at_hand().may_edit,
        "hasSound": archive.has_sound(slug),
        "learnt": _learnt_words(len(learnt.decided), used=learnt.is_used),
        "mukhras": [
            {"section": section, "words": f"{section}: matra {matra}"}
            for section, matra in mukhras(archive, slug).items()
            if matra is not None
        ],
        "proposals": [_row(archive, slug, each) for each in every or []],
    }


def one_of(library: Library, slug: str, chosen: Proposed) -> dict[str, Any]:
    """Return what is shown of a proposal that is opened: its sum and verdict, and the rows that it runs through."""
    archive = library.archive
    record = record_of(archive, slug, chosen)
    grid = archive.grid(slug)
    verdict = verify(record, grid, tala_of(record, grid, archive.state(slug).recording), slug)
    return {
        "key": chosen.key,
        "sum": words.unbroken(verdict.paper.sum) if verdict.paper is not None else "",
        "lines": [words.unbroken(line) for line in _paper_lines(verdict)],
        "typed": _typed(record),
        "passage": library.fold(slug).with_only(record, verdict, grid, address(slug, chosen.key)).passage(record),
    }


def address(slug: str, key: str = "") -> str:
    """Return the address of a recording's proposals, or of one of them."""
    return f"/proposals/{quote(slug)}" + (f"?open={quote(key)}" if key else "")


def known(library: Library, slug: str) -> tuple[Proposed, ...] | None:
    """Return the proposals of a recording, ranked; None where nobody has looked for any."""
    stamp = kept.stamp(library.archive.evidence_folder(slug))
    return _known(library.archive, slug, f"{library.version(slug)} {stamp}")


@lru_cache(maxsize=8)
def _known(archive: Archive, slug: str, _version: str) -> tuple[Proposed, ...] | None:
    every = proposed(archive, slug)
    return None if every is None else tuple(every)


def record_of(archive: Archive, slug: str, chosen: Proposed) -> TihaiRecord:
    """Return a proposal as the tihai that it would become."""
    found = chosen.proposal
    return TihaiRecord(
        chosen.key, found.palla_s, found.landing_s, chosen.tala, found.start, found.text, found.dam,
        LandingRule.WITHIN, found.target, _player(archive, slug, chosen), "proposed", kind=found.kind,
    )  # fmt: skip


def _player(archive: Archive, slug: str, chosen: Proposed) -> str:
    by = chosen.proposal.played_by
    lead = lead_of(archive.state(slug).recording)
    return {"lead": lead, "both": f"{lead} and tabla"}.get(by, by)


def _row(archive: Archive, slug: str, each: Proposed) -> dict[str, Any]:
    found = each.proposal
    return {
        "key": each.key,
        "status": each.status,
        "tihai": each.tihai,
        "at_s": found.start_s,
        "clock": format_clock(found.start_s, 1),
        "place": f"avartan {found.cycle}, {place(found.start)}",
        "lands": _lands_words(found),
        "landsClock": format_clock(found.landing_s, 1),
        "sure": percent(each.ranked),
        "heard": percent(found.confidence),
        "sureWords": sure_words(each.ranked),
        "signs": sure_signs(each.ranked),
        "kind": found.kind,
        "by": _player(archive, slug, each),
        "counts": ", ".join(
            [f"palla {spoken(found.palla)}", f"dam {spoken(found.dam)}" if found.dam else "no dam"]
            + ([f"the melody of the second palla {_moved(found.moved)}"] if found.moved else [])
        ),
        "text": found.text,
        "reason": words.unbroken(found.reason),
        "reading": words.unbroken(found.reading),
        "section": each.section,
    }


def _lands_words(found: Proposal) -> str:
    target = place(found.target)
    if found.aims_at == "mukhra":
        target = f"the mukhra, {target}"
    if found.aims_at == "matra":
        return f"ends on {target}, where the mukhra may begin"
    if not found.off:
        return f"lands on {target}"
    return f"misses {target}" if found.misses else f"lands beside {target}"


def percent(confidence: float) -> int:
    """Return a confidence in percent: never 0 or 100, for nothing that is heard is certain."""
    return min(max(round(100 * confidence), 1), 99)


def sure_words(confidence: float) -> str:
    """Say how sure a proposal is."""
    return next(said for least, said in SURE if confidence >= least)


def sure_signs(confidence: float) -> str:
    """Show how sure a proposal is, as one to five filled signs of five."""
    filled = len(SURE) - next(step for step, (least, _said) in enumerate(SURE) if confidence >= least)
    return "●" * filled + "○" * (len(SURE) - filled)


def _moved(semitones: int) -> str:
    count = abs(semitones)
    return f"{count} semitone{'' if count == 1 else 's'} {'higher' if semitones > 0 else 'lower'}"


def _learnt_words(decisions: int, *, used: bool) -> str:
    if used:
        return f"ranked after {decisions} decisions"
    if decisions:
        return f"ranked as heard; of {decisions} decision{'' if decisions == 1 else 's'} nothing is used yet"
    return "ranked as heard"


def _paper_lines(verdict: Verdict) -> list[str]:
    paper = verdict.paper
    if paper is None:
        return ["What is proposed cannot be summed: the draft of the palla has no length."]
    return [line for line in paper.lines if line != paper.sum] + [paper.sentence]


def _typed(record: TihaiRecord) -> dict[str, str]:
    """What counts the sum anew while the palla is being written (`dashboard.marking.counting`)."""
    first, second, third = (f"{each:.4f}" for each in record.palla_s)
    return {
        "first": first, "second": second, "third": third, "landing": f"{record.landing_s:.4f}",
        "start": spoken(record.start) if record.start is not None else "", "target": spoken(record.target),
        "rule": record.rule.value,
    }  # fmt: skip
