"""Lists of labels and WebVTT; WebVTT is read back by a reader that is not ours (webvtt-py)."""

from __future__ import annotations

import html
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from annotate.archive import Archive
from annotate.exchange.label_lists import MOMENT_MS, label_list, webvtt
from annotate.exchange.spans import Span, spans_of
from annotate.revisions import add
from layakosh import main
from tests.annotate.desk import SLUG, phrase, tihai

times = st.integers(0, 86_400_000_000).map(lambda ticks: ticks / 1e6)
labels = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=30)
spans = st.lists(st.builds(lambda a, b, c: Span(min(a, b), max(a, b), c), times, times, labels), max_size=5)


@given(spans)
def test_a_list_of_labels_holds_every_time_to_the_microsecond(wanted: list[Span]) -> None:
    rows = [line.split("\t") for line in label_list(wanted).split("\n")[:-1]]
    assert [Span(float(start), float(end), label) for start, end, label in rows] == wanted


@given(spans)
def test_another_reader_finds_every_cue_to_the_millisecond(wanted: list[Span]) -> None:
    reader = pytest.importorskip("webvtt")
    cues = list(reader.from_string(webvtt(wanted)))
    assert [html.unescape(cue.raw_text) for cue in cues] == [each.label for each in wanted]
    for cue, each in zip(cues, wanted, strict=True):
        assert cue.start_in_seconds == int(round(each.start_s * 1000) / 1000)
        assert cue.start.endswith(f".{round(each.start_s * 1000) % 1000:03d}")
        assert cue.end > cue.start or each.end_s - each.start_s < MOMENT_MS / 1000


def test_the_command_writes_every_row_once_and_says_what_is_left_out(archive: Archive, tmp_path: Path) -> None:
    archive.commit(SLUG, [add(tihai(label="a\tb\nc")), add(phrase())], "test", "two rows")
    file = tmp_path / "evening.txt"
    arguments = ["export", SLUG, str(file), "--as", "labels", "--archive", str(archive.path)]
    result = CliRunner().invoke(main, [*arguments, "--json"])
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["rows"] == len(spans_of(archive.state(SLUG), archive.grid(SLUG))) == 15
    written = file.read_text("utf-8")
    assert "18.000000\t26.000000\ttihai t01: S R G m P (a b c)\n" in written
    assert "20.000000\t22.000000\tphrase p01: R m P (mukhra)\n" in written
    assert "26.000000\t26.000000\tsam 3 (counted)\n" in written
    again = CliRunner().invoke(main, arguments)
    assert again.exit_code == 2
    assert "exists and was left as it is" in again.stderr
    assert file.read_text("utf-8") == written
