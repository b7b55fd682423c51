// Asking the server for JSON: the answer, null for "nothing new", or an error whose message can be shown.

// `known` is the ETag of what is there already; the answer carries its own as {tag, content}.
export async function fetchJson(address, { known = null, signal } = {}) {
  let response;
  try {
    response = await fetch(address, { signal, cache: "no-store", headers: known === null ? {} : { "If-None-Match": known } });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Error("The server does not answer. Is it still running? What is drawn stays as it is.", { cause: error });
  }
  if (response.status === 304 || response.status === 204) return null;
  const isJson = response.headers.get("Content-Type")?.startsWith("application/json");
  const content = isJson ? await response.json() : null;
  if (!response.ok || content === null) {
    throw new Error(content?.error ?? `The server answered ${response.status} when asked for the rows. Load the page again.`);
  }
  return { tag: response.headers.get("ETag"), content };
}
