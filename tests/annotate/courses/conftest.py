from __future__ import annotations

import pytest

from annotate.archive import Archive
from annotate.courses.course import Chapter, Course
from annotate.courses.shelf import Courses
from annotate.revisions import add
from tests.annotate.desk import SLUG, phrase, tihai

FIRST, SECOND, THIRD = "00000001", "00000002", "00000003"
COURSE = Course(
    "Landing on sam",
    "second year",
    "CC BY 4.0",
    (
        Chapter(FIRST, "The palla", "Sing it first.", (f"{SLUG}/t01", f"{SLUG}/p01")),
        Chapter(SECOND, "The dam", "Clap **through** the gap.", ("raga:desh",)),
        Chapter(THIRD, "All of it"),
    ),
)
"""Three chapters with pieces of the archive of :mod:`tests.annotate.desk`."""


@pytest.fixture
def archive(archive: Archive) -> Archive:
    """The small archive with a tihai and a phrase in it."""
    archive.commit(SLUG, [add(tihai()), add(phrase())], "asha", "written down")
    return archive


@pytest.fixture
def courses(archive: Archive) -> Courses:
    """The shelf with the course on it, as ``landing-on-sam``."""
    courses = Courses(archive)
    courses.keep(COURSE, who="asha")
    return courses
