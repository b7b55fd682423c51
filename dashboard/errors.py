"""Errors of the dashboard.

::

    LayakoshError
    └── DashboardError
        ├── PortTaken          the address cannot be listened on
        ├── NotShareable       to be served to others without what that needs
        ├── BadRequest         a page asked for what cannot be understood
        └── AccessError
            ├── BadPerson      a name, role or password that cannot be
            ├── NoSuchPerson   nobody of that name may log in
            ├── TooManyAtOnce  more logins than can be checked at a time
        ├── BadPeopleFile  the file of people or the key beside it: damaged, or open to others
            ├── MayNotEdit     a reader's edit
            └── SendingRefused a recording sent from the browser: too large, no room, no sound
"""

from __future__ import annotations

from theory.errors import LayakoshError


class DashboardError(LayakoshError):
    """Root of the errors of this package."""


class PortTaken(DashboardError):
    """Something else listens there already, or the address is not this machine's."""

    def __init__(self, host: str, port: int, why: str) -> None:
        super().__init__(f"The dashboard cannot listen on {host}:{port} ({why}). Choose another port with --port.")


class NotShareable(DashboardError):
    """The dashboard was to be served beyond this machine without what that needs."""


class BadRequest(DashboardError):
    """A page asked for something that cannot be understood; it may be an old one."""


class AccessError(DashboardError):
    """Root of the errors of people and what they may do."""


class BadPerson(AccessError):
    """A name, a role or a password that cannot be."""


class NoSuchPerson(AccessError):
    """Nobody of that name may log in."""


class TooManyAtOnce(AccessError):
    """More people log in at once than can be checked."""


class BadPeopleFile(AccessError):
    """The file of people, or the key beside it, is damaged or open to other users of the machine."""


class MayNotEdit(AccessError):
    """An edit by somebody who may only look and listen. Nothing was written."""


class SendingRefused(AccessError):
    """A recording sent from the browser is not taken.

    Parameters
    ----------
    message : str
        What was expected, what came, what to do.
    status : int
        The HTTP status that says the same.
    """

    def __init__(self, message: str, status: int) -> None:
        super().__init__(message)
        self.status = status
