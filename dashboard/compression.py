"""Compressing what the server answers: pages, data, scripts and styles; never sound.

Conventions: by content type; what is not named here, sound above all, goes out as it is, in ranges and as a stream.
Files of ours are read whole before they are compressed (the longest has some 20 kB), since a compressed stream would
leave the file open when a browser goes away.
"""

from __future__ import annotations

import flask
import flask_compress

COMPRESSED = (
    "text/html",
    "text/css",
    "text/javascript",
    "application/javascript",
    "application/json",
    "image/svg+xml",
)


def compress_answers(server: flask.Flask) -> None:
    """Let a server compress its answers for the browsers that ask for it."""
    server.config["COMPRESS_MIMETYPES"] = list(COMPRESSED)
    server.config["COMPRESS_STREAMS"] = False
    flask_compress.Compress(server)
    server.after_request(_whole)  # handlers run in the opposite order: this one before the compression


def _whole(response: flask.Response) -> flask.Response:
    if response.is_streamed and response.status_code == 200 and response.mimetype in COMPRESSED:
        response.direct_passthrough = False
        stream = response.response
        response.set_data(b"".join(response.iter_encoded()))
        if hasattr(stream, "close"):
            stream.close()
    return response
