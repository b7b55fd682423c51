"""The list of performances as plain values for its templates.

Conventions: everything comes from the overviews, which are counted from the index; no recording is opened but those
with proposed tihais that stand on the page, some :data:`MOST_SHOWN` at most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from annotate.overview import Overview
from dashboard import words
from dashboard.concerts.asked import Asked
from dashboard.concerts.next_steps import counted_words
from theory.ragas import all_ragas
from theory.talas import all_talas

MOST_SHOWN = 60
"""Performances on a page: with some hundreds a browser takes a second to draw it."""
MOST_NAMED = 300
"""Musicians suggested at most."""
COLUMNS = (
    ("title", "Performance", False),
    ("raga", "Raga", False),
    ("tala", "Tala", False),
    ("date", "Date", False),
    ("musicians", "Musicians", False),
    ("length", "Length", True),
    ("marked", "Annotated", False),
    ("land", "Tihais", False),
    ("next", "What next", False),
)
_DOWN_FIRST = {"date", "length", "marked", "land", "next"}


def list_of(
    performances: Sequence[Overview], asked: Asked, waiting: Callable[[str], int | None] = lambda _slug: None
) -> dict[str, Any]:
    """Return what the list shows: the rows of a page, its headings, and where the rest is.

    ``waiting`` tells how many proposed tihais of a performance wait; asked of those that stand on the page.
    """
    fitting = [each for each in performances if _fits(each, asked)]
    fitting.sort(key=lambda each: each.recording.title.casefold())
    fitting.sort(key=_ORDERS[asked.sort], reverse=asked.down)
    first = min(asked.first, max(len(fitting) - 1, 0))
    shown = fitting[first : first + MOST_SHOWN]
    before, after = max(first - MOST_SHOWN, 0), first + MOST_SHOWN
    return {
        "rows": [_row(each, waiting(each.recording.slug) or 0) for each in shown],
        "columns": [_column(asked, *column) for column in COLUMNS],
        "caption": _caption(first, len(shown), len(fitting), len(performances)),
        "before": asked.address(first=before) if first else "",
        "after": asked.address(first=after) if after < len(fitting) else "",
    }


def choices_of(performances: Sequence[Overview], asked: Asked) -> dict[str, Any]:
    """Return what there is to choose from: ragas, talas, years and musicians, each with how many performances."""
    ragas = Counter(each.recording.raga for each in performances if each.recording.raga)
    talas = Counter(tala for each in performances for tala in talas_of(each))
    years = Counter(str(each.recording.performed_on.year) for each in performances if each.recording.performed_on)
    musicians = Counter(name for each in performances for _role, name in each.recording.musicians)
    return {
        "asked": asked,
        "ragas": sorted(((key, words.raga_name(key), count) for key, count in ragas.items()), key=lambda row: row[1]),
        "talas": sorted(((key, words.tala_name(key), count) for key, count in talas.items()), key=lambda row: row[1]),
        "years": sorted(years.items(), reverse=True),
        "musicians": sorted(name for name, _count in musicians.most_common(MOST_NAMED)),
    }


def suggestions() -> dict[str, Any]:
    """Return the ragas and talas of the tables, to be suggested where one is typed."""
    return {
        "known_ragas": [raga.name for raga in all_ragas()],
        "known_talas": [(tala.key, tala.name, tala.matras) for tala in all_talas()],
    }


def talas_of(performance: Overview) -> list[str]:
    """Return the keys of a performance's talas, those of its sections first."""
    return list(dict.fromkeys(filter(None, [*performance.talas, performance.recording.tala])))


def needs_work(performance: Overview) -> bool:
    """Tell whether something of a performance waits for somebody."""
    return _waiting(performance) > 0


def _waiting(each: Overview) -> int:
    without_landing = each.tihais - each.rejected - each.measured
    return each.sams_doubtful + each.proposed + each.sums_missing + without_landing


def _fits(each: Overview, asked: Asked) -> bool:
    recording = each.recording
    return (
        (not asked.raga or recording.raga == asked.raga)
        and (not asked.tala or asked.tala in talas_of(each))
        and (not asked.year or str(recording.performed_on or "").startswith(asked.year))
        and (not asked.musician or _holds([name for _role, name in recording.musicians], [asked.musician]))
        and (not asked.needs or needs_work(each))
        and (not asked.find or _holds(_texts(each), asked.find.split()))
    )


def _holds(texts: Iterable[str], wanted: Iterable[str]) -> bool:
    whole = " ".join(texts).casefold()
    return all(word.casefold() in whole for word in wanted)


def _texts(each: Overview) -> list[str]:
    recording = each.recording
    return [
        recording.title, recording.slug, recording.venue, recording.lead, recording.notes, recording.raga,
        words.raga_name(recording.raga), words.musicians(recording), str(recording.performed_on or ""),
        *talas_of(each), *map(words.tala_name, talas_of(each)),
    ]  # fmt: skip


def _share(part: int, whole: int) -> float:
    return part / whole if whole else 0.0


_ORDERS: dict[str, Callable[[Overview], Any]] = {
    "title": lambda each: each.recording.title.casefold(),
    "raga": lambda each: words.raga_name(each.recording.raga).casefold(),
    "tala": lambda each: [words.tala_name(tala).casefold() for tala in talas_of(each)],
    "date": lambda each: str(each.recording.performed_on or ""),
    "musicians": lambda each: words.musicians(each.recording).casefold(),
    "length": lambda each: each.recording.duration_s or 0.0,
    "marked": lambda each: _share(each.sams_marked, each.sams),
    "land": lambda each: (_share(each.landing, each.measured), each.measured),
    "next": _waiting,
}


def _column(asked: Asked, key: str, heading: str, number: bool) -> dict[str, Any]:
    here = key == asked.sort
    down = not asked.down if here else key in _DOWN_FIRST
    return {
        "heading": heading,
        "number": number,
        "href": asked.address(sort=key, down=down),
        "order": ("descending" if asked.down else "ascending") if here else "",
    }


def _row(each: Overview, waiting: int) -> dict[str, Any]:
    recording, count = each.recording, each.tihais - each.rejected
    return {
        "slug": recording.slug,
        "title": recording.title or recording.slug,
        "venue": recording.venue,
        "raga": words.raga_name(recording.raga),
        "talas": ", ".join(map(words.tala_name, talas_of(each))),
        "date": words.day(recording.performed_on),
        "musicians": words.musicians(recording),
        "length": words.length(recording.duration_s),
        "sams": f"{each.sams_marked} of {each.sams}" if each.sams else "",
        "phrases": each.phrases,
        "tihais": count,
        "landing": f"{each.landing} of {each.measured}" if each.measured else "",
        "next": counted_words(each, waiting),
    }


def _caption(first: int, shown: int, fitting: int, there: int) -> str:
    performances = f"performance{'' if fitting == 1 else 's'}"
    of = f" of {there:,}" if fitting < there else ""
    which = f"; {first + 1} to {first + shown} are shown" if shown < fitting else ""
    return f"{fitting:,}{of} {performances}{which}"
