// Turning to another page from markup that Dash did not make: as its own links do, without loading everything anew.

export function turnTo(address) {
  history.pushState({}, "", address);
  dispatchEvent(new CustomEvent("_dashprivate_pushstate"));
}

// Whether a click on a link is meant for this window.
export const isPlain = (event) => event.button === 0 && !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey);

// Let the links of this server within a region turn to their page.
export function turnFrom(region) {
  region.addEventListener("click", (event) => {
    const link = event.target.closest?.('a[href^="/"]');
    if (!link || event.defaultPrevented || !isPlain(event)) return;
    event.preventDefault();
    turnTo(link.getAttribute("href"));
  });
}
