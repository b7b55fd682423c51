"""What every answer says to the browser: where code, styles and sound may come from, and who may frame it or keep it.

Scripts come from this server, or are Dash's own starter whose digest is named; none of ours stands in a page. Style
sheets may also stand in a page, since Dash's components bring theirs so, but not in an element's attribute: markup of
ours has none, and what is set from code counts as code. Images may be written into an address, as charts do. The
headers are the same for everybody, so that a fault shows on one's own machine as well.

References
    W3C, "Content Security Policy Level 3"; WHATWG, "Fetch", section on Cross-Origin-Resource-Policy.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import flask

_ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), autoplay=(self)",
}


def policy(script_hashes: Sequence[str]) -> str:
    """Return the Content-Security-Policy.

    Parameters
    ----------
    script_hashes : sequence of str
        Of the inline scripts that Dash writes into its page, each quoted: ``"'sha256-...'"``.
    """
    rules = {
        "default-src": ["'self'"],
        "script-src": ["'self'", *script_hashes],
        "style-src-elem": ["'self'", "'unsafe-inline'"],
        "style-src-attr": ["'none'"],
        "img-src": ["'self'", "data:"],
        "media-src": ["'self'"],
        "connect-src": ["'self'"],
        "worker-src": ["'self'"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
    return "; ".join(" ".join((name, *sources)) for name, sources in rules.items())


def send_headers(server: flask.Flask, script_hashes: Callable[[], Sequence[str]]) -> None:
    """Give every answer of a server the headers.

    Parameters
    ----------
    script_hashes : callable
        Called once, when the first answer is given and all callbacks are there.
    """
    made: list[str] = []

    @server.after_request
    def add(response: flask.Response) -> flask.Response:
        if not made:
            made.append(policy(script_hashes()))
        response.headers.setdefault("Content-Security-Policy", made[0])  # a practice sheet has a stricter one
        for name, value in _ALWAYS.items():
            response.headers[name] = value
        if "Cache-Control" not in response.headers:
            response.headers["Cache-Control"] = "private, no-cache"
        return response
