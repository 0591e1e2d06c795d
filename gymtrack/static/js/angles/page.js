// Puts the reader of angles on a page: beside the form of one attempt, or in a dialog over the class page that gives
// its number to the field whose button opened it.

import { StillReader } from "./reader.js";

const root = document.querySelector("[data-still]");
const dialog = document.querySelector("[data-still-dialog]");
const reader = root && new StillReader(root);
let asking = null; // what opened the dialog: the id of the field that takes the number, and the try that it is of

/** Which try a field is of: the one of its form's address and, where a new one is logged, of its id. */
function tryOf(field) {
  const isNew = field.form.getAttribute("id") === "attempt"; // form.id is its field of that name
  const id = isNew ? field.form.querySelector("[name=id]").value : "";
  return `${field.form.action} ${id}`;
}

/** Put the number into a field, and say in its form that it was read on a still; typing over it takes that back. */
function fillIn(field, degrees) {
  field.value = degrees;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  const readOn = field.form.querySelector("[name=read_on]");
  if (readOn) readOn.value = "still";
  field.scrollIntoView({ block: "nearest" });
  field.focus({ preventScroll: true });
}

function onInput(event) {
  const readOn = event.target.name === "angle" && event.target.form?.querySelector("[name=read_on]");
  if (readOn) readOn.value = "";
}

function open(button) {
  const { field } = button.dataset;
  asking = { field, of: tryOf(document.getElementById(field)) };
  reader.choose(button.dataset.kind);
  dialog.showModal();
  dialog.querySelector("h2").focus();
}

// The panel may have been renewed while the dialog was open. An angle is never given to another try.
function take(degrees) {
  const field = document.getElementById(dialog ? asking.field : "angle_angle");
  const isSame = field && (!dialog || tryOf(field) === asking.of);
  dialog?.close();
  if (isSame) fillIn(field, degrees);
  else say(`The class page went on meanwhile. The angle that was read is ${degrees}°: type it where it belongs.`);
}

function say(words) {
  const line = Object.assign(document.createElement("p"), { className: "message warning", textContent: words });
  document.getElementById("messages").replaceChildren(line);
}

function wake() {
  for (const button of document.querySelectorAll("[data-still-open]")) button.hidden = false;
}

if (reader) {
  root.addEventListener("still-angle", (event) => take(event.detail.degrees));
  document.addEventListener("input", onInput);
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-still-open], [data-still-close]");
    if (button?.matches("[data-still-open]")) open(button);
    else if (button) dialog.close();
  });
  dialog?.addEventListener("close", () => reader.drop());
  globalThis.addEventListener("pagehide", () => reader.drop()); // a page that is kept for going back keeps no picture
  document.addEventListener("htmx:afterSettle", wake);
  wake();
}
