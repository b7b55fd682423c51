"""What all tests share: short property tests, and the one browser of a run.

Property tests here are short, but the machine that runs them may be busy: no example is timed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from tests import needs

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--mute-audio",
]

settings.register_profile("quick", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("quick")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The browser of all tests: a process can hold one such connection only."""
    from playwright.sync_api import sync_playwright

    executable = needs.chromium()
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=executable, args=ARGUMENTS)
        yield running
        running.close()
