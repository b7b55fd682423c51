"""WebVTT from elsewhere: its cues as labels.

W3C, WebVTT: The Web Video Text Tracks Format, section 4: blocks between blank lines; those that begin with ``NOTE``,
``STYLE`` or ``REGION`` are no cues. Of a cue its times and its text are taken; settings, voices and styles are passed
over, and lines of text are joined. Our own reader, since a complaint has to name the line.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from annotate.errors import BadTable
from annotate.exchange.spans import Span
from annotate.exchange.spans_in import Found, Read, rows_of
from annotate.text_in import MOST_ROWS, fault_of, lines_of, read_text

WITHIN_S = 0.001
"""Times are written to the millisecond."""

_CLOCK = r"(?:(\d{2,4}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_TIMING = re.compile(rf"\s*{_CLOCK}\s*-->\s*{_CLOCK}(?:\s.*)?")
_TAG = re.compile(r"<[^<>]*>")
_NO_CUE = re.compile(r"(NOTE|STYLE|REGION)(\s|$)")


def read_webvtt(path: Path, table: str | None = None) -> Read:
    """Read WebVTT; for ``table`` see :func:`annotate.exchange.spans_in.rows_of`.

    Raises
    ------
    BadTable
        Names file and line.
    """
    lines = lines_of(read_text(path))
    if not re.match(r"WEBVTT(\s|$)", lines[0]):
        raise BadTable(path.name, 1, None, "The file is not WebVTT: it begins with WEBVTT and then a blank line.")
    return rows_of(path.name, _found(path.name, lines), table, WITHIN_S)


def _found(file: str, lines: list[str]) -> Iterator[Found]:
    for filled, block in groupby(enumerate(lines[1:], start=2), key=lambda each: bool(each[1])):
        cue = list(block)
        if not filled or _NO_CUE.match(cue[0][1]):
            continue
        if "-->" not in cue[0][1]:  # the cue's name; before the first blank line, the file's own
            if cue[0][0] == 2 and not any("-->" in line for _, line in cue):
                continue
            cue = cue[1:]
        if not cue:
            continue
        yield _cue(file, cue)


def _cue(file: str, cue: list[tuple[int, str]]) -> Found:
    number, line = cue[0]
    if number > MOST_ROWS * 4:
        raise BadTable(file, number, None, f"The file has more than {MOST_ROWS * 4} lines. Divide it.")
    timing = _TIMING.fullmatch(line)
    if timing is None:
        raise BadTable(file, number, None, "Expected the times of a cue: 00:00:01.000 --> 00:00:02.500")
    start_s, end_s = _seconds(timing.groups()[:4]), _seconds(timing.groups()[4:])
    if end_s <= start_s:
        raise BadTable(file, number, None, "The cue ends before it starts.")
    label = " ".join(html.unescape(_TAG.sub("", text)) for _, text in cue[1:]).strip()
    if fault := fault_of(label):
        raise BadTable(file, number, None, fault)
    return Found(Span(start_s, end_s, label), number)


def _seconds(parts: tuple[str | None, ...]) -> float:
    hours, minutes, seconds, milliseconds = (int(part or 0) for part in parts)
    return (((hours * 60) + minutes) * 60_000 + seconds * 1000 + milliseconds) / 1000
