"""Errors of the dashboard.

::

    LayakoshError
    └── DashboardError
        └── PortTaken     the address cannot be listened on
"""

from __future__ import annotations

from theory.errors import LayakoshError


class DashboardError(LayakoshError):
    """Root of the errors of this package."""


class PortTaken(DashboardError):
    """Something else listens there already, or the address is not this machine's."""

    def __init__(self, host: str, port: int, why: str) -> None:
        super().__init__(f"The dashboard cannot listen on {host}:{port} ({why}). Choose another port with --port.")
