"""What a server does beforehand: the search for matras is loaded, in the one form in which recordings use it."""

from __future__ import annotations

import subprocess
import sys

_COUNT = """
import warnings
warnings.simplefilter("error")
from dashboard.warming import warm_up_beside
warm_up_beside().join()
from ingest.viterbi import _forward
print(len(_forward.signatures))
"""


def test_warming_up_loads_the_compiled_search_in_a_thread_of_its_own() -> None:
    run = subprocess.run([sys.executable, "-c", _COUNT], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    assert run.stdout.split() == ["1"]
