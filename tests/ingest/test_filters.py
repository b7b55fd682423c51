"""Weights of bands and pitch classes are those of librosa, which is not imported for them."""

import subprocess
import sys

import numpy as np
import pytest

from ingest.filters import mel_bands, pitch_classes


@pytest.mark.parametrize(
    ("window", "bands", "low_hz", "high_hz"), [(1024, 32, 300.0, 8000.0), (2048, 128, 0.0, 11025.0), (4096, 8, 50, 900)]
)
def test_mel_bands_are_those_of_librosa(window, bands, low_hz, high_hz):
    from librosa.filters import mel

    expected = mel(sr=22050, n_fft=window, n_mels=bands, fmin=low_hz, fmax=high_hz, norm=None, dtype=np.float32)
    np.testing.assert_allclose(mel_bands(22050, window, bands, low_hz, high_hz), expected, rtol=1e-5, atol=1e-6)


@pytest.mark.parametrize(("rate_hz", "window"), [(22050, 8192), (44100, 4096)])
def test_pitch_classes_are_those_of_librosa(rate_hz, window):
    from librosa.filters import chroma

    expected = chroma(sr=rate_hz, n_fft=window, tuning=0.0, dtype=np.float32)
    np.testing.assert_allclose(pitch_classes(rate_hz, window), expected, rtol=1e-5, atol=1e-7)


def test_measuring_a_sound_does_not_import_librosa():
    told = (
        "import sys, numpy as np; from ingest.measure import measure_blocks;"
        "measure_blocks([np.zeros(30000, np.float32)]); sys.exit('librosa' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", told], check=False).returncode == 0
