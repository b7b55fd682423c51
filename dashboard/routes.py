"""Which page an address means.

Conventions: a page module has a function from the library and what the address names to a :class:`Page`. An address
that names nothing gets a page too, one that says so and where to go.
"""

from __future__ import annotations

from urllib.parse import parse_qs, unquote

from annotate.errors import NoSuchRecording, NoSuchTihai
from dashboard.library import Library
from dashboard.pages import compose, concerts, cycles, missing, phrases, tihai, tihais
from dashboard.pages.page import Page
from theory.errors import LayakoshError

NAVIGATION = (("Concerts", "/"), ("Tihais", "/tihais"), ("Phrases", "/phrases"), ("Compose", "/compose"))


def page_at(library: Library, pathname: str, search: str) -> Page:
    """Return the page of an address.

    Parameters
    ----------
    library : Library
    pathname : str
        ``/``, ``/cycles/<slug>``, ``/tihais``, ``/tihais/<slug>/<tihai>``, ``/phrases``, ``/compose``.
    search : str
        What follows the ``?``, with it.
    """
    wanted = {key: values[-1] for key, values in parse_qs(search.removeprefix("?")).items()}
    parts = [unquote(part) for part in pathname.split("/") if part]
    try:
        match parts:
            case []:
                return concerts.page(library, wanted)
            case ["cycles", slug]:
                return cycles.page(library, slug, wanted)
            case ["tihais"]:
                return tihais.page(library, wanted)
            case ["tihais", slug, key]:
                return tihai.page(library, slug, key)
            case ["phrases"]:
                return phrases.page(library, wanted)
            case ["compose"]:
                return compose.page(wanted)
    except (NoSuchRecording, NoSuchTihai) as error:
        return missing.page(str(error))
    except LayakoshError as error:
        return missing.page(str(error), title="This cannot be shown")
    return missing.page(f"There is no page at {pathname}.")
