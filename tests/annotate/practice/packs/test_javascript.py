"""What the page's player reckons has tests of its own, run by node; this runs them with the others."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tests import needs

HERE = Path(__file__).parent
PAGE = HERE.parents[3] / "annotate" / "practice" / "packs" / "page"


@pytest.mark.node
def test_what_the_player_reckons_passes_its_own_tests() -> None:
    run = subprocess.run(
        [needs.node(), "--test", *sorted(map(str, (HERE / "js").glob("*.test.mjs")))],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert run.returncode == 0, run.stdout[-4000:] + run.stderr


def test_what_is_reckoned_does_not_touch_the_page() -> None:
    text = (PAGE / "reckoning.js").read_text("utf-8")
    assert not any(word in text for word in ("document.", "window.", "addEventListener"))
    assert "document." in (PAGE / "player.js").read_text("utf-8")


def test_no_script_is_a_module_since_none_loads_from_a_disk() -> None:
    for path in PAGE.glob("*.js"):
        text = path.read_text("utf-8")
        assert not any(line.startswith(("import ", "export ")) for line in text.splitlines()), path.name
    assert 'type="module"' not in (PAGE / "index.html.jinja").read_text("utf-8")
