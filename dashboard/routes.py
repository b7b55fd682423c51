"""Which page an address means.

Conventions: a page module has a function from the library and what the address names to a :class:`Page`. An address
that names nothing gets a page too, one that says so and where to go.
"""

from __future__ import annotations

from urllib.parse import parse_qs, quote, unquote

from annotate.errors import NoSuchRecording, NoSuchTihai
from annotate.shelves.errors import NoSuchThing
from dashboard.library import Library
from dashboard.pages import (
    agreement,
    alike,
    compose,
    concerts,
    courses,
    cycles,
    glossary,
    instances,
    learnt,
    missing,
    phrases,
    practice,
    practice_sound,
    proposals,
    ragas,
    side_by_side,
    tihai,
    tihais,
)
from dashboard.pages.page import Page
from theory.errors import LayakoshError, UnknownName

NAVIGATION = (
    ("Concerts", "/"),
    ("Tihais", "/tihais"),
    ("Phrases", "/phrases"),
    ("Ragas", "/ragas"),
    ("Compose", "/compose"),
    ("Practice", "/practice"),
)

OF_ALL = ("tihais", "phrases", "ragas", "instances", "side-by-side")
"""Pages that read tables of the whole archive; they are made one at a time."""


def page_at(library: Library, pathname: str, search: str) -> Page:
    """Return the page of an address.

    Parameters
    ----------
    library : Library
    pathname : str
        ``/``, ``/add``, ``/withdrawn``, ``/concerts/<slug>``, ``/courses``, ``/courses/<key>``, ``/cycles/<slug>``,
        ``/tihais``, ``/tihais/<slug>/<tihai>``, ``/proposals/<slug>``, ``/learnt``, ``/phrases``, ``/ragas``,
        ``/ragas/<raga>``, ``/instances``, ``/like``, ``/like/<slug>``, ``/side-by-side``, ``/agreement/<slug>``,
        ``/compose``, ``/practice``, ``/practice/clap``, ``/practice/sound/<slug>/<row>``, ``/words``.
    search : str
        What follows the ``?``, with it.
    """
    wanted = {key: values[-1] for key, values in parse_qs(search.removeprefix("?")).items()}
    parts = [unquote(part) for part in pathname.split("/") if part]
    if parts and parts[0] in OF_ALL:
        with library.reading_tables:
            return _page(library, pathname, parts, wanted)
    return _page(library, pathname, parts, wanted)


def _page(library: Library, pathname: str, parts: list[str], wanted: dict[str, str]) -> Page:
    try:
        match parts:
            case []:
                return concerts.page(library, wanted)
            case ["concerts", slug]:
                return concerts.details(library, slug)
            case ["add"]:
                return concerts.adding()
            case ["withdrawn"]:
                return concerts.withdrawn(library)
            case ["courses"]:
                return courses.page(library)
            case ["courses", key]:
                return courses.course(library, key)
            case ["cycles", slug]:
                return cycles.page(library, slug, wanted)
            case ["proposals", slug]:
                return proposals.page(library, slug, wanted)
            case ["learnt"]:
                return learnt.page(library)
            case ["tihais"]:
                return tihais.page(library, wanted)
            case ["tihais", slug, key]:
                return tihai.page(library, slug, key)
            case ["phrases"]:
                return phrases.page(library, wanted)
            case ["ragas"]:
                return ragas.index(library)
            case ["ragas", raga]:
                return ragas.page(library, raga, wanted)
            case ["instances"]:
                return instances.page(library, wanted)
            case ["like"]:
                return alike.page(library, "", wanted)
            case ["like", slug]:
                return alike.page(library, slug, wanted)
            case ["agreement", slug]:
                return agreement.page(library, slug, wanted)
            case ["side-by-side"]:
                return side_by_side.page(library, wanted)
            case ["words"]:
                return glossary.page()
            case ["compose"]:
                return compose.page(wanted)
            case ["practice"]:
                return practice.page()
            case ["practice", "sound", slug, key]:
                return practice_sound.page(library, slug, key, wanted)
            case ["practice", "clap"]:
                return practice.clapping()
    except (NoSuchRecording, NoSuchTihai, NoSuchThing, UnknownName) as error:
        return _missing(error, parts)
    except LayakoshError as error:
        return missing.page(str(error), title="This cannot be shown")
    return missing.page(f"There is no page at {pathname}.")


def _missing(error: NoSuchRecording | NoSuchTihai | NoSuchThing | UnknownName, parts: list[str]) -> Page:
    """Say that there is none of that name; the nearest names lead to where the address would have."""
    nearest = getattr(error, "nearest", ())
    if not nearest or len(parts) < 2:
        return missing.page(str(error))
    what = parts[0] if parts[0] != "tihais" or isinstance(error, NoSuchTihai) else "cycles"
    before = parts[1:-1] if isinstance(error, NoSuchTihai) else []
    near = [(name, "/" + "/".join(map(quote, [what, *before, name]))) for name in nearest]
    return missing.page(str(error).partition(" Did you mean")[0], near=near)
