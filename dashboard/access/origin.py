"""Whether a request comes from a page of ours: nobody else's page may make a browser edit, or read along.

References
    W3C, "Fetch Metadata Request Headers"; OWASP Cheat Sheet Series, "Cross-Site Request Forgery Prevention".
"""

from __future__ import annotations

import flask

_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


def changes_something(request: flask.Request) -> bool:
    """Whether a request is of a method that may change something."""
    return request.method not in _SAFE


def comes_from_us(request: flask.Request, *, https: bool, said: bool) -> bool:
    """Tell whether a request may have been made by a page of ours, or by typing its address.

    Parameters
    ----------
    request : flask.Request
    https : bool
        Whether our pages are reached by https only.
    said : bool
        Whether it has to say where it comes from. Every browser does with what changes something; a program without
        cookies need not.
    """
    site = request.headers.get("Sec-Fetch-Site")
    if not changes_something(request):
        # another's page may link to ours, but not take sound or data out of it
        return site not in ("cross-site", "same-site") or request.headers.get("Sec-Fetch-Mode") == "navigate"
    if site is not None:
        return site == "same-origin"
    origin = request.headers.get("Origin")
    if origin is None:
        return not said
    scheme = "https" if https else request.scheme
    return origin == f"{scheme}://{request.host}"
