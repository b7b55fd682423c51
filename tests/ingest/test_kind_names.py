"""A gat's name by its laya, in each school's words."""

import pytest

from ingest.kind_names import GATS, KINDS, gat_kind
from theory.errors import TheoryError, UnknownName
from theory.tempo import tempo_schools


@pytest.mark.parametrize(
    ("laya_mpm", "school", "kind"),
    [
        (12, "doubling", "vilambit gat"),
        (56, "doubling", "vilambit gat"),
        (58, "doubling", "madhya gat"),
        (90, "doubling", "madhya gat"),
        (90, "handbook", "drut gat"),
        (120, "doubling", "drut gat"),
        (120, "research", "madhya gat"),
        (700, "doubling", "drut gat"),
    ],
)
def test_schools_differ_in_what_they_call_a_laya(laya_mpm, school, kind):
    assert gat_kind(laya_mpm, school) == kind


def test_every_school_names_every_laya_by_one_of_three_names():
    for school in tempo_schools():
        assert {gat_kind(laya_mpm, school.key) for laya_mpm in range(5, 800)} == set(GATS)
    assert set(GATS) < set(KINDS)


def test_an_unknown_school_is_refused_with_those_that_are_known():
    with pytest.raises(UnknownName, match="doubling, handbook"):
        gat_kind(60, "nobody's")


def test_a_laya_of_nothing_is_refused():
    with pytest.raises(TheoryError):
        gat_kind(0)
