"""An object store to test with: moto's server (S3 protocol) as a process of its own on this machine.

It was looked at that it honours ``If-None-Match: *`` (see ``test_stores.py``): without that two writers would both win.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager

BUCKET = "institute"


@contextmanager
def objects_server() -> Iterator[str]:
    """Start the server with an empty bucket; gives its endpoint."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    endpoint = f"http://127.0.0.1:{port}"
    server = subprocess.Popen(
        [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        for _ in range(300):
            try:
                urllib.request.urlopen(urllib.request.Request(f"{endpoint}/{BUCKET}", method="PUT")).close()
                break
            except OSError:
                time.sleep(0.1)
                assert server.poll() is None, "the server ended"
        yield endpoint
    finally:
        server.kill()
        server.wait()


def environment(endpoint: str) -> dict[str, str]:
    """Variables by which a client finds the server."""
    return {
        "AWS_ENDPOINT_URL": endpoint,
        "AWS_ACCESS_KEY_ID": "test",
        "AWS_SECRET_ACCESS_KEY": "test",
        "AWS_REGION": "us-east-1",
    }
