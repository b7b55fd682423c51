"""Serving the dashboard with a production server.

Conventions: 127.0.0.1 unless told otherwise. Threads are cheap here and paused players may each hold one for a
moment, so there are many.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from pathlib import Path

THREADS = 16


def serve(
    archive_path: str | Path, host: str = "127.0.0.1", port: int = 8050, ready: Callable[[], None] | None = None
) -> None:
    """Serve an archive until interrupted.

    Parameters
    ----------
    archive_path : path
        An existing archive.
    host : str
        Address to listen on.
    port : int
        Port to listen on.
    ready : callable, optional
        Called once the port is ours and pages can be asked for.

    Raises
    ------
    annotate.errors.NotAnArchive
        There is no archive.
    dashboard.errors.PortTaken
        The port cannot be had.
    """
    import waitress

    from dashboard.app import make_app
    from dashboard.errors import PortTaken

    app = make_app(archive_path)
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listening = socket.create_server((host, port), family=family, backlog=128)
    except OSError as error:
        raise PortTaken(host, port, os.strerror(error.errno) if error.errno else str(error)) from None
    if ready is not None:
        ready()
    waitress.create_server(app.server, sockets=[listening], threads=THREADS, ident="layakosh").run()
