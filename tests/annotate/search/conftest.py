"""An archive of three performances by invented musicians, to search in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from annotate.archive import Archive
from annotate.records import Recording, Section
from annotate.revisions import add, change
from tests.annotate.desk import SLUG, at, phrase, tihai
from theory.tihai import LandingRule


@pytest.fixture
def season(archive: Archive) -> Archive:
    """Evening (Desh, teental) has t01 to t04 and p01 to p04, noon (Bhupali) and dawn (a raga of its own) a few more."""
    evening = replace(archive.state(SLUG).recording, performed_on=date(2019, 5, 4))
    rows = [
        tihai("t01", played_by="Āshā Rao, mandolin"),
        tihai("t02", cycle=4, dev_s=0.2, palla="S R G m", dam=Fraction(2), rule=LandingRule.AFTER),
        tihai("t03", cycle=6, palla="Dha Ti Ta Ka Dha", played_by="Devkant", kind="bol tihai"),
        tihai("t04", cycle=8, palla="S' R' G' m' P'", dam=Fraction(3, 2), status="rejected"),
        phrase("p01", at(2, 1), at(2, 5), "R m P n D P"),
        phrase("p02", at(3, 16.95), at(4, 4), "R' m' P'"),
        phrase("p03", at(5, 9), at(5, 12), "M M P"),
        replace(phrase("p04", 1, 4, "S R .n S"), role="alap"),
    ]
    archive.commit(SLUG, [change(evening), *(add(row) for row in rows)], "a", "")
    noon = [
        Recording("noon", "Noon", date(2021, 1, 2), raga="bhupali", tala="teental", duration_s=60.0),
        Section("gat", "gat", 10.0, 50.0, "teental"),
        tihai("t01", palla="S R G P D"),
        tihai("t02", palla="", dam=None, start=None),
        phrase("p01", 12, 14, "S R G P"),
        phrase("p02", 15, 17, "G P D S'"),
    ]
    archive.commit("noon", [add(row) for row in noon], "a", "")
    dawn = [Recording("dawn", "Dawn", raga="Moonrise of ours"), phrase("p01", 1, 2, "S R G P")]
    archive.commit("dawn", [add(row) for row in dawn], "a", "")
    return archive
