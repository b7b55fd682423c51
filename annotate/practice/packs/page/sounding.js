/* How a pack's page sounds. A page opened from a disk may fetch nothing, so each sound lies beside its file as a script
   that calls `soundArrived` with its bytes. They are decoded whole, so that a part goes round to the sample.
   A classic script; it makes one object, `sounding`. Times are seconds in a sound. */
"use strict";

globalThis.sounding = (() => {
  const { bytesOf, lateness, loopOf, flow, positionOf } = globalThis.reckoning;
  const MOST_KEPT = 4; // decoded sounds: one of 30 s takes 11 MB
  const EDGE_S = 0.008; // so long it fades in and out where it is started and stopped
  const AHEAD_S = 0.04; // so far ahead a sound is put, that all of it comes in time
  const Context = globalThis.AudioContext ?? globalThis.webkitAudioContext;

  let context = null;
  const arriving = new Map(); // the key of a sound on its way: what to do with its bytes
  const kept = new Map(); // decoded sounds, the latest last

  globalThis.soundArrived = (key, text) => {
    arriving.get(key)?.(bytesOf(text));
    arriving.delete(key);
  };

  /** The bytes of a sound: from the page where all is in one, else by its script. */
  function bytesFrom(sound) {
    const address = document.getElementById(sound.key)?.parentElement.querySelector("audio").getAttribute("src");
    if (address?.startsWith("data:")) return bytesOf(address.slice(address.indexOf(",") + 1));
    return new Promise((resolve, reject) => {
      arriving.set(sound.key, resolve);
      const script = document.createElement("script");
      const done = (why) => {
        script.remove();
        if (arriving.delete(sound.key)) reject(new Error(why));
      };
      script.onload = () => done("its file holds no sound");
      script.onerror = () => done("its file is missing");
      script.src = sound.script;
      document.head.append(script);
    });
  }

  async function decoded(sound) {
    let found = kept.get(sound.key);
    if (found === undefined) {
      const bytes = await bytesFrom(sound);
      const buffer = await new Promise((resolve, reject) => {
        context.decodeAudioData(bytes.buffer, resolve, reject); // with functions: older Safari gives no promise
      });
      found = { buffer, late_s: lateness(buffer.duration, sound.duration_s, sound.delay_s) };
    }
    kept.delete(sound.key);
    kept.set(sound.key, found);
    if (kept.size > MOST_KEPT) kept.delete(kept.keys().next().value);
    return found;
  }

  /** The sound with a part's end flowing into its beginning, and the seconds between which it goes round. */
  function goingRound(buffer, part, late_s) {
    const rate = buffer.sampleRate;
    const loop = loopOf(part.begin_s + late_s, part.end_s + late_s, rate, buffer.length);
    const copy = context.createBuffer(buffer.numberOfChannels, buffer.length, rate);
    for (let channel = 0; channel < buffer.numberOfChannels; channel += 1) {
      const samples = copy.getChannelData(channel);
      samples.set(buffer.getChannelData(channel));
      flow(samples, loop, rate);
    }
    return { copy, begin_s: loop.begin / rate, end_s: loop.end / rate };
  }

  /** A sound that sounds, from a time on: to the end of a part, or round and round in it. */
  class Voice {
    constructor({ buffer, late_s }, part, from_s, again, ended) {
      const round = goingRound(buffer, part, late_s);
      // past the part it begins again; before it, as from a count-in, it goes on into it
      const within_s = from_s + late_s;
      this.from_s = within_s >= round.end_s - 0.02 ? round.begin_s : within_s;
      this.late_s = late_s;
      this.loop = again ? round : null;
      this.began_s = context.currentTime + AHEAD_S;
      this.source = context.createBufferSource();
      this.gain = context.createGain();
      this.gain.gain.setValueAtTime(0, this.began_s);
      this.gain.gain.linearRampToValueAtTime(1, this.began_s + EDGE_S);
      this.source.connect(this.gain);
      this.gain.connect(context.destination);
      this.source.buffer = again ? round.copy : buffer;
      this.source.loop = again;
      this.source.loopStart = round.begin_s;
      this.source.loopEnd = round.end_s;
      if (again) this.source.start(this.began_s, this.from_s);
      else {
        this.source.onended = ended;
        this.source.start(this.began_s, this.from_s, round.end_s - this.from_s);
      }
    }

    position() {
      const heard_s = context.currentTime - (context.outputLatency || 0);
      return positionOf(this.from_s, heard_s - this.began_s, this.loop) - this.late_s;
    }

    stop() {
      this.source.onended = null;
      this.gain.gain.cancelScheduledValues(context.currentTime);
      this.gain.gain.setTargetAtTime(0, context.currentTime, EDGE_S / 3);
      this.source.stop(context.currentTime + EDGE_S * 2);
    }
  }

  /** Everything that is needed before a sound can sound; called from a press, since else browsers keep silent. */
  async function ready(sound) {
    context ??= new Context();
    const [found] = await Promise.all([decoded(sound), context.resume()]);
    return found;
  }

  return { possible: Context !== undefined, ready, Voice };
})();
