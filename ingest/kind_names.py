"""Names of the kinds of sections, and the gats' names by laya.

The laya's names differ by school, as ``theory.tempo`` has them: at a laya of 90 a gat is madhya where each name is
twice the one before, and drut where madhya is one matra a second. "Ati-" is left off.
"""

from __future__ import annotations

from theory.errors import UnknownName
from theory.tempo import TempoSchool, tempo_schools

GATS = ("vilambit gat", "madhya gat", "drut gat")
WITH_TALA = (*GATS, "tabla solo")
KINDS = ("alap", "jor", "jhala", *GATS, "tabla solo", "talk", "tuning", "applause")
USUAL_SCHOOL = "doubling"


def gat_kind(laya_mpm: float, school: str = USUAL_SCHOOL) -> str:
    """Name a gat by its laya.

    Parameters
    ----------
    laya_mpm : float
        Matras a minute.
    school : str
        Key of a school in ``theory.tempo``; schools differ.

    Returns
    -------
    str
        One of `GATS`.

    Raises
    ------
    theory.errors.UnknownName
        No such school.
    theory.errors.TheoryError
        The laya is not above 0.
    """
    return f"{tempo_school(school).name_of(laya_mpm).rpartition('ati-')[2]} gat"


def tempo_school(key: str) -> TempoSchool:
    """Return a school of ``theory.tempo`` by its key.

    Raises
    ------
    theory.errors.UnknownName
        No such school; those that are known are named.
    """
    schools = {each.key: each for each in tempo_schools()}
    if key not in schools:
        raise UnknownName("school of tempo names", key, (), known=list(schools))
    return schools[key]
