"""Passwords: which are accepted, how they are kept, how one is held against what is kept.

Kept is scrypt's result with a salt of its own and the cost in front (``scrypt:32768:8:3$salt$digits``), so that the
cost can be raised later. Checking one takes 32 MB for about a third of a second; no more than two are at a time.

References
    C. Percival, S. Josefsson, "The scrypt Password-Based Key Derivation Function", RFC 7914 (2016).
    OWASP Cheat Sheet Series, "Password Storage": N=2^15, r=8, p=3 is among the costs it names for scrypt (from memory).
    NIST SP 800-63B, section 5.1.1: length and not composition; no less than 64 characters allowed (from memory).
"""

from __future__ import annotations

import secrets
import threading
import unicodedata
from functools import cache

from werkzeug.security import check_password_hash, generate_password_hash

from dashboard.access.names import same_name
from dashboard.errors import BadPerson, TooManyAtOnce

SHORTEST, LONGEST = 10, 256
PATIENCE_S = 3.0
"""How long a check may wait for others: it holds a thread of the server meanwhile."""
_METHOD = "scrypt:32768:8:3"
_at_once = threading.BoundedSemaphore(2)


def kept(password: str, name: str) -> str:
    """Return what is kept of a password.

    Raises
    ------
    BadPerson
        It is too short, too long, too easily guessed for the person of that name, or has signs that no key types.
    """
    text = _composed(password)
    if not SHORTEST <= len(text) <= LONGEST:
        raise BadPerson(
            f"A password of {SHORTEST} to {LONGEST} characters was expected, and this one has {len(text)}. "
            "Several words in a row are easy to keep in mind."
        )
    if any(unicodedata.category(sign) in ("Cc", "Cs") for sign in text):
        raise BadPerson("A password of signs that can be typed was expected; this one has a control sign in it.")
    if len(set(text)) < 4 or same_name(text) in (same_name(name), same_name(name * 2)):
        raise BadPerson("This password is guessed at once. Take several words that have nothing to do with the name.")
    return generate_password_hash(text, _METHOD)


def is_right(password: str, kept_password: str | None) -> bool:
    """Tell whether a password is the one that is kept; it takes as long where none is.

    Raises
    ------
    TooManyAtOnce
        Others are being checked; this one waited for :data:`PATIENCE_S`.

    Parameters
    ----------
    password : str
        As typed.
    kept_password : str or None
        What :func:`kept` gave; None for somebody who is not known.
    """
    if not _at_once.acquire(timeout=PATIENCE_S):
        raise TooManyAtOnce("Many people are logging in at this moment. Try again in a few seconds.")
    try:
        right = check_password_hash(kept_password or _nobodys(), _composed(password)[: LONGEST + 1])
    finally:
        _at_once.release()
    return right and kept_password is not None


@cache
def _nobodys() -> str:
    return generate_password_hash(secrets.token_hex(16), _METHOD)


def _composed(password: str) -> str:
    """One text for all ways in which keyboards write the same letters."""
    return unicodedata.normalize("NFKC", password)
