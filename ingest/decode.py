"""From a file to blocks of samples, whatever the container, in bounded memory.

Two readers share the work, by what the file holds and never by its extension: libsndfile (WAV, FLAC and kin), and
FFmpeg through PyAV (MP3, OGG, M4A, MP4, video and whatever else it knows). libsndfile knows two of these as well, but
ends an OGG with the first of several streams in it; and since soundfile 0.14 asks for the position before every block
and libsndfile answers by seeking, which drops an MP3 decoder's bit reservoir, a stroke after silence can vanish at a
block's edge. Sample 0 is the first sample of the first sound stream; an encoder's priming is left out where the
container tells of it.

A file whose end is broken gives what can be decoded of it. What is missing in between becomes silence where the
container has a clock, so that what follows keeps its time.
"""

from __future__ import annotations

import os
from collections.abc import Generator, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ingest.errors import EmptyAudio, UnreadableAudio
from ingest.streams import Frames, Samples, at_rate

__all__ = ["WORK_RATE_HZ", "AudioInfo", "Samples", "ffmpeg_name", "frame_blocks", "mono_blocks", "probe"]

WORK_RATE_HZ = 22050
LONGEST_BLOCK = 1 << 22  # numbers in a block, all channels together: 16 MB
SLOWEST_HZ, FASTEST_HZ = 2000, 800_000  # sample rates beyond these come of a damaged header
LEFT_TO_FFMPEG = frozenset({"mp3", "mpeg"})
SNDFILE_STARTS = (b"RIFF", b"RIFX", b"RF64", b"riff", b"FORM", b"caff", b".snd", b"fLaC")
"""First bytes of what libsndfile is asked to read; on anything like MP3 it writes warnings of its own."""
WITHOUT_LENGTH = frozenset({"aac", "ac3", "mp3"})
"""Raw streams, whose length FFmpeg guesses from the first bits; by a quarter too little in a test."""
LONGEST_FRAMES = 1 << 50  # more are claimed where the length is not known
GAP_S = 0.05  # a jump of a container's clock that is longer is a gap, and none that is longer than
LONGEST_GAP_S = 600.0


@dataclass(frozen=True)
class AudioInfo:
    """What a sound file says of itself.

    Parameters
    ----------
    path : Path
        The file.
    duration_s : float
        Length of its (first) sound stream as declared; the decoded length may differ by a codec frame.
    rate_hz, channels : int
        As stored.
    container, codec : str
        As the reader names them, lower case: ``"wav"``, ``"flac"``, ``"mp3"``, ``"mov,mp4,m4a,3gp,3g2,mj2"``;
        ``"pcm_16"``, ``"aac"``.
    reader : str
        ``"sndfile"`` or ``"ffmpeg"``: which library decodes it.
    """

    path: Path
    duration_s: float
    rate_hz: int
    channels: int
    container: str
    codec: str
    reader: str


def probe(path: str | Path) -> AudioInfo:
    """Look at a file without decoding it.

    Raises
    ------
    UnreadableAudio
        No such file, a folder, no sound in it.
    EmptyAudio
        No sample in it.
    """
    path = _existing(path)
    info = _probe_sndfile(path)
    if info is None or info.container in LEFT_TO_FFMPEG:
        info = _probe_ffmpeg(path)
    if not SLOWEST_HZ <= info.rate_hz <= FASTEST_HZ or info.channels < 1:
        raise UnreadableAudio(path, f"its header is damaged: it tells of {info.rate_hz} samples a second.")
    if info.duration_s <= 0:
        raise EmptyAudio(path)
    return info


def frame_blocks(path: str | Path, block_s: float = 10.0) -> Generator[tuple[Frames, int]]:
    """Decode block by block, with the channels and the rate that are stored.

    Parameters
    ----------
    path : str or Path
    block_s : float
        Seconds decoded at a time, fewer where the channels are many; has no influence on the samples.

    Yields
    ------
    ndarray of float32, shape (n, channels)
        Consecutive stretches of the signal; ``n`` varies. What is not a number has become silence.
    int
        Sample rate in Hz.

    Raises
    ------
    UnreadableAudio, EmptyAudio
        See `probe`; also when nothing at all can be decoded.
    """
    info = probe(path)
    reader = _read_ffmpeg if info.reader == "ffmpeg" else _read_sndfile
    block = min(max(1, round(block_s * info.rate_hz)), LONGEST_BLOCK // info.channels)
    heard = 0
    with closing(reader(info.path, block)) as blocks:
        for frames, rate_hz in blocks:
            heard += len(frames)
            yield _numbers(frames), rate_hz
    if heard == 0:
        raise EmptyAudio(info.path)


def mono_blocks(path: str | Path, rate_hz: int = WORK_RATE_HZ, block_s: float = 10.0) -> Iterator[Samples]:
    """Decode, mix to mono (mean of the channels) and resample, block by block.

    Parameters
    ----------
    path : str or Path
    rate_hz : int
        Sample rate of what is yielded.
    block_s : float
        Seconds decoded at a time; has no influence on the samples.

    Yields
    ------
    ndarray of float32, shape (n,)
        Consecutive stretches of the signal; ``n`` varies.

    Raises
    ------
    UnreadableAudio, EmptyAudio
        See `frame_blocks`.
    """
    with closing(frame_blocks(path, block_s)) as stream:
        for frames in at_rate(stream, rate_hz, channels=1):
            yield frames[:, 0]


def _existing(path: str | Path) -> Path:
    path = Path(path)
    if path.is_dir():
        raise UnreadableAudio(path, "it is a folder; name the files in it.")
    if not path.exists():
        raise UnreadableAudio(path, "there is no such file.")
    if not path.is_file():
        raise UnreadableAudio(path, "it is no file but a device or a pipe; save the sound in a file first.")
    if not os.access(path, os.R_OK):
        raise UnreadableAudio(path, "you may not read it; ask its owner, or change its permissions.")
    if path.stat().st_size == 0:
        raise EmptyAudio(path)
    return path


def ffmpeg_name(path: Path) -> str:
    """A file's name as FFmpeg takes it: in ``Desh: alap.mp3`` it would look for the protocol ``Desh``."""
    return str(path.absolute())


def _start(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(12)


def _probe_sndfile(path: Path) -> AudioInfo | None:
    """None for what it cannot read, and for a file whose length was never written into it, as after a power cut."""
    import soundfile

    if not _start(path).startswith(SNDFILE_STARTS):
        return None
    try:
        info = soundfile.info(str(path))
    except (soundfile.SoundFileError, TypeError):  # TypeError: raw formats by extension, which need a rate
        return None
    if not 0 < info.frames < LONGEST_FRAMES:
        return None
    container, codec = info.format.lower(), info.subtype.lower()
    return AudioInfo(
        path, info.frames / info.samplerate, info.samplerate, info.channels, container, codec, reader="sndfile"
    )


def _probe_ffmpeg(path: Path) -> AudioInfo:
    import av

    try:
        with av.open(ffmpeg_name(path)) as container:
            if not container.streams.audio:
                raise UnreadableAudio(path, "there is no sound stream in it.")
            stream = container.streams.audio[0]
            context = stream.codec_context
            if context is None or not context.sample_rate:
                raise UnreadableAudio(path, "its sound is encrypted, damaged, or in a code that is not known here.")
            rate_hz, channels, name = context.sample_rate, context.channels, container.format.name
            duration_s = 0.0 if name in WITHOUT_LENGTH else _declared_s(container, stream)
            if not duration_s:  # add up the packets: a third of a second for an hour
                ticks = sum(packet.duration or 0 for packet in container.demux(stream) if packet.size)
                duration_s = float(ticks * stream.time_base)
            return AudioInfo(path, duration_s, rate_hz, channels, name, context.name, reader="ffmpeg")
    except (av.FFmpegError, OSError) as error:
        why = "its content is in no known sound format."
        if _start(path)[4:8] == b"ftyp":
            why = (
                "it is an M4A or MP4 file that breaks off before its table of contents; copy it again from its source."
            )
        raise UnreadableAudio(path, why) from error


def _declared_s(container: Any, stream: Any) -> float:
    """Length that a container declares; 0 when it does not."""
    if stream.duration is not None and stream.time_base is not None:
        return float(stream.duration * stream.time_base)
    return (container.duration or 0) / 1_000_000  # FFmpeg counts a container's length in microseconds


def _read_sndfile(path: Path, block: int) -> Generator[tuple[Frames, int]]:
    import soundfile

    with soundfile.SoundFile(str(path)) as sound:
        rate_hz = sound.samplerate
        done = 0
        try:
            while len(frames := sound.read(block, dtype="float32", always_2d=True)):
                yield frames, rate_hz
                done += len(frames)
            return
        except soundfile.SoundFileError:  # something is broken: FFmpeg finds its way past it
            pass
    for frames, _ in _read_ffmpeg(path, block):
        rest = frames[max(0, done) :]
        done -= len(frames)
        if len(rest):
            yield rest, rate_hz


def _read_ffmpeg(path: Path, block: int) -> Generator[tuple[Frames, int]]:
    import av

    with av.open(ffmpeg_name(path)) as container:
        held: list[Frames] = []
        held_frames = held_hz = 0
        for frames, rate_hz in _ffmpeg_pieces(container, container.streams.audio[0]):
            if held and (rate_hz != held_hz or frames.shape[1] != held[0].shape[1]):
                yield np.concatenate(held), held_hz
                held, held_frames = [], 0
            held.append(frames)
            held_frames, held_hz = held_frames + len(frames), rate_hz
            while held_frames >= block:
                joined = np.concatenate(held)
                yield joined[:block], rate_hz
                held, held_frames = [joined[block:]], held_frames - block
        if held_frames:
            yield np.concatenate(held), held_hz


def _ffmpeg_pieces(container: Any, stream: Any) -> Iterator[tuple[Frames, int]]:
    """Frames of a stream and their rate, with silence where the container's clock leaves a gap."""
    import av

    to_float: Any = None
    kind: tuple[Any, ...] = ()
    heard_s, first_s = 0.0, None
    for decoded in _ffmpeg_frames(container, stream):
        rate_hz = decoded.sample_rate
        if kind != (decoded.format.name, decoded.layout.name, rate_hz):  # it may change, as in a broadcast
            kind = (decoded.format.name, decoded.layout.name, rate_hz)
            to_float = av.AudioResampler(format="fltp", rate=rate_hz)
        pieces = [frame.to_ndarray().T for frame in to_float.resample(decoded)]
        if decoded.time is not None and pieces:
            first_s = decoded.time if first_s is None else first_s
            gap_s = decoded.time - first_s - heard_s
            if GAP_S < gap_s < LONGEST_GAP_S:
                pieces.insert(0, np.zeros((round(gap_s * rate_hz), pieces[0].shape[1]), np.float32))
        for piece in pieces:
            heard_s += len(piece) / rate_hz
            yield piece, rate_hz


def _ffmpeg_frames(container: Any, stream: Any) -> Iterator[Any]:
    """Frames of a stream; a damaged packet is passed over, a broken tail ends them."""
    import av

    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets)
        except (StopIteration, av.FFmpegError):
            return
        try:
            yield from packet.decode()
        except av.FFmpegError:
            continue


def _numbers(frames: Frames) -> Frames:
    """The frames, with silence for what is not a number."""
    if np.isfinite(frames.sum()):
        return frames
    return np.nan_to_num(frames, posinf=0.0, neginf=0.0)
