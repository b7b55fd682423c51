// Asking the server for something of a course, or to do something to it.

// Post plain values; gives what is answered, {error, conflict?} where it was not done, or null where the page was left.
export async function ask(address, content, signal) {
  return answered(
    fetch(address, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(content), signal }),
  );
}

// The same of what is only looked at.
export const look = (address, signal) => answered(fetch(address, { cache: "no-store", signal }));

async function answered(fetching) {
  try {
    const answer = await fetching;
    const told = await answer.json().catch(() => ({}));
    return answer.ok ? told : { ...told, error: told.error ?? `The server answered ${answer.status}; nothing was written.` };
  } catch (error) {
    return error.name === "AbortError" ? null : { error: "The server does not answer. Is it still running? What you typed stays here." };
  }
}
