// Turning to another page from markup that Dash did not make: as its own links do, without loading everything anew.

export function turnTo(address) {
  history.pushState({}, "", address);
  dispatchEvent(new CustomEvent("_dashprivate_pushstate"));
}

// Whether a click on a link is meant for this window.
export const isPlain = (event) => event.button === 0 && !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey);

// Let the links of this server within a region turn to their page; not those that save a file, open a window of their own, or
// were written by somebody (in notes), which may lead to what is no page of the dashboard.
export function turnFrom(region) {
  region.addEventListener("click", (event) => {
    const link = event.target.closest?.('a[href^="/"]:not([download], [target], [rel])');
    if (!link || event.defaultPrevented || !isPlain(event)) return;
    event.preventDefault();
    turnTo(link.getAttribute("href"));
  });
}
