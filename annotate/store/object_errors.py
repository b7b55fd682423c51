"""The errors of an object store's library in words that say what to do."""

from __future__ import annotations

import os
import re

from annotate.errors import OutOfReach

_STATUS = re.compile(r"status code: (\d{3})")
_CODE = re.compile(r"<Code>(\w+)</Code>")
_TOO_MANY = {"429", "503"}
_METADATA_SERVICE = "169.254."
"""The address at which a machine in a cloud asks for a key; the library turns to it when no key is given."""


def in_words(place: str, name: str, error: BaseException) -> OutOfReach:
    """Return the error that a user sees.

    Parameters
    ----------
    place : str
        The store, as ``s3://bucket/prefix``.
    name : str
        What was asked for; empty for a list.
    error : BaseException
        Of the library ``obstore``.
    """
    said = (str(error).splitlines() or [type(error).__name__])[0]
    status, code = _found(_STATUS, said), _found(_CODE, str(error))
    told = f"{status} {code}".strip()
    asked = name or "a list of files"
    if _METADATA_SERVICE in said or "credential" in said.lower():
        return OutOfReach(
            f"{place} needs a key and none was found. Set AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY (and AWS_REGION)."
        )
    if status in ("401", "403"):
        return OutOfReach(
            f"{place} refuses access to {asked} ({told}). Look at AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, and at "
            "what this key may do with the bucket."
        )
    if code == "NoSuchBucket":
        bucket = place.removeprefix("s3://").partition("/")[0]
        return OutOfReach(f"There is no bucket '{bucket}' at {_endpoint()}. Make it, or correct the name.")
    if status in _TOO_MANY:
        return OutOfReach(
            f"{place} asks for fewer requests ({told}), also after several tries. Wait a minute, then do it again."
        )
    if status:
        return OutOfReach(f"{place} could not give or take {asked} ({told}). Do it again later, or ask who keeps it.")
    return OutOfReach(
        f"{place} could not be reached: no answer from {_endpoint()}. Look at the network and at AWS_ENDPOINT_URL, "
        "then do it again."
    )


def _found(pattern: re.Pattern[str], text: str) -> str:
    match = pattern.search(text)
    return match[1] if match else ""


def _endpoint() -> str:
    return os.environ.get("AWS_ENDPOINT_URL_S3") or os.environ.get("AWS_ENDPOINT_URL") or "the store's usual address"
