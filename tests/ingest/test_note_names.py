"""Sa as a person names it."""

import pytest

from ingest.errors import BadSa
from ingest.note_names import hz_of


@pytest.mark.parametrize(
    ("text", "hz"),
    # ISO 16:1975 sets A4 = 440 Hz; the others are its equal-tempered neighbours, computed
    [
        ("A4", 440.0),
        ("A", 440.0),
        ("D", 293.6648),
        ("C#3", 138.5913),
        ("Bb3", 233.0819),
        ("b", 493.8833),
        ("277", 277.0),
    ],
)
def test_sa_may_be_a_note_name_or_a_frequency(text: str, hz: float) -> None:
    assert hz_of(text) == pytest.approx(hz, rel=1e-6, abs=0)


def test_note_names_agree_with_librosa() -> None:
    import librosa

    for name in ("C2", "F#3", "Gb4", "B5"):
        assert hz_of(name) == pytest.approx(float(librosa.note_to_hz(name)), rel=1e-9, abs=0)


@pytest.mark.parametrize("text", ["H", "", "D##", "sa", "12", "nan", "99999"])
def test_what_is_neither_is_refused(text: str) -> None:
    with pytest.raises(BadSa, match="Sa"):
        hz_of(text)
