"""Proposed tihais in the dashboard: heard, accepted or rejected by a key.

::

    shown      a recording's proposals, and one of them with its rows, as plain values
    runs       finding them beside the server, with how far it is
    deciding   accepting, rejecting, taking back
    routes     the requests

The page's shell is `dashboard.pages.proposals`; in the browser ``assets/proposals.mjs`` and ``window/proposals*.mjs``.
"""
