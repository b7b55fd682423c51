// Word of elements with an attribute: those that are there, those that arrive, and those whose attribute is another afterwards.

const wanted = new Map(); // attribute: what to do

export function arriving(attribute, answer) {
  wanted.set(attribute, answer);
  for (const element of document.querySelectorAll(`[${attribute}]`)) answer(element);
  watcher.disconnect();
  watcher.observe(document.body, { subtree: true, childList: true, attributes: true, attributeFilter: [...wanted.keys()] });
}

const watcher = new MutationObserver((changes) => {
  const found = new Map([...wanted.keys()].map((attribute) => [attribute, new Set()]));
  for (const { type, target, addedNodes, attributeName } of changes) {
    if (type === "attributes") found.get(attributeName).add(target);
    for (const node of addedNodes) {
      if (!(node instanceof HTMLElement)) continue;
      for (const [attribute, elements] of found) {
        if (node.hasAttribute(attribute)) elements.add(node);
        for (const element of node.querySelectorAll(`[${attribute}]`)) elements.add(element);
      }
    }
  }
  for (const [attribute, elements] of found) for (const element of elements) element.isConnected && wanted.get(attribute)(element);
});
