"""Serving the dashboard with a production server.

Conventions: 127.0.0.1 unless told otherwise. Threads are cheap here and paused players may each hold one for a
moment, so there are many. The server keeps the body of a request on its disk before anybody has looked at who sends
it, so no body may be long: recordings come in pieces (:mod:`dashboard.access.sending`).
"""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

from dashboard.access.sharing import Sharing

THREADS = 16
CONNECTIONS = 400
"""At once; a window keeps up to six, and an idle one is closed after two minutes."""
LONGEST_BODY = 16 << 20
"""Bytes of the longest body of a request."""


def serve(
    archive_path: str | Path,
    port: int = 8050,
    sharing: Sharing | None = None,
    ready: Callable[[], None] | None = None,
) -> None:
    """Serve an archive until interrupted.

    Parameters
    ----------
    archive_path : path
        An existing archive.
    port : int
        Port to listen on.
    sharing : Sharing, optional
        The address to listen on, and for whom; by default this machine alone.
    ready : callable, optional
        Called once the port is ours and pages can be asked for.

    Raises
    ------
    annotate.errors.NotAnArchive
        There is no archive.
    dashboard.errors.NotShareable
        Others could reach it, and nobody may log in.
    dashboard.errors.PortTaken
        The port cannot be had.
    """
    import waitress

    from dashboard.app import make_app
    from dashboard.memory import spare_memory
    from dashboard.warming import read_ahead_beside, warm_up_beside

    spare_memory()
    sharing = sharing or Sharing()
    app = make_app(archive_path, sharing)
    listening = _listen(sharing.host, port)
    read_ahead_beside(app.server.extensions["layakosh"])
    if ready is not None:
        ready()
    warm_up_beside()
    waitress.create_server(app.server, sockets=[listening], **_settings(sharing)).run()


def _listen(host: str, port: int) -> socket.socket:
    from dashboard.errors import PortTaken

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family, backlog=128)
    except OSError as error:
        raise PortTaken(host, port, os.strerror(error.errno) if error.errno else str(error)) from None


def _settings(sharing: Sharing) -> dict[str, Any]:
    settings: dict[str, Any] = {
        "threads": THREADS,
        "connection_limit": CONNECTIONS,
        "max_request_body_size": LONGEST_BODY,
        "ident": "layakosh",
        # they reach the gate, which refuses a proxy nobody asked for; nothing else reads them
        "clear_untrusted_proxy_headers": False,
    }
    if sharing.proxy:
        settings |= {
            "trusted_proxy": sharing.proxy,
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-host", "x-forwarded-proto"},
            "clear_untrusted_proxy_headers": True,
        }
    return settings
