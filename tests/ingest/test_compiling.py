"""Functions compiled when they are first called."""

from __future__ import annotations

import subprocess
import sys

import numpy as np

from ingest.compiling import compiled


def test_a_function_gives_the_same_compiled_and_keeps_its_name() -> None:
    def total(values: np.ndarray) -> float:
        """Sum of the squares."""
        out = 0.0
        for each in values:
            out += each * each
        return out

    values = np.arange(5.0)
    quick = compiled(fastmath=True)(total)
    assert quick(values) == total(values) == 30.0
    assert quick.__doc__ == "Sum of the squares."


def test_the_dashboard_starts_without_the_compiler() -> None:
    script = "import sys, dashboard.app; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], check=False, timeout=120).returncode == 0
