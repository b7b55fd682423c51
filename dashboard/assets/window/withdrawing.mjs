// Withdrawing a recording, which is asked about first, and bringing one back. Nothing is lost by either.
import { turnTo } from "./turning.mjs";

// Let the button in a performance's details ask, and withdraw.
export function offerWithdrawing(region, signal) {
  const dialog = region.querySelector("#withdraw-asked");
  if (!dialog) return;
  const act = region.querySelector("#withdraw-now");
  region.querySelector("#withdraw").addEventListener("click", () => dialog.showModal(), { signal });
  region.querySelector("#withdraw-not").addEventListener("click", () => dialog.close(), { signal });
  act.addEventListener("click", () => post(`/details/${encodeURIComponent(act.dataset.slug)}/withdraw`, act, region.querySelector("#withdraw-said"), signal), { signal });
}

// The list of withdrawn recordings, each to be brought back.
export function showWithdrawn(region, parts, signal) {
  region.innerHTML = parts.withdrawn;
  region.addEventListener(
    "click",
    (event) => {
      const button = event.target.closest?.("[data-back]");
      if (button) post(`/withdrawn/${encodeURIComponent(button.dataset.back)}/back`, button, region.querySelector("#withdrawn-said"), signal);
    },
    { signal },
  );
}

async function post(address, button, said, signal) {
  button.disabled = true;
  said.textContent = "";
  try {
    const answer = await fetch(address, { method: "POST", signal });
    const told = await answer.json().catch(() => ({ error: `The server answered ${answer.status}.` }));
    if (answer.ok) return turnTo(told.to);
    said.textContent = `✕ ${told.error}`;
  } catch (error) {
    if (error.name === "AbortError") return;
    said.textContent = "✕ The server does not answer. Is it still running?";
  }
  button.disabled = false;
}
