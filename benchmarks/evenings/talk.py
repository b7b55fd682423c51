"""Talk: an announcer, or two people by turns, spoken by Debian's ``espeak-ng``. The words are ours.

It is a machine's voice: it has the pace, the pauses and the spectrum of speech, not its life.
"""

from __future__ import annotations

import io
import shutil
import subprocess

import numpy as np
import soundfile
import soxr

from sample_data.tools import RATE_HZ, Signal, place

PROGRAM = "espeak-ng"
VOICES = ("en-gb", "en-us", "en-029", "hi", "bn", "en-gb-scotland")
VARIANTS = ("m1", "m3", "m7", "f2", "f4", "m5")
LATIN = (
    "Good evening, and thank you all for coming out tonight.",
    "We shall begin with a slow composition, and after that something quicker.",
    "On the tabla this evening, a friend of many years.",
    "This raga belongs to the early night.",
    "Can you hear the drone? A little more, please.",
    "My teacher used to say that the rest is as long as the note.",
    "The next piece is in ten beats.",
    "Please switch off your telephones.",
    "Is that better? Yes. Thank you.",
    "We heard it first as children, on the old radio at home.",
)
DEVANAGARI = (
    "नमस्कार, आप सब का स्वागत है।",
    "अब हम आपको एक छोटी सी रचना सुनाएंगे।",
    "थोड़ी आवाज़ बढ़ा दीजिए।",
    "यह बंदिश हमने अपने गुरुजी से सीखी थी।",
)
BENGALI = ("শুভ সন্ধ্যা, সবাইকে ধন্যবাদ।", "এবার একটি দ্রুত গৎ শোনাব।")


def require_speech() -> None:
    """End with the command that brings the speaker, when it is missing."""
    if shutil.which(PROGRAM) is None:
        raise SystemExit(f"The bench evenings need a speaking voice. On Debian: apt-get install {PROGRAM}")


def talk(seconds: float, rng: np.random.Generator) -> Signal:
    """Some seconds of talk, mono, shape (n,), RMS of the speech about 0.1; silent between the sentences."""
    out = np.zeros(int(seconds * RATE_HZ), np.float32)
    speakers = [_speaker(rng) for _ in range(1 if rng.random() < 0.6 else 2)]
    at_s = 0.0
    while True:
        voice, pitch, pace = speakers[int(rng.integers(len(speakers)))]
        texts = DEVANAGARI if voice.startswith("hi") else BENGALI if voice.startswith("bn") else LATIN
        said = _said(str(rng.choice(texts)), voice, pitch, pace)
        if at_s + said.size / RATE_HZ > seconds:
            if at_s == 0:
                place(out, said[: out.size], 0.0)
            return out
        place(out, said, at_s)
        at_s += said.size / RATE_HZ + float(rng.uniform(0.15, 1.1))


def _speaker(rng: np.random.Generator) -> tuple[str, int, int]:
    voice = f"{rng.choice(VOICES)}+{rng.choice(VARIANTS)}"
    return voice, int(rng.integers(25, 75)), int(rng.integers(125, 185))


def _said(text: str, voice: str, pitch: int, pace: int) -> Signal:
    command = [PROGRAM, "-v", voice, "-p", str(pitch), "-s", str(pace), "--stdout", text]
    spoken = subprocess.run(command, capture_output=True, check=True).stdout
    sound, rate_hz = soundfile.read(io.BytesIO(_with_length(spoken)), dtype="float32")
    sound = soxr.resample(sound, rate_hz, RATE_HZ)
    sounding = np.abs(sound) > 0.02 * np.abs(sound).max()
    first, last = np.flatnonzero(sounding)[[0, -1]]
    sound = sound[first : last + RATE_HZ // 50]
    rms = float(np.sqrt(np.mean(sound.astype(np.float64) ** 2)))
    scaled: Signal = (sound * np.float32(0.1 / rms)).astype(np.float32)
    return scaled


def _with_length(wave: bytes) -> bytes:
    """A WAV that was streamed, its two lengths filled in."""
    data = wave.index(b"data")
    sizes = ((4, len(wave) - 8), (data + 4, len(wave) - data - 8))
    out = bytearray(wave)
    for at, size in sizes:
        out[at : at + 4] = size.to_bytes(4, "little")
    return bytes(out)
