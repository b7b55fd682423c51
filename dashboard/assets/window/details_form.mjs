// What is said of a performance, to be changed: only what was changed is sent, and where somebody else was first both versions
// are shown.
import { versions } from "./versions.mjs";
import { offerWithdrawing } from "./withdrawing.mjs";

export function showDetails(region, parts, signal) {
  region.innerHTML = parts.details;
  offerWithdrawing(region, signal);
  const form = region.querySelector("#details-form");
  if (!form) return;
  const fields = [...form.elements].filter((field) => field.name);
  const changed = () => Object.fromEntries(fields.filter((f) => f.value !== f.defaultValue).map((f) => [f.name, f.value]));
  const said = region.querySelector("#details-said");

  async function save(keep) {
    const content = JSON.stringify({ fields: changed(), seen: Number(form.dataset.seen), keep });
    let answer;
    try {
      answer = await fetch(`/details/${encodeURIComponent(form.dataset.slug)}`, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: content,
        signal,
      });
    } catch (error) {
      if (error.name !== "AbortError") tell("The server does not answer. Is it still running? What you typed stays here.", "wrong");
      return;
    }
    const told = await answer.json().catch(() => ({ error: `The server answered ${answer.status}.` }));
    if (answer.ok) {
      await reload(told.said);
    } else if (told.conflict) {
      ask(told);
    } else {
      tell(`✕ ${told.error}`, "wrong");
    }
  }

  async function reload(words) {
    const answer = await fetch(`/details/${encodeURIComponent(form.dataset.slug)}`, { cache: "no-store", signal });
    if (!answer.ok || !region.isConnected) return;
    const { details } = await answer.json();
    const title = form.querySelector('[name="title"]').value;
    showDetails(region, { details }, signal);
    document.querySelector("main h1").textContent = title;
    region.querySelector("#details-said").textContent = words;
    region.querySelector("#details-form button").focus();
  }

  const labelOf = ({ word, label }) => form.elements[word]?.labels[0]?.textContent ?? label;

  function tell(words, kind = "") {
    said.className = kind;
    said.textContent = words;
  }

  function ask({ conflict }) {
    const person = conflict.who || "Somebody else";
    tell("");
    const words = `✕ ${person} has changed the same since you opened this. Yours is not written yet.`;
    const rows = conflict.rows.map((row) => ({ ...row, label: labelOf(row) }));
    said.append(...versions(words, { rows, who: person }, save));
  }

  form.addEventListener(
    "submit",
    (event) => {
      event.preventDefault();
      save("");
    },
    { signal },
  );
}
