"""The archive's card, ``archive.toml``: what makes a folder an archive.

It says by which schema the archive is written, and by which school's names the laya of gats is called.
"""

from __future__ import annotations

import tomllib
from typing import Any

from annotate.errors import BadCard, NewerArchive, NotAnArchive, OutOfReach
from annotate.schema import SCHEMA_VERSION
from annotate.store.base import Store
from ingest.kind_names import USUAL_SCHOOL, tempo_school
from theory.errors import UnknownName
from theory.tempo import tempo_schools

CARD = "archive.toml"


def has_card(store: Store) -> bool:
    """Tell whether a store has a card; it is checked.

    Raises
    ------
    NotAnArchive
        The file of that name is another program's.
    NewerArchive
        The archive was written by a newer version.
    """
    try:
        content = store.read(CARD)
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OutOfReach:
        raise
    except OSError as error:
        raise NotAnArchive(f"{store.place} cannot be read: {error.strerror or error}.") from error
    check_card(content, store.place)
    return True


def write_card(store: Store, school: str) -> None:
    """Write the card of a new archive; one that somebody else has just written is left."""
    content = (
        "# A Layakosh archive. Annotations are in recordings/*/revisions; index/ and evidence/ can be made again.\n"
        f"schema = {SCHEMA_VERSION}\n"
        "# How gats are named by their laya. Schools differ; go by your own teacher.\n"
        f"# One of: {', '.join(school.key for school in tempo_schools())}\n"
        f'tempo_school = "{tempo_school(school or USUAL_SCHOOL).key}"\n'
    )
    try:
        store.create_exclusively(CARD, content.encode())
    except FileExistsError:
        has_card(store)


def school_of(store: Store) -> str:
    """Return the key of the school that the card names, else the usual one.

    Raises
    ------
    BadCard
        The card names a school that is not known.
    """
    key = _parsed(store.read(CARD)).get("tempo_school", USUAL_SCHOOL)
    try:
        return tempo_school(str(key)).key
    except UnknownName as unknown:
        raise BadCard(f"{store.place}/{CARD}, tempo_school: {unknown}") from None


def _parsed(content: bytes) -> dict[str, Any]:
    return tomllib.loads(content.decode("utf-8"))


def check_card(content: bytes, place: str) -> None:
    """Refuse what is not the card of an archive that this version reads.

    Raises
    ------
    NotAnArchive
        The content is another program's, or damaged.
    NewerArchive
        It was written by a newer version.
    """
    card = f"{place}/{CARD}"
    try:
        schema = _parsed(content)["schema"]
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, KeyError, RecursionError):
        schema = None
    if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
        raise NotAnArchive(
            f"{card} is not the card of an archive: a line 'schema = {SCHEMA_VERSION}' was expected. "
            "It was left as it is."
        )
    if schema > SCHEMA_VERSION:
        raise NewerArchive(
            f"{place} was written by a newer version (schema {schema}, this one reads up to {SCHEMA_VERSION}). "
            "Install that version to open it."
        )
