"""Accepting and rejecting a proposal, told in a sentence."""

from __future__ import annotations

import re

from annotate.archive import Archive
from annotate.proposals.deciding import Decision, accept, reject
from dashboard.marking.shown import WHO
from theory.clock import format_clock

_COMMAND = re.compile(r"[:,]?(?: or,? [^.:]*:)?\s*layakosh [^\n]*?(?=\.\s|\.?$)", re.MULTILINE)


def accepted(archive: Archive, slug: str, key: str, palla: str) -> tuple[Decision, str]:
    """Write a proposal down as a tihai, with the palla as somebody wrote it (empty: as drafted).

    Raises
    ------
    annotate.proposals.errors.NoSuchProposal, annotate.proposals.errors.CannotDecide
    theory.errors.NotationError
    dashboard.errors.MayNotEdit
    """
    done = accept(archive, slug, key, WHO, palla=palla)
    return done, f"Accepted: tihai {done.tihai.tihai}, which lands at {format_clock(done.tihai.landing_s, 1)}."


def rejected(archive: Archive, slug: str, key: str) -> tuple[Decision, str]:
    """Write down that a proposal is none, so that it is not proposed again.

    Raises
    ------
    annotate.proposals.errors.NoSuchProposal, annotate.proposals.errors.CannotDecide
    dashboard.errors.MayNotEdit
    """
    done = reject(archive, slug, key, WHO)
    return done, f"Rejected: the one that lands at {format_clock(done.tihai.landing_s, 1)}. It is not proposed again."


def without_commands(message: str) -> str:
    """Leave the commands out of a message: on a page there are buttons instead."""
    return _COMMAND.sub("", message).replace("..", ".").strip()
