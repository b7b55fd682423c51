"""What a taking in shows while it works."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from annotate.intake_stages import Step
from commands import showing_progress
from commands.showing_progress import Lines, RecordingBars, StageBars, shown, spoken_s


class Clock:
    """A clock that goes on when it is told to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now_s = 100.0
        monkeypatch.setattr(showing_progress.time, "monotonic", lambda: self.now_s)


def test_where_lines_cannot_be_written_over_a_line_tells_of_each_stage_and_of_long_ones_now_and_then(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clock, said = Clock(monkeypatch), io.StringIO()
    lines = Lines(Console(file=said), ["evening.flac"])
    lines.tell(0, Step("Listening", 1.0, 0.5, earlier=True))
    for second in range(41):
        clock.now_s = 100.0 + second
        lines.tell(0, Step("Following the cycle", min(second / 40, 0.999), 0.5 + second / 80))
    lines.tell(0, Step("Following the cycle", 1.0, 1.0))
    assert said.getvalue().splitlines() == [
        "evening.flac: Listening: done earlier",
        "evening.flac: Following the cycle: 38 %, 25 s left",
        "evening.flac: Following the cycle: 75 %, 10 s left",
        "evening.flac: Following the cycle: done in 40 s",
    ]


def test_at_a_terminal_every_stage_has_a_bar_with_what_became_of_it() -> None:
    screen = io.StringIO()
    console = Console(file=screen, force_terminal=True, width=100, color_system=None)
    with showing_progress._bars(console) as display:
        bars = StageBars(display, ["evening [live].flac", "morning.flac"])
        bars.tell(0, Step("Listening", 1.0, 0.5, earlier=True))
        bars.tell(0, Step("Following the cycle", 0.25, 0.6))
        display.refresh()
        assert [task.description.strip() for task in display.tasks] == ["Listening", "Following the cycle"]
        assert [task.percentage for task in display.tasks] == [100, 25]
        assert display.tasks[0].fields["note"] == "done earlier"
        bars.tell(1, Step("Listening", 0.1, 0.05))
        assert len(display.tasks) == 1  # the rows of the one before are gone
    text = screen.getvalue()
    assert "evening [live].flac" in text
    assert "done earlier" in text


def test_side_by_side_every_recording_has_one_bar_that_names_the_stage() -> None:
    console = Console(file=io.StringIO(), force_terminal=True, width=100)
    with showing_progress._bars(console) as display:
        bars = RecordingBars(display, ["evening.flac", "morning.flac"])
        bars.tell(1, Step("Listening", 0.5, 0.2))
        bars.tell(0, Step("Listening", 1.0, 0.4, earlier=True))
        bars.tell(1, Step("Following the cycle", 1.0, 1.0))
        bars.failed(0)
        assert [(task.description, task.fields["note"]) for task in display.tasks] == [
            ("morning.flac", "done"),
            ("evening.flac", "could not be taken in"),
        ]


def test_quiet_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    with shown(["evening.flac"], side_by_side=False, quiet=True) as display:
        display.say("a remark")
        display.tell(0, Step("Listening", 1.0, 0.5))
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("seconds", "words"), [(0.2, "0 s"), (59.4, "59 s"), (80.0, "1 min 20 s"), (3600, "60 min 0 s")]
)
def test_durations_are_said_in_minutes_and_seconds(seconds: float, words: str) -> None:
    assert spoken_s(seconds) == words
