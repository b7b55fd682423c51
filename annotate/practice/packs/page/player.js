/* The players of a pack's page: buttons, seek bar, the matra that is lit, keys. A classic script, since browsers load no
   modules from a disk. Without it the page still has the sounds as files. */
"use strict";

(() => {
  const { placeAt, timeAt, carried, cellAt, clock, meaningOf, partOf } = globalThis.reckoning;
  const { possible, ready, Voice } = globalThis.sounding;
  const players = [];
  let playing = null; // the player that sounds
  let near = null; // the player that keys work on

  class Player {
    constructor(article) {
      const told = JSON.parse(article.querySelector(".reckoned").textContent);
      this.article = article;
      this.sounds = told.sounds;
      this.starts = told.cells;
      this.cells = [...article.querySelectorAll(".cell")];
      this.sound = this.sounds[told.first];
      this.part = 0;
      this.again = true;
      this.at_s = 0; // where it stands, or began
      this.voice = null; // what sounds
      this.asked = 0; // counts what was asked for, so that a sound that comes late starts nothing
      this.lit = -1;
      this.build();
      this.choose(this.sound);
    }

    build() {
      this.box = this.article.querySelector(".player");
      this.box.append(document.getElementById("player").content.cloneNode(true));
      const of = (name) => this.box.querySelector(name);
      Object.assign(this, { playButton: of(".play"), seek: of(".seek"), now: of(".now"), length: of(".length") });
      Object.assign(this, { againButton: of(".again"), trouble: of(".trouble") });
      this.seek.setAttribute("aria-label", `Where in ${this.article.querySelector("h2, h3").textContent}`);
      this.playButton.onclick = () => this.toggle();
      this.againButton.onclick = () => this.setAgain(!this.again);
      this.seek.oninput = () => this.move((this.seek.value / 1000) * this.sound.duration_s);
      const groups = new Map();
      for (const sound of this.sounds) {
        if (!groups.has(sound.group)) {
          const group = document.createElement("div");
          group.setAttribute("role", "group");
          group.setAttribute("aria-label", sound.group);
          const name = document.createElement("span");
          name.className = "name";
          name.textContent = sound.group;
          group.append(name);
          of(".speeds").append(group);
          groups.set(sound.group, group);
        }
        groups.get(sound.group).append(button(sound.words, () => this.change(sound)));
      }
      this.soundButtons = [...of(".speeds").querySelectorAll("button")];
      this.cells.forEach((cell, at) => {
        cell.onclick = () => this.goTo(this.starts[at]);
      });
      this.box.addEventListener("pointerdown", () => this.comeNear());
      this.box.addEventListener("focusin", () => this.comeNear());
      this.box.hidden = false;
      this.files = this.article.querySelector(".sounds");
      this.files.open = false;
    }

    comeNear() {
      near?.article.classList.remove("near");
      near = this;
      this.article.classList.add("near");
    }

    /** Take a sound; its parts become buttons. */
    choose(sound) {
      const before = this.sound.parts[this.part]?.words;
      this.sound = sound;
      this.part = Math.max(0, before === undefined ? 0 : partOf(sound.parts, before.toLowerCase()));
      const parts = this.box.querySelector(".parts");
      parts.replaceChildren(...sound.parts.map((part, at) => button(part.words, () => this.takePart(at))));
      this.partButtons = [...parts.children];
      this.soundButtons.forEach((each, at) => each.setAttribute("aria-pressed", String(this.sounds[at] === sound)));
      this.showPart();
    }

    showPart() {
      this.partButtons.forEach((each, at) => each.setAttribute("aria-pressed", String(at === this.part)));
      const { begin_s, end_s } = this.sound.parts[this.part];
      const share = (time_s) => `${(100 * time_s) / this.sound.duration_s}%`;
      this.seek.style.setProperty("--from", share(begin_s));
      this.seek.style.setProperty("--to", share(end_s));
      this.length.textContent = clock(this.sound.duration_s);
      this.show(this.position());
    }

    position() {
      return this.voice === null ? this.at_s : this.voice.position();
    }

    async start(from_s = this.at_s) {
      const asked = ++this.asked;
      if (playing !== null && playing !== this) playing.stop();
      playing = this;
      this.comeNear();
      this.playButton.classList.add("on");
      this.playButton.setAttribute("aria-label", "Pause");
      this.trouble.textContent = "";
      try {
        const sound = await ready(this.sound);
        if (asked !== this.asked) return;
        this.silence();
        const part = this.sound.parts[this.part];
        this.voice = new Voice(sound, part, from_s, this.again, () => this.stop(this.beginning()));
        this.follow(this.voice);
      } catch (error) {
        if (asked !== this.asked) return;
        this.stop();
        this.trouble.textContent = `This sound could not be played here: ${error.message}. Its file below may do.`;
        this.files.open = true;
      }
    }

    /** Let what sounds fade, and forget it. */
    silence() {
      this.voice?.stop();
      this.voice = null;
    }

    stop(at_s = this.position()) {
      this.asked += 1;
      this.at_s = Math.max(0, at_s);
      this.silence();
      if (playing === this) playing = null;
      this.playButton.classList.remove("on");
      this.playButton.setAttribute("aria-label", "Play");
      this.show(this.at_s);
    }

    toggle() {
      if (playing === this) this.stop();
      else this.start();
    }

    /** Where playing begins: with the count-in before the whole, at the beginning of any other part. */
    beginning() {
      return this.part === 0 ? 0 : this.sound.parts[this.part].begin_s;
    }

    move(to_s) {
      const within_s = Math.max(0, Math.min(to_s, this.sound.duration_s));
      const { begin_s, end_s } = this.sound.parts[this.part];
      if (this.part > 0 && (within_s < begin_s || within_s >= end_s)) {
        this.part = 0;
        this.showPart();
      }
      this.goOn(within_s);
    }

    /** Play from a matra of the notation. */
    goTo(place) {
      const at_s = timeAt(this.sound.places, place);
      if (at_s === null) return;
      this.move(at_s);
      if (playing !== this) this.start(this.at_s);
    }

    /** Stand, or if it sounds play on, at a time. */
    goOn(at_s) {
      this.at_s = at_s;
      if (playing === this) this.start(at_s);
      else this.show(at_s);
    }

    takePart(at) {
      this.part = at;
      this.at_s = this.beginning();
      this.showPart();
      this.start(this.at_s);
    }

    setAgain(again) {
      const at_s = this.position();
      this.again = again;
      this.againButton.setAttribute("aria-pressed", String(again));
      if (playing === this) this.start(at_s);
    }

    change(sound) {
      const at_s = carried(this.position(), this.sound, sound);
      const sounds = playing === this;
      if (sounds) this.stop();
      this.choose(sound);
      this.at_s = at_s;
      if (sounds) this.start(at_s);
      else this.show(at_s);
    }

    /** Show where it is as long as this voice sounds. */
    follow(voice) {
      if (this.voice !== voice) return;
      this.show(voice.position());
      requestAnimationFrame(() => this.follow(voice));
    }

    show(at_s) {
      const shown_s = Math.max(0, Math.min(at_s, this.sound.duration_s));
      this.seek.value = Math.round((1000 * shown_s) / this.sound.duration_s);
      this.seek.style.setProperty("--at", `${(100 * shown_s) / this.sound.duration_s}%`);
      this.seek.setAttribute("aria-valuetext", `${clock(shown_s)} of ${clock(this.sound.duration_s)}`);
      this.now.textContent = clock(shown_s);
      const cell = playing === this || shown_s > 0 ? cellAt(this.starts, placeAt(this.sound.places, shown_s)) : -1;
      if (cell === this.lit) return;
      this.cells[this.lit]?.classList.remove("lit");
      this.cells[cell]?.classList.add("lit");
      this.lit = cell;
    }

    obey(meaning) {
      const { parts } = this.sound;
      if (meaning.does === "play") this.toggle();
      else if (meaning.does === "move") this.move(this.position() + meaning.by_s);
      else if (meaning.does === "beginning") this.goOn(this.beginning());
      else if (meaning.does === "again") this.setAgain(!this.again);
      else if (meaning.does === "part" && partOf(parts, meaning.part) >= 0) this.takePart(partOf(parts, meaning.part));
      else if (meaning.does === "sound") {
        const next = this.sounds[this.sounds.indexOf(this.sound) + meaning.by];
        if (next) this.change(next);
      } else if (meaning.does === "piece") {
        const next = players[players.indexOf(this) + meaning.by];
        if (!next) return;
        next.comeNear();
        next.article.scrollIntoView({ block: "start" });
        next.playButton.focus({ preventScroll: true });
        if (playing !== null) next.start(next.beginning());
      }
    }
  }

  function button(words, pressed) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.setAttribute("aria-pressed", "false");
    made.onclick = pressed;
    return made;
  }

  /** The player that keys work on: the one used last, else the first that is in sight. */
  function atHand() {
    const inSight = () =>
      players.find(({ article }) => {
        const { top, bottom } = article.getBoundingClientRect();
        return bottom > 80 && top < innerHeight;
      });
    return near ?? inSight() ?? players[0];
  }

  function kindOf(target) {
    if (target.matches("input[type=range]")) return "seek";
    if (target.matches("input[type=checkbox], button, a, summary, audio")) return "control";
    return target.matches("input, textarea, select") ? "field" : "";
  }

  if (!possible) return; // the files under the pieces do
  for (const article of document.querySelectorAll(".piece")) {
    if (article.querySelector(".sounds")) players.push(new Player(article));
  }
  document.querySelector(".keys").hidden = players.length === 0;
  document.addEventListener("keydown", (event) => {
    if (!document.getElementById("keys-on").checked || event.defaultPrevented || players.length === 0) return;
    const { key, ctrlKey, metaKey, altKey, target } = event;
    const meaning = meaningOf({ key, ctrlKey, metaKey, altKey, on: kindOf(target) });
    if (meaning === null) return;
    event.preventDefault();
    if (!event.repeat || meaning.does === "move") atHand().obey(meaning);
  });
})();
