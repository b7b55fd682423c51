"""What a test needs of the machine: skip with the reason and the command that brings it; in CI fail instead."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

AXE_CORE = Path(__file__).parent.parent / "node_modules" / "axe-core" / "axe.min.js"
HTML_VALIDATE = AXE_CORE.parent.parent / "html-validate" / "bin" / "html-validate.mjs"
TABLA_SAMPLES = Path("/usr/share/sonic-pi/samples")


def _miss(reason: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"In CI nothing is skipped: {reason}")
    pytest.skip(reason)


def chromium() -> str:
    """Return the path of the browser."""
    path = shutil.which("chromium")
    if path is None:
        _miss("needs a browser: apt-get install chromium")
    return str(path)


def node() -> str:
    """Return the path of node."""
    path = shutil.which("node")
    if path is None:
        _miss("needs node: apt-get install nodejs")
    return str(path)


def axe_core() -> Path:
    """Return the file that checks pages for accessibility."""
    if not AXE_CORE.exists():
        _miss("needs axe-core: npm install --no-save --ignore-scripts axe-core@4.14.1 html-validate@9.5.5")
    return AXE_CORE


def html_validate() -> list[str]:
    """Return the command that tells whether HTML is valid."""
    if not HTML_VALIDATE.exists():
        _miss("needs html-validate: npm install --no-save --ignore-scripts axe-core@4.14.1 html-validate@9.5.5")
    return [node(), str(HTML_VALIDATE)]


def noto_devanagari() -> Path:
    """Return the font of Devanagari letters as published (SIL OFL)."""
    path = Path("/usr/share/fonts/truetype/noto/NotoSansDevanagari-Regular.ttf")
    if not path.exists():
        _miss("needs the published font: apt-get install fonts-noto-core")
    return path


def tabla_samples() -> Path:
    """Return the folder of the recorded tabla strokes (CC0)."""
    if not (TABLA_SAMPLES / "tabla_na.flac").exists():
        _miss("needs recorded tabla strokes: apt-get install sonic-pi-samples")
    return TABLA_SAMPLES
