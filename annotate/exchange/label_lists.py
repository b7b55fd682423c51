"""Start-end-label lists and WebVTT, written from spans.

* A label list: UTF-8, one line a row, ``start TAB end TAB label``, seconds with six decimals; no header.
* WebVTT: W3C, WebVTT: The Web Video Text Tracks Format, sections 4.1 to 4.3. Milliseconds; a cue must end after it
  starts, so a sam lasts :data:`MOMENT_MS`. ``&``, ``<`` and ``>`` are escaped, so that no ``-->`` can stand in a text.
"""

from __future__ import annotations

from collections.abc import Iterable

from annotate.exchange.spans import Span

MOMENT_MS = 200
"""How long a cue for a moment is shown: long enough to be seen, shorter than a quick avartan."""


def label_list(spans: Iterable[Span]) -> str:
    """Return spans as a tab-separated list."""
    return "".join(f"{each.start_s:.6f}\t{each.end_s:.6f}\t{each.label}\n" for each in spans)


def webvtt(spans: Iterable[Span]) -> str:
    """Return spans as WebVTT."""
    cues = ["WEBVTT\n"]
    for each in spans:
        start_ms, end_ms = round(each.start_s * 1000), round(each.end_s * 1000)
        if end_ms <= start_ms:
            end_ms = start_ms + MOMENT_MS
        cues.append(f"{_clock(start_ms)} --> {_clock(end_ms)}\n{_escaped(each.label)}\n")
    return "\n".join(cues)


def _clock(time_ms: int) -> str:
    seconds, milliseconds = divmod(time_ms, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{milliseconds:03d}"


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
