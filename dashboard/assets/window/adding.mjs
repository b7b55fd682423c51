// Adding recordings: files are dropped or chosen and sent in pieces while the rest is filled in; then they are taken in.
import { commonTitle, markOf, nextPiece, roleFrom, sentWords, sizeWords, titleFrom } from "../sending.mjs";
import { showWork } from "./work.mjs";

export function showAdding(region, parts, signal) {
  region.innerHTML = parts.add;
  const byId = (id) => region.querySelector(`#${id}`);
  const form = byId("add-form");
  const drop = byId("add-drop");
  const title = byId("add-title");
  const said = byId("add-said");
  const look = showWork(byId("work"), signal);
  const files = []; // {file, number, received, whole, wrong, role, line, ...}, in order
  let wanted = false; // "Take in" was pressed, and files are still on their way
  let ownTitle = false;

  const kept = (act) => { try { return act(localStorage); } catch { return null; } }; // storage may be forbidden

  function take(list) {
    for (const file of list) {
      if (files.some((each) => markOf(each.file) === markOf(file))) continue;
      const each = { file, number: "", received: 0, whole: false, wrong: "", role: list.length + files.length > 1 ? roleFrom(file.name) : "whole", stop: new AbortController() };
      each.line = lineOf(each);
      files.push(each);
      byId("add-list").append(each.line.item);
      send(each);
    }
    draw();
  }

  // -- sending, a file at a time as a line allows --

  async function ask(method, address, body, stop, type) {
    const answer = await fetch(address, { method, body, signal: stop, headers: type ? { "Content-Type": type } : {} });
    const told = answer.status === 204 ? {} : await answer.json().catch(() => ({}));
    if (!answer.ok) throw Object.assign(new Error(told.error ?? `The server answered ${answer.status}.`), { status: answer.status, told });
    return told;
  }

  async function begin(each) {
    const mark = markOf(each.file);
    const known = kept((storage) => storage.getItem(mark));
    if (known) {
      try {
        const told = await ask("GET", `/sent/${known}`, undefined, each.stop.signal);
        if (told.size === each.file.size) return told;
      } catch (error) {
        if (error.status === undefined) throw error;
      }
    }
    const told = await ask("POST", "/sent", JSON.stringify({ name: each.file.name, size: each.file.size }), each.stop.signal, "application/json");
    kept((storage) => storage.setItem(mark, told.number));
    return told;
  }

  async function send(each) {
    each.wrong = "";
    try {
      const begun = await begin(each);
      Object.assign(each, { number: begun.number, received: begun.received });
      draw();
      for (let piece; (piece = nextPiece(each.file.size, each.received, begun.piece)) !== null; draw()) {
        try {
          const told = await ask("PUT", `/sent/${each.number}?from=${piece.from}`, each.file.slice(piece.from, piece.to), each.stop.signal);
          each.received = told.received;
        } catch (error) {
          if (error.status !== 409 || !Number.isInteger(error.told.received) || error.told.received === each.received) throw error;
          each.received = error.told.received;
        }
      }
      const told = await ask("POST", `/sent/${each.number}/whole`, undefined, each.stop.signal);
      Object.assign(each, { whole: true, length_s: told.duration_s });
    } catch (error) {
      if (error.name === "AbortError") return;
      each.wrong = error.status === undefined ? "The server does not answer, or the line broke. What was sent is kept." : error.message;
      each.isOther = error.status === 415; // no sound: sending it again would not help
      if (each.isOther) {
        kept((storage) => storage.removeItem(markOf(each.file)));
        each.number = ""; // the server has thrown it away already
      }
      wanted = false;
    }
    draw();
    if (wanted && files.every((one) => one.whole)) order();
  }

  // -- the list of files --

  function lineOf(each) {
    const item = document.createElement("li");
    const make = (kind, properties) => Object.assign(document.createElement(kind), properties);
    const line = {
      item,
      name: make("b", { textContent: each.file.name }),
      words: make("span", { className: "quiet" }),
      bar: make("progress", { max: 1, value: 0 }),
      role: make("select", {}),
      again: make("button", { type: "button", textContent: "Send again", hidden: true }),
      up: make("button", { type: "button", textContent: "Earlier" }),
      away: make("button", { type: "button", textContent: "Leave out" }),
    };
    line.bar.setAttribute("aria-label", `${each.file.name}: how much is sent`);
    line.role.append(byId("add-roles").content.cloneNode(true));
    line.role.value = each.role;
    line.role.setAttribute("aria-label", `What ${each.file.name} holds`);
    line.role.addEventListener("change", () => (each.role = line.role.value));
    line.up.setAttribute("aria-label", `Earlier: ${each.file.name}`);
    line.up.addEventListener("click", () => {
      const at = files.indexOf(each);
      files.splice(at - 1, 2, each, files[at - 1]);
      item.previousElementSibling.before(item);
      line.up.focus();
      draw();
    });
    line.away.setAttribute("aria-label", `Leave out: ${each.file.name}`);
    line.away.addEventListener("click", () => remove(each));
    line.again.addEventListener("click", () => send(each));
    item.append(line.name, line.words, line.bar, line.role, line.again, line.up, line.away);
    return line;
  }

  function remove(each) {
    each.stop.abort();
    files.splice(files.indexOf(each), 1);
    each.line.item.remove();
    kept((storage) => storage.removeItem(markOf(each.file)));
    if (each.number) fetch(`/sent/${each.number}`, { method: "DELETE" }).catch(() => {});
    draw();
    byId("add-files").focus();
  }

  const isOne = () => files.length < 2 || form.elements.together.value === "one";

  function draw() {
    byId("add-together").hidden = files.length < 2;
    byId("add-title-field").hidden = !isOne();
    if (!ownTitle) title.value = files.length ? commonTitle(files.map(({ file }) => file.name)) : "";
    for (const [i, each] of files.entries()) {
      const { line } = each;
      line.bar.value = each.file.size ? each.received / each.file.size : 0;
      line.bar.hidden = each.whole || each.wrong !== "";
      line.words.textContent = each.wrong ? `✕ ${each.wrong}` : `${sizeWords(each.file.size)}, ${sentWords(each)}`;
      line.words.className = each.wrong ? "wrong" : "quiet";
      line.again.hidden = each.wrong === "" || each.isOther;
      line.role.hidden = files.length < 2 || !isOne();
      line.up.hidden = i === 0 || !isOne();
    }
  }

  // -- taking in --

  function tell(words, kind = "") {
    said.textContent = words;
    said.className = kind;
  }

  async function order() {
    wanted = false;
    const told = new FormData(form);
    const texts = Object.fromEntries(["raga", "on", "venue", "lead", "musicians", "sa", "notes"].map((name) => [name, told.get(name) ?? ""]));
    const talas = told.getAll("talas");
    const each = isOne() ? [{ title: title.value, files: [...files] }] : files.map((one) => ({ title: titleFrom(one.file.name), files: [one] }));
    tell("It is handed over.");
    try {
      for (const one of each) {
        const sent = one.files.map(({ number, role }) => ({ number, role: isOne() && files.length > 1 ? role : "whole" }));
        await ask("POST", "/in-hand", JSON.stringify({ ...texts, talas, title: one.title, files: sent }), undefined, "application/json");
        for (const gone of one.files) {
          kept((storage) => storage.removeItem(markOf(gone.file)));
          files.splice(files.indexOf(gone), 1);
          gone.line.item.remove();
        }
      }
      ownTitle = false;
      tell("It is being taken in. You may close this page, or add another.");
      draw();
      look();
      byId("work").scrollIntoView({ block: "nearest" });
    } catch (error) {
      tell(error.status === undefined ? "The server does not answer. Is it still running? What was sent is kept." : error.message, "wrong");
    }
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (files.length === 0) return tell("Choose a sound file first.", "wrong");
    if (form.elements.raga.value.trim() === "") return miss("Say which raga it is, or 'unknown'.", form.elements.raga);
    if (new FormData(form).getAll("talas").length === 0) return miss("Choose the tala; several where it changes or you are not sure.", form.querySelector('[name="talas"]'));
    if (isOne() && title.value.trim() === "") return miss("Give it a title.", title);
    if (files.some((each) => each.wrong)) return tell("A file could not be sent. Send it again, or leave it out.", "wrong");
    if (files.every((each) => each.whole)) return void order();
    wanted = true;
    tell("It is taken in as soon as all of it is sent. Keep this page open until then.");
  }, { signal });

  function miss(words, field) {
    tell(words, "wrong");
    field.focus();
  }

  title.addEventListener("input", () => (ownTitle = title.value !== ""), { signal });
  for (const choice of form.querySelectorAll('[name="together"]')) choice.addEventListener("change", draw, { signal });
  byId("add-files").addEventListener("change", ({ target }) => {
    take([...target.files]);
    target.value = "";
  }, { signal });
  for (const kind of ["dragenter", "dragover"]) {
    drop.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.add("over");
    }, { signal });
  }
  for (const kind of ["dragleave", "drop"]) drop.addEventListener(kind, () => drop.classList.remove("over"), { signal });
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    take([...event.dataTransfer.files]);
  }, { signal });
  // a file that is dropped beside the place would be opened in place of the page
  for (const kind of ["dragover", "drop"]) addEventListener(kind, (event) => event.preventDefault(), { signal });
  addEventListener("beforeunload", (event) => {
    if (files.some((each) => each.number && !each.whole)) event.preventDefault();
  }, { signal });
}
