"""Hearing what a page plays: everything that goes to the loudspeakers, sample by sample, with the time of each.

What a page connects to the loudspeakers is connected to a recorder as well, each on an input of its own: the first is
the recording, then the clicks, then the theka (``assets/window/mixer.mjs``). The recorder is code of the test, which
the page's policy on code keeps out: a browser context for hearing is made with ``bypass_csp=True``.
"""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Page

ONSET_S = 0.01
"""How much of a sound is its beginning."""
_BLOCK = 128
_KEEPER = """registerProcessor("keeper", class extends AudioWorkletProcessor {
  process(inputs) {
    const channels = inputs.flatMap((input) => [input[0], input[1] ?? input[0]]);
    this.port.postMessage([currentFrame, channels.map((channel) => channel ? channel.slice() : null)]);
    return true;
  }
});"""
_BEFORE = """(keeper_code => {
  const outputs = [];
  const connect = AudioNode.prototype.connect;
  AudioNode.prototype.connect = function (to, ...rest) {
    if (to instanceof AudioDestinationNode) outputs.push(this);
    return connect.call(this, to, ...rest);
  };
  let keeper = null;
  let kept = [];
  let rate_hz = 0;
  window.hearing = {
    async begin() {
      const { context } = outputs[0];
      rate_hz = context.sampleRate;
      await context.audioWorklet.addModule(URL.createObjectURL(new Blob([keeper_code], { type: "text/javascript" })));
      keeper = new AudioWorkletNode(context, "keeper", { numberOfInputs: outputs.length, numberOfOutputs: 0 });
      outputs.forEach((output, i) => connect.call(output, keeper, 0, i));
      kept = [];
      keeper.port.onmessage = ({ data }) => kept.push(data);
    },
    blocks: () => kept.length,
    end() {
      keeper.port.onmessage = null;
      outputs.forEach((output) => output.disconnect(keeper));
      const channels = kept[0][1].map((_, channel) => {
        const samples = new Float32Array(kept.length * 128);
        kept.forEach(([, block], i) => block[channel] && samples.set(block[channel], i * 128));
        let text = "";
        new Uint8Array(samples.buffer).forEach((byte) => (text += String.fromCharCode(byte)));
        return btoa(text);
      });
      return { rate_hz, frames: kept.map(([frame]) => frame), channels };
    },
  };
})"""


@dataclass
class Heard:
    """What was heard: stereo of shape (2, n) each, at one rate.

    ``time_s`` (n,) is the time of each sample on the mixer's clock. A busy machine may lose blocks of 128 samples on
    the way to the ear and the recorder alike: there the time jumps.
    """

    rate_hz: float
    time_s: NDArray[np.float64]
    recording: NDArray[np.float32]
    clicks: NDArray[np.float32]
    theka: NDArray[np.float32]

    def onsets_s(self, sound: NDArray[np.float32], above: float = 0.02, apart_s: float = 0.06) -> NDArray[np.float64]:
        """When sounds begin that rise above a level out of silence; shape (k,). Those are left out at whose beginning
        blocks were lost, since that is not known.
        """
        loud_s = self.time_s[np.abs(sound) > above]
        if not len(loud_s):
            return loud_s
        onsets_s = loud_s[np.append(True, np.diff(loud_s) > apart_s)]
        return onsets_s[~self.broken(onsets_s - apart_s, onsets_s + ONSET_S)]

    def steps_s(self, onsets_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """From each onset to the next, where no block was lost between them; the first and last, which may be cut, are
        left out.
        """
        inner_s = onsets_s[1:-1]
        return np.diff(inner_s)[~self.broken(inner_s[:-1], inner_s[1:])]

    def broken(self, from_s: NDArray[np.float64], to_s: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether blocks were lost between some times."""
        breaks_s = self.time_s[1:][np.diff(self.time_s) > 1.5 / self.rate_hz]
        return np.searchsorted(breaks_s, from_s) < np.searchsorted(breaks_s, to_s)

    def around(self, sound: NDArray[np.float32], time_s: float, lasts_s: float = 0.02) -> NDArray[np.float32]:
        """What sounds from a time on."""
        return sound[(self.time_s >= time_s) & (self.time_s < time_s + lasts_s)]

    def unbroken(self) -> slice:
        """The longest stretch of which no block was lost."""
        breaks = np.flatnonzero(np.diff(self.time_s) > 1.5 / self.rate_hz) + 1
        edges = np.concatenate([[0], breaks, [len(self.time_s)]])
        longest = int(np.diff(edges).argmax())
        return slice(int(edges[longest]), int(edges[longest + 1]))


def listen_in(page: Page) -> None:
    """Prepare a page for being heard; to be called before it is loaded."""
    page.add_init_script(f"{_BEFORE}({json.dumps(_KEEPER)})")


def let_sound(page: Page, seconds: float) -> None:
    """Let so much sound pass on the mixer's clock, which on a busy machine is not the wall's."""
    page.evaluate(
        """async (seconds) => {
          const { context } = await (await import("/assets/window/mixer.mjs")).ready();
          const until = context.currentTime + seconds;
          while (context.currentTime < until) await new Promise((later) => setTimeout(later, 10));
        }""",
        seconds,
    )


def wait_for_speed(page: Page, percent: int) -> None:
    """Wait until a reel goes through the recording at a speed."""
    page.evaluate(
        """async (wanted) => {
          const { context } = await (await import("/assets/window/mixer.mjs")).ready();
          const reel = await import("/assets/window/reel.mjs");
          const at = () => [context.currentTime, reel.isRunning() ? reel.placeIn(0) : NaN];
          for (let speed = NaN; !(Math.abs(speed - wanted) < 0.02); ) {
            const before = at();
            await new Promise((later) => setTimeout(later, 300));
            const after = at();
            speed = (after[1] - before[1]) / (after[0] - before[0]);
          }
        }""",
        percent / 100,
    )


def hear(page: Page, seconds: float) -> Heard:
    """Hear a page for so many seconds of its sound; something must have sounded before."""
    begin(page)
    page.wait_for_function("blocks => hearing.blocks() > blocks", arg=seconds * 44100 / _BLOCK, timeout=60_000)
    return end(page)


def begin(page: Page) -> None:
    """Begin to hear; something must have sounded before."""
    page.evaluate("hearing.begin()")
    page.wait_for_function("hearing.blocks() > 0")


def end(page: Page) -> Heard:
    """Give what was heard since :func:`begin`."""
    told = page.evaluate("hearing.end()")
    samples = [np.frombuffer(base64.b64decode(text), np.float32) for text in told["channels"]]
    frames = (np.asarray(told["frames"])[:, None] + np.arange(_BLOCK)).ravel()
    pairs = [np.stack(samples[i : i + 2]) for i in (0, 2, 4)]
    return Heard(told["rate_hz"], frames / told["rate_hz"], *pairs)


def loudness(
    sound: NDArray[np.float32], time_s: NDArray[np.float64], from_s: NDArray[np.float64], lasts_s: float
) -> NDArray[np.float64]:
    """Tell how loud a sound (channels, n) is, RMS, for a while from each of some times on."""
    power = np.concatenate([[0.0], np.cumsum((sound**2).mean(axis=0, dtype=np.float64))])
    first, last = (np.searchsorted(time_s, each) for each in (from_s, from_s + lasts_s))
    return np.sqrt((power[last] - power[first]) / np.maximum(last - first, 1))
