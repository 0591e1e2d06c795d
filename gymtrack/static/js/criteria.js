// The editor of a criterion: after a sentence was renewed while somebody types, fields say of themselves whether they
// are wrong, and what is folded away opens when something in it is. Without this file each button does as much.

export function fieldIdOf(boxId) {
  return boxId.slice(0, -"-wrong".length);
}

function mark(box) {
  const isWrong = box.childElementCount > 0;
  const field = document.getElementById(fieldIdOf(box.id));
  if (isWrong) field?.setAttribute("aria-invalid", "true");
  else field?.removeAttribute("aria-invalid");
  if (isWrong) box.closest("details")?.setAttribute("open", "");
}

if (typeof document !== "undefined") {
  document.addEventListener("htmx:afterSettle", () => document.querySelectorAll("#rule .wrong").forEach(mark));
}
