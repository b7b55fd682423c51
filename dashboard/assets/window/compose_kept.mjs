// What is kept: the list of it, keeping the opened piece, taking out and putting back.
//
// Each returns what there is to say, {said, address} or {error}: the address is that of the piece as it is kept now.
import { isFilled, pairsOf, put } from "./compose_page.mjs";

// Fetch the list again; it changes only when something is kept, here or in another window.
export async function renewKept() {
  const fetched = await fetch("/compose/kept", { cache: "no-store" }).catch(() => null);
  if (fetched?.ok && isFilled()) put("compose-kept", (await fetched.json()).kept);
}

export function keep(form, asAnother) {
  const pairs = pairsOf(form).filter(([name]) => !asAnother || name !== "key");
  return send("/compose/keep", [...new URLSearchParams(location.search), ...pairs]);
}

export const isPutAway = (button) => button?.matches(".take-out, .put-back") ?? false;

export function putAway(button) {
  const address = button.matches(".take-out") ? "/compose/take-out" : "/compose/put-back";
  return send(address, [["key", button.dataset.key], ["seen", button.dataset.seen ?? ""]]);
}

async function send(address, pairs) {
  const fetched = await fetch(address, { method: "POST", body: new URLSearchParams(pairs) }).catch(() => null);
  if (fetched === null) return { error: "The server does not answer. Nothing was written." };
  return fetched.json().catch(() => ({ error: `The server answered ${fetched.status}; nothing was written.` }));
}
