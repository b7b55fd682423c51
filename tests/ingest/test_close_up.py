"""A close-up shows the samples themselves, wherever it is taken."""

import numpy as np
import pytest

from ingest.close_up import close_up
from ingest.listen import Sound, listen
from tests.ingest.sounds import tone, write

LENGTH_S = 8.0


@pytest.fixture(scope="module")
def copy(tmp_path_factory):
    """A swelling tone with a click at 5 s, as a listening copy."""
    folder = tmp_path_factory.mktemp("close_up")
    sound = 0.5 * tone(200.0, LENGTH_S) * np.linspace(0.1, 1.0, round(LENGTH_S * 22050))
    sound[5 * 22050 : 5 * 22050 + 20] = 0.95
    return listen(Sound((write(folder / "sound.wav", sound),)), folder).copy


@pytest.mark.parametrize("start_s", [0.0, 2.345, 7.9])
def test_it_shows_the_stretch_that_was_asked_for(copy, start_s):
    shown = close_up(copy, start_s, start_s + 0.1, 400)
    assert len(shown.low) == len(shown.high) == len(shown.edge_s) - 1
    assert 200 <= len(shown.low) <= 400
    assert shown.edge_s[0] == pytest.approx(start_s, abs=1 / 48000)
    assert shown.edge_s[-1] == pytest.approx(start_s + 0.1, abs=1 / 48000)
    expected = 0.5 * (0.1 + 0.9 * (start_s + 0.05) / LENGTH_S)
    # the swell within the stretch, and the codec
    assert shown.high.max() == pytest.approx(expected, rel=0.1)
    assert shown.low.min() == pytest.approx(-expected, rel=0.1)


def test_a_click_is_where_it_was_struck(copy):
    shown = close_up(copy, 4.98, 5.02, 2000)
    # the tone reaches 0.33 there; a sample of the copy and one of the source
    assert shown.edge_s[np.flatnonzero(shown.high > 0.5)[0]] == pytest.approx(5.0, abs=1 / 48000 + 1 / 22050)


def test_what_lies_outside_the_sound_is_left_out(copy):
    assert close_up(copy, -1.0, 0.1, 100).edge_s[0] == 0
    assert close_up(copy, 7.95, 9.0, 100).edge_s[-1] == pytest.approx(LENGTH_S, abs=0.001)
    assert len(close_up(copy, 20.0, 21.0, 100).low) == 0


def test_without_a_readable_sound_there_is_none(tmp_path):
    (tmp_path / "text.opus").write_text("Dha")
    assert close_up(tmp_path / "text.opus", 0, 1, 10) is None
    assert close_up(tmp_path / "missing.opus", 0, 1, 10) is None
