"""What of a recording waits for somebody, each with a link to the place.

Conventions: in a few words for the list (:func:`counted_words`, from the overview alone); step by step for the
recording's own page (:func:`steps_of`), the most useful first, at most :data:`MOST_STEPS` of a kind.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from urllib.parse import quote

from annotate.doubts import doubts
from annotate.overview import Overview
from annotate.records import Section, TihaiRecord
from annotate.verify import Verdict
from dashboard import words
from dashboard.heard import stamp_of
from dashboard.library import Library
from dashboard.proposals.shown import address, known, percent, sure_words
from theory.clock import format_clock

MOST_STEPS = 8
MOST_PROPOSED = 3
"""Proposals named here: they have a page of their own."""
LISTEN_AHEAD_S = 2.0


@dataclass(frozen=True)
class Step:
    """Something to do: what it is about, why, and the address of the place."""

    what: str
    why: str
    href: str


@dataclass(frozen=True)
class Steps:
    """What there is to do of one kind, and how to do it; ``more`` counts those that are not named, ``href`` leads to
    all of them where they have a page.
    """

    heading: str
    how: str
    steps: tuple[Step, ...]
    more: int
    href: str = ""


def counted_words(performance: Overview, waiting: int = 0) -> str:
    """Say in a few words what waits for somebody, with so many proposed tihais; empty where nothing does."""
    without_landing = performance.tihais - performance.rejected - performance.measured
    counts = (
        (waiting, "tihai proposed", "tihais proposed"),
        (performance.proposed, "tihai to confirm", "tihais to confirm"),
        (performance.sums_missing, "sum that misses", "sums that miss"),
        (without_landing, "tihai not measured", "tihais not measured"),
        (performance.sams_doubtful, "doubtful sam", "doubtful sams"),
    )
    return ", ".join(f"{count} {one if count == 1 else many}" for count, one, many in counts if count)


def steps_of(library: Library, slug: str) -> list[Steps]:
    """Return what there is to do in a recording, kind by kind; kinds of which there is nothing are left out.

    Raises
    ------
    annotate.errors.NoSuchRecording
    """
    state = library.archive.state(slug)
    verdicts = {each.tihai: each for each in library.verdicts(slug)}
    tihais = [each for each in state.tihais if each.status != "rejected"]
    proposed = [each for each in tihais if each.status == "proposed"]
    unmeasured = [each for each in tihais if verdicts[each.tihai].verdict == "unknown"]
    missing = [(each, verdicts[each.tihai]) for each in tihais if _sum_misses(verdicts[each.tihai])]
    kinds = [
        _proposed(library, slug),
        _kind(
            "Tihais to confirm",
            "Listen to each, then set its status to confirmed or rejected.",
            [_tihai(slug, each, _as_played(verdicts[each.tihai])) for each in proposed],
        ),
        _kind(
            "Sums that miss",
            "As written down the tihai does not reach the matra it aims at. Look for the slip; it may be meant.",
            [_tihai(slug, each, f"on paper: {words.on_paper(verdict)}") for each, verdict in missing],
        ),
        _kind(
            "Tihais that could not be measured",
            "There is no avartan where they land. Mark sams there.",
            [_tihai(slug, each, "no avartan at its landing") for each in unmeasured],
        ),
        _kind(
            "Doubtful sams",
            "Each stands for a row of them. Listen, and mark the sam where you hear it: those around it follow.",
            [
                Step(f"Sam at {format_clock(each.sam_s)}", each.why, cycles_address(slug, each.listen_s))
                for each in doubts(library.archive.grid(slug))
            ],
        ),
        _kind(
            "Sections to check",
            "They are as they were heard when the recording was taken in. Put their kind, tala and limits right.",
            [_section(slug, each) for each in state.sections if each.source == "ingest"],
        ),
    ]  # fmt: skip
    return [kind for kind in kinds if kind.steps]


def _proposed(library: Library, slug: str) -> Steps:
    """The tihais that were found, or looking for them."""
    if library.waiting(slug) is None:
        heard = bool(stamp_of(library.archive, slug).strip())
        look = Step("Look for tihais", "What is played three times and lands is proposed.", address(slug))
        return _kind("Tihais to be found", "Nobody has looked for tihais here yet.", [look] if heard else [])
    waiting = [each for each in known(library, slug) or () if each.status == "waiting"]
    steps = [
        Step(
            f"{each.proposal.kind} at {format_clock(each.proposal.start_s, 1)}",
            f"{sure_words(each.ranked)}, {percent(each.ranked)} %",
            address(slug, each.key),
        )
        for each in waiting[:MOST_PROPOSED]
    ]
    how = "Hear each, then accept or reject it by a key. The likeliest come first."
    return replace(_kind("Proposed tihais", how, steps), more=len(waiting) - len(steps), href=address(slug))


def cycles_address(slug: str, at_s: float) -> str:
    """Return the address of a recording's folded page, open at a time."""
    return f"/cycles/{quote(slug)}?at={max(at_s, 0.0):.3f}"


def _kind(heading: str, how: str, steps: list[Step]) -> Steps:
    return Steps(heading, how, tuple(steps[:MOST_STEPS]), max(len(steps) - MOST_STEPS, 0))


def _as_played(verdict: Verdict) -> str:
    if verdict.verdict == "unknown":
        return "not measured"
    return f"as played: {words.WORDS[verdict.verdict]} {words.amount_ms(verdict.landing_dev_ms)}".strip()


def _sum_misses(verdict: Verdict) -> bool:
    return verdict.paper is not None and not verdict.paper.lands


def _tihai(slug: str, record: TihaiRecord, why: str) -> Step:
    name = record.label or record.palla or record.tihai
    return Step(f"{name}, {format_clock(record.palla_s[0], 1)}", why, f"/tihais/{quote(slug)}/{quote(record.tihai)}")


def _section(slug: str, section: Section) -> Step:
    span = f"{format_clock(section.start_s, 0)} to {format_clock(section.end_s, 0)}"
    why = f"{span}, {words.tala_name(section.tala) or 'no tala'}"
    return Step(section.section, why, cycles_address(slug, section.start_s - LISTEN_AHEAD_S))
