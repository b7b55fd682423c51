"""How a dashboard is served: on which address, under which names, behind which proxy; and what that needs.

Conventions: a loopback address is reached from this machine alone. Everything else needs people who log in.
"""

from __future__ import annotations

import ipaddress
import re
import socket
from dataclasses import dataclass

from dashboard.errors import NotShareable

LOOPBACK = "127.0.0.1"
_NAME = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)(?:\.(?!-)[a-z0-9-]{1,63}(?<!-))*\.?")
_HOST = re.compile(r"(?P<host>\[[0-9a-f:.%]+\]|[^:\[\]]+)(?::(?P<port>\d{1,5}))?")


@dataclass(frozen=True)
class Sharing:
    """How a dashboard is served.

    Parameters
    ----------
    host : str
        The address to listen on.
    names : tuple of str
        The names under which people reach it, beside its addresses.
    proxy : str
        Address of the reverse proxy whose word on addresses, names and TLS is believed; empty where there is none.
    https : bool
        Whether people reach it by https only, which a proxy in front must do.
    largest_sent : int
        Bytes of the largest recording that may be sent from a browser.
    """

    host: str = LOOPBACK
    names: tuple[str, ...] = ()
    proxy: str = ""
    https: bool = False
    largest_sent: int = 4_000_000_000

    @property
    def beyond_this_machine(self) -> bool:
        """Whether others than people at this machine may reach it."""
        return not is_loopback(self.host) or bool(self.proxy or self.names)

    def is_ours(self, host: str) -> bool:
        """Tell whether a ``Host`` header names this dashboard.

        A page from elsewhere whose name was made to point here (DNS rebinding) comes with its own name, and is
        refused. Nobody can make an address point elsewhere, so any address is taken where we listen on more than
        loopback.
        """
        match = _HOST.fullmatch(host.strip().lower())
        if match is None:
            return False
        name = match["host"].strip("[]").removesuffix(".")
        if name in {each.lower().removesuffix(".") for each in self.names}:
            return True
        if is_loopback(name):
            return True
        return not is_loopback(self.host) and (_is_address(name) or name == socket.gethostname().lower())

    def check(self, *, anybody: bool) -> None:
        """Refuse to be served as asked where that would let strangers in.

        Parameters
        ----------
        anybody : bool
            Whether there is somebody who may log in.

        Raises
        ------
        NotShareable
            With what to do.
        """
        for name in self.names:
            if _NAME.fullmatch(name.lower()) is None or _is_address(name):
                raise NotShareable(f"A host name such as concerts.example.org was expected for --name, not {name!r}.")
        if self.proxy and not _is_address(self.proxy):
            raise NotShareable(
                f"The address of the proxy was expected for --behind-proxy (127.0.0.1 where it runs on this machine), "
                f"not {self.proxy!r}."
            )
        if self.proxy and not self.names:
            raise NotShareable(
                "Behind a proxy, say under which name people reach the dashboard: --name concerts.example.org."
            )
        if self.https and not self.proxy:
            raise NotShareable(
                "The dashboard itself speaks no TLS: put a reverse proxy that does in front, and name its address with "
                "--behind-proxy."
            )
        if self.beyond_this_machine and not anybody:
            place = self.host if not is_loopback(self.host) else ", ".join((self.proxy or self.host, *self.names))
            raise NotShareable(
                f"Served on {place} the dashboard can be reached by others, and nobody has a password yet. "
                "Add the people first: layakosh people add NAME --role annotator"
            )


def is_loopback(host: str) -> bool:
    """Tell whether an address is this machine's own, which nobody else reaches."""
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return False
    return True
