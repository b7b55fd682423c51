// A classic script, there before Dash starts. When an answer says that one is no longer logged in, that is told at the foot
// of the window with the way to log in elsewhere; the page stays as it is, with whatever is typed and not saved.
{
  const ask = window.fetch;
  const tell = (ended) => {
    const shown = document.getElementById("session-ended");
    if (!ended) return shown?.remove();
    if (shown) return;
    const box = Object.assign(document.createElement("div"), { id: "session-ended" });
    box.setAttribute("role", "alert");
    const way = Object.assign(document.createElement("a"), { href: "/login", target: "_blank", textContent: "Log in in a new window" });
    box.append("You are no longer logged in, so the last thing you did was not done. ", way, ", then do it again here.");
    document.body.append(box);
  };
  window.fetch = async (...asked) => {
    const answer = await ask(...asked);
    if (answer.headers.get("X-Layakosh") === "log in") tell(true);
    else if (answer.ok) tell(false);
    return answer;
  };
}
