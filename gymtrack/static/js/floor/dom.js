// The few things that the board's pages do to the document. Nothing is built anew that is there already: what is under
// a finger or has the focus stays the node that it is.

/** A copy of what stands in `<template id>`. */
export function clone(id) {
  return document.getElementById(id).content.firstElementChild.cloneNode(true);
}

export const slot = (node, name) => node.querySelector(`[data-slot="${name}"]`);

/** Set a text, and only where it is another: a screen reader says each once. */
export function write(node, text) {
  if (node && node.textContent !== text) node.textContent = text;
}

/** Write texts into the slots named by `values`; an empty one hides its slot unless that keeps its room. */
export function fill(node, values) {
  for (const [name, value] of Object.entries(values)) {
    const place = slot(node, name);
    if (!place) continue;
    write(place, String(value ?? ""));
    if (!place.hasAttribute("data-keeps-room")) show(place, Boolean(value));
  }
}

export function show(node, isShown) {
  if (node && node.hidden === isShown) node.hidden = !isShown;
}

export function element(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name === "dataset") Object.assign(node.dataset, value);
    else if (name.includes("-") || name === "role" || name === "for") node.setAttribute(name, value);
    else node[name] = value;
  }
  node.append(...children);
  return node;
}

/**
 * Make the children of `parent` those of `items`, in that order. A child whose item has the same `keyOf` stays;
 * `make(item)` gives a new one, `update(node, item)` brings one up to date.
 */
export function keyed(parent, items, { keyOf, make, update = () => {} }) {
  const before = new Map([...parent.children].map((node) => [node.dataset.key, node]));
  let place = parent.firstElementChild;
  for (const item of items) {
    const key = String(keyOf(item));
    const node = before.get(key) ?? make(item);
    before.delete(key);
    node.dataset.key = key;
    update(node, item);
    if (node === place) place = place.nextElementSibling;
    else parent.insertBefore(node, place);
  }
  for (const node of before.values()) node.remove();
}

/** A key that is tapped: `what` says what it does. */
export function key(words, what, properties = {}) {
  return element("button", { type: "button", className: "key", textContent: words, dataset: what, ...properties });
}

export function press(node, isPressed) {
  node.setAttribute("aria-pressed", String(Boolean(isPressed)));
}
