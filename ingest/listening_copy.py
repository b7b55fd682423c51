"""The listening copy: one small file of a recording's sound that a browser can play from any place.

It is Opus at 48 kHz in Ogg, written while the sound is measured. Only what is AAC or Opus already is carried over as it
is (of a video its sound alone): a browser finds every moment of these. It does not in MP3 and Vorbis, for which
`dashboard`'s tests of the browser and `benchmarks/README.md` have the figures.

Conventions: a moment ``t`` seconds into the sound as `decode` gives it is at ``t`` seconds in the copy. A copy gets its
name when it is whole and on the disk; until then its name begins with a full stop.

References
----------
J.-M. Valin, K. Vos, T. Terriberry, "Definition of the Opus audio codec", RFC 6716 (2012). T. Terriberry, R. Lee,
R. Giles, "Ogg encapsulation for the Opus audio codec", RFC 7845 (2016).
"""

from __future__ import annotations

import os
import queue
import shutil
import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np

from ingest.decode import AudioInfo, ffmpeg_name
from ingest.streams import Frames, Stream, at_rate

OPUS_RATE_HZ = 48000
BITS_PER_CHANNEL = 48000  # per second; an hour of stereo is 43 MB
EFFORT = 5  # of 10; the highest takes 1.6 times as long
BLOCKS_WAITING = 3
LONGEST_DRIFT_S = 0.05
"""A file whose own clock ends further than this from what could be decoded is encoded anew."""

_SUFFIX_OF_CODEC = {"aac": ".m4a", "opus": ".opus"}
"""Codecs that are carried over, and the ending of the file they go into."""
_FORMAT_OF_SUFFIX = {".m4a": "mp4", ".opus": "ogg"}


class CopyWriter(AbstractContextManager["CopyWriter"]):
    """Writes an Opus copy in a thread of its own, from the frames it is given.

    Parameters
    ----------
    folder : Path
        An existing folder.
    name : str
        File name without the extension.
    channels : {1, 2}

    Notes
    -----
    Used in a ``with`` block. Leaving it after :meth:`finish` keeps the copy, leaving it without, or by an exception,
    removes what was written.
    """

    def __init__(self, folder: Path, name: str, channels: int) -> None:
        self._path = folder / f"{name}.opus"
        self._unfinished = _unfinished(self._path)
        self._channels = channels
        self._waiting: queue.Queue[tuple[Frames, int] | None] = queue.Queue(BLOCKS_WAITING)
        self._given_up = False
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._write, name="listening copy", daemon=True)
        self._thread.start()

    def add(self, frames: Frames, rate_hz: int) -> None:
        """Take in the next frames, shape (n, channels); waits when the encoder is behind.

        Raises
        ------
        OSError
            The copy cannot be written: the disk is full, the folder is gone.
        """
        self._put((frames, rate_hz))

    def finish(self) -> Path:
        """Write what is left, make the copy durable and give its path."""
        self._put(None)
        self._thread.join()
        self._raise()
        return _settled(self._unfinished, self._path)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        self._given_up = True
        while self._thread.is_alive():  # it may be waiting for a block
            self._offer(None)
            self._thread.join(0.05)
        self._unfinished.unlink(missing_ok=True)

    def _put(self, item: tuple[Frames, int] | None) -> None:
        while not self._offer(item):
            self._raise()
        self._raise()

    def _offer(self, item: tuple[Frames, int] | None) -> bool:
        try:
            self._waiting.put(item, timeout=0.05)
        except queue.Full:
            return False
        return True

    def _raise(self) -> None:
        if self._error is not None:
            raise self._error

    def _write(self) -> None:
        try:
            encode_opus(self._blocks(), self._unfinished, self._channels)
        except BaseException as error:  # told to whoever gives the next block
            self._error = error

    def _blocks(self) -> Stream:
        while (item := self._waiting.get()) is not None and not self._given_up:
            yield item


def encode_opus(stream: Stream, path: Path, channels: int) -> None:
    """Write a stream as Opus in Ogg.

    Parameters
    ----------
    stream : Stream
    path : Path
        Written over.
    channels : {1, 2}
        See `ingest.streams.at_rate`.
    """
    import av

    layout = "stereo" if channels == 2 else "mono"
    with av.open(ffmpeg_name(path), "w", format="ogg") as out:
        target = out.add_stream("libopus", rate=OPUS_RATE_HZ, layout=layout, options={"compression_level": str(EFFORT)})
        target.bit_rate = BITS_PER_CHANNEL * channels
        target.codec_context.format = "flt"
        target.codec_context.open()
        written = 0
        for block in _in_pieces(at_rate(stream, OPUS_RATE_HZ, channels), target.codec_context.frame_size):
            frame = av.AudioFrame.from_ndarray(block.reshape(1, -1), format="flt", layout=layout)
            frame.sample_rate, frame.pts = OPUS_RATE_HZ, written
            written += len(block)
            out.mux(target.encode(frame))
        out.mux(target.encode(None))


def _in_pieces(blocks: Iterator[Frames], length: int) -> Iterator[Frames]:
    """The same frames in pieces of ``length``; the last may be shorter."""
    left: Frames | None = None
    for block in blocks:
        frames = block if left is None else np.concatenate([left, block])
        whole = len(frames) // length * length
        yield from (frames[first : first + length] for first in range(0, whole, length))
        left = frames[whole:]
    if left is not None and len(left):
        yield np.ascontiguousarray(left)


def can_be_carried(info: AudioInfo) -> bool:
    """Whether a file's sound is already such that a browser finds every moment of it."""
    return info.codec in _SUFFIX_OF_CODEC


def carry_over(info: AudioInfo, heard_s: float, folder: Path, name: str) -> Path | None:
    """Carry the sound of a file over without encoding it again.

    Parameters
    ----------
    info : AudioInfo
        A file for which `can_be_carried`.
    heard_s : float
        Seconds of sound that were decoded from it.
    folder, name
        As for `CopyWriter`.

    Returns
    -------
    Path or None
        None when the file's own clock does not agree with what is heard, as where its end is broken or pieces are
        missing: a browser would play it by that clock. Encode it then.
    """
    suffix = _SUFFIX_OF_CODEC[info.codec]
    path = folder / f"{name}{suffix}"
    unfinished = _unfinished(path)
    try:
        clock_s = _remuxed(info.path, unfinished, _FORMAT_OF_SUFFIX[suffix])
        if abs(clock_s - heard_s) > LONGEST_DRIFT_S:
            return None
        return _settled(unfinished, path)
    finally:
        unfinished.unlink(missing_ok=True)


def copy_as_it_is(path: Path, folder: Path, name: str) -> Path:
    """Copy a file byte for byte, with its own ending, and give the path of the copy."""
    kept = folder / f"{name}{path.suffix.lower()}"
    return _settled(Path(shutil.copyfile(path, _unfinished(kept))), kept)


def _remuxed(source_path: Path, path: Path, container: str) -> float:
    """Write the packets of the first sound stream into a container of their own; give the time at which they end.

    The first moment of sound becomes 0, whatever it was beside a picture.
    """
    import av

    options = {"movflags": "faststart"} if container == "mp4" else {}
    with (
        av.open(ffmpeg_name(source_path)) as source,
        av.open(ffmpeg_name(path), "w", format=container, options=options) as out,
    ):
        stream = source.streams.audio[0]
        target = out.add_stream_from_template(stream)
        start, ends_s = stream.start_time or 0, 0.0
        for packet in _packets(source, stream):
            if packet.dts is None:  # the packet without a time ends the stream
                continue
            packet.pts, packet.dts = packet.pts - start, packet.dts - start
            ends_s = float((packet.pts + (packet.duration or 0)) * packet.time_base)
            packet.stream = target
            out.mux(packet)
    return ends_s


def _packets(source: Any, stream: Any) -> Iterator[Any]:
    """Packets up to where the file breaks off, if it does."""
    import av

    packets = source.demux(stream)
    while True:
        try:
            yield next(packets)
        except (StopIteration, av.FFmpegError):
            return


def _unfinished(path: Path) -> Path:
    return path.with_name(f".{path.name}.unfinished")


def _settled(unfinished: Path, path: Path) -> Path:
    """Make a file durable and give it its name."""
    with unfinished.open("rb") as written:
        os.fsync(written.fileno())
    return unfinished.replace(path)
