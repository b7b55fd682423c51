"""Proposes in an archive, in a process of its own, and says when it is about to write: ``proposer ARCHIVE``."""

from __future__ import annotations

import sys
from typing import Any

from annotate.archive import Archive
from annotate.proposals import kept
from annotate.proposals.proposing import propose
from ingest.finding import find
from tests.annotate.desk import SLUG
from tests.annotate.proposals.plain_judge import PlainJudge

if __name__ == "__main__":
    find.judge = PlainJudge  # type: ignore[assignment]
    save = kept.save

    def telling(*arguments: Any) -> None:
        print("writing", flush=True)
        save(*arguments)

    kept.save = telling
    propose(Archive.open(sys.argv[1]), SLUG, anew=True)
