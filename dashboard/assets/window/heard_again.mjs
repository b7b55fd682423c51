// Buttons that take a phrase heard again and again up (`data-takes-up`: the recording, `data-key`: the phrase): the role is the one
// chosen beside the button, and what came of it is said in the list's own line.
export async function press(button) {
  const { takesUp: slug, key } = button.dataset;
  const role = button.parentElement.querySelector("select").value;
  button.disabled = true;
  const { said, done } = await taken(slug, key, role);
  button.closest("[data-heard-again]").querySelector("[role=status]").textContent = said;
  button.disabled = done;
}

async function taken(slug, key, role) {
  let response;
  try {
    response = await fetch(`/heard-again/${encodeURIComponent(slug)}/take-up`, {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ key, role }),
    });
  } catch {
    return { said: "The server does not answer, so nothing was saved. Is it still running?", done: false };
  }
  const content = await response.json().catch(() => null);
  if (response.ok && content !== null) return { said: content.said, done: true };
  return { said: content?.error ?? `The server answered ${response.status}; nothing was saved.`, done: false };
}
