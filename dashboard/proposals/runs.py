"""Finding tihais beside the server, one recording after the other, with how far it is.

Conventions: what is found is kept in the archive by whoever finds it, so a run that was cut short loses nothing but its
time, and is not gone on with after a restart. A failure is told until the recording is looked at again.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, replace
from typing import Any

from annotate.beside import Beside
from annotate.proposals.aside import propose_aside
from theory.errors import LayakoshError

LISTEN_S = 0.3


@dataclass(frozen=True)
class Run:
    """A run of the finder: what it was asked, the share done (None while it waits its turn), and why it failed."""

    anew: bool
    mukhra: int | None
    share: float | None = None
    failed: str = ""

    def told(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {"share": self.share, "failed": self.failed}


class Runs:
    """The runs of an archive; may be used from several threads.

    Parameters
    ----------
    place : str
        Where the archive is.
    """

    def __init__(self, place: str) -> None:
        self._place = place
        self._lock = threading.Lock()
        self._runs: OrderedDict[str, Run] = OrderedDict()
        self._thread: threading.Thread | None = None

    def of(self, slug: str) -> Run | None:
        """Return the run of a recording that is under way or failed last."""
        with self._lock:
            return self._runs.get(slug)

    def begin(self, slug: str, *, anew: bool = False, mukhra: int | None = None) -> None:
        """Look for the tihais of a recording; one that is looked at already is not looked at twice."""
        with self._lock:
            known = self._runs.get(slug)
            if known is not None and not known.failed:
                return
            self._runs[slug] = Run(anew, mukhra)
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name="finding tihais", daemon=True)
                self._thread.start()

    def _work(self) -> None:
        while True:
            with self._lock:
                slug = next((slug for slug, run in self._runs.items() if not run.failed), None)
                if slug is None:
                    self._thread = None
                    return
                run = self._runs[slug] = replace(self._runs[slug], share=0.0)
            failed = self._find(slug, run)
            with self._lock:
                if failed:
                    self._runs[slug] = replace(run, failed=failed)
                else:
                    del self._runs[slug]

    def _find(self, slug: str, run: Run) -> str:
        """Find the tihais of a recording; return why it could not be done, empty when it was."""
        try:
            beside = Beside(propose_aside, self._place, slug, run.anew, run.mukhra)
            try:
                while not beside.ended:
                    for share in beside.heard(wait_s=LISTEN_S):
                        with self._lock:
                            self._runs[slug] = replace(run, share=round(share, 3))
                beside.result()
            finally:
                beside.stop()
        except LayakoshError as error:
            return str(error)
        except OSError as error:
            return f"It could not be done: {error.strerror or 'the system refused it'}."
        return ""
