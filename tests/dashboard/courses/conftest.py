from __future__ import annotations

from pathlib import Path

import pytest

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.shelf import Courses
from tests.dashboard.conftest import SLUG

KEY = "landing-on-sam"
FIRST, SECOND = "00000001", "00000002"
NOTES = "# Sing\n\n**Clap** it.\n\n| laya | times |\n|--|--:|\n| slow | 3 |"
COURSE = Course(
    "Landing on sam",
    "second year",
    "CC BY 4.0",
    (
        Chapter(FIRST, "The palla", NOTES, (f"{SLUG}/t01", "raga:desh")),
        Chapter(SECOND, "The dam", "", (f"{SLUG}/p01",)),
    ),
)


@pytest.fixture
def course_place(own_archive: Path) -> Path:
    """An archive for a test that writes, with a course in it that Bela made."""
    Courses(Archive.open(own_archive)).keep(COURSE, who="Bela")
    return own_archive
