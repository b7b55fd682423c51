"""The JavaScript modules have tests of their own, run by node; this runs them with the others."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tests import needs

HERE = Path(__file__).parent


@pytest.mark.node
def test_the_javascript_modules_pass_their_own_tests() -> None:
    run = subprocess.run(
        [needs.node(), "--test", *sorted(map(str, (HERE / "js").glob("*.test.mjs")))],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stdout[-4000:] + run.stderr


def test_only_the_modules_for_the_window_and_the_starter_touch_it() -> None:
    assets = HERE.parents[1] / "dashboard" / "assets"
    pure = [path for path in assets.rglob("*.mjs") if "window" not in path.parent.parts]
    touching = {
        path.name
        for path in pure
        if any(word in path.read_text() for word in ("document.", "window.", "addEventListener"))
    }
    assert len(pure) > 5
    assert touching == set()
