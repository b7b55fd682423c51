"""The listening copy: what the archive keeps of a sound file, small and playable in a browser.

Compact sources (MP3, OGG, M4A, FLAC) are kept as they are, byte for byte; uncompressed ones become FLAC, which loses
nothing; of a video its sound is taken out, without encoding it again where its codec allows.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

from ingest.decode import AudioInfo

_SUFFIX_OF_CODEC = {"aac": ".m4a", "alac": ".m4a", "mp3": ".mp3", "opus": ".ogg", "vorbis": ".ogg", "flac": ".flac"}
"""Codecs that are carried over from a video as they are, and the container each goes into."""

_FLOATING = ("float", "double")
_DEEP = ("pcm_24", "pcm_32", *_FLOATING)
BLOCK_FRAMES = 1 << 18
MOST_FLAC_CHANNELS = 8


def keep_copy(info: AudioInfo, folder: Path, name: str) -> Path:
    """Write the listening copy of a sound file and return its path.

    Parameters
    ----------
    info : AudioInfo
        From :func:`ingest.decode.probe`.
    folder : Path
        An existing folder.
    name : str
        File name without the extension.
    """
    if info.reader == "sndfile" and info.container not in ("ogg", "flac", "mp3", "mpeg"):
        copy = _to_flac(info, folder / f"{name}.flac")
    elif info.reader == "ffmpeg" and _has_picture(info.path):
        copy = _sound_of_video(info, folder, name)
    else:
        copy = Path(shutil.copyfile(info.path, folder / f"{name}{_suffix(info)}"))
    with copy.open("rb") as written:
        os.fsync(written.fileno())
    return copy


def _suffix(info: AudioInfo) -> str:
    """By what the file holds; its own extension says nothing for sure."""
    if info.container in ("ogg", "flac", "mp3"):
        return f".{info.container}"
    if "mp4" in info.container:
        return ".m4a"
    return ".mp3" if info.container == "mpeg" else info.path.suffix.lower()


def _to_flac(info: AudioInfo, path: Path) -> Path:
    import soundfile

    with soundfile.SoundFile(str(info.path)) as source:
        if source.channels > MOST_FLAC_CHANNELS:
            return Path(shutil.copyfile(info.path, path.with_suffix(info.path.suffix.lower())))
        numbers = (
            "float64" if info.codec in _FLOATING else "int32"
        )  # libsndfile makes silence of floats read as integers
        subtype = "PCM_24" if info.codec in _DEEP else "PCM_16"
        with soundfile.SoundFile(str(path), "w", source.samplerate, source.channels, subtype, format="FLAC") as out:
            while len(block := source.read(BLOCK_FRAMES, dtype=numbers, always_2d=True)):
                out.write(block)
    return path


def _has_picture(path: Path) -> bool:
    """Tell whether there is moving picture; a cover picture does not count."""
    import av

    with av.open(str(path)) as container:
        cover = av.stream.Disposition.attached_pic
        return any(not stream.disposition & cover for stream in container.streams.video)


def _sound_of_video(info: AudioInfo, folder: Path, name: str) -> Path:
    import av

    with av.open(str(info.path)) as source:
        stream = source.streams.audio[0]
        suffix = _SUFFIX_OF_CODEC.get(stream.codec_context.name)
        path = folder / f"{name}{suffix or '.flac'}"
        with av.open(str(path), "w") as out:
            if suffix:
                _carry_over(source, stream, out)
            else:
                _encode_flac(source, stream, out)
    return path


def _carry_over(source: Any, stream: Any, out: Any) -> None:
    target = out.add_stream_from_template(stream)
    for packet in source.demux(stream):
        if packet.dts is not None:  # the packet without a time ends the stream
            packet.stream = target
            out.mux(packet)


def _encode_flac(source: Any, stream: Any, out: Any) -> None:
    target = out.add_stream("flac", rate=stream.codec_context.sample_rate)
    target.layout = stream.codec_context.layout.name
    for frame in source.decode(stream):
        frame.pts = None
        out.mux(target.encode(frame))
    out.mux(target.encode(None))
